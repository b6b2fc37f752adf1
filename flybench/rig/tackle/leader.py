"""What the flies hang on: leader or tippet, droppers, how the line is held and how the flies enter."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from flybench.errors import BadValueError
from flybench.hydraulics.sphere import GRAVITY
from flybench.hydraulics.water import Water
from flybench.quantity import inside
from flybench.rig.chain.batch import ChainLayout, ChainLine, cut
from flybench.rig.chain.line_drag import ThinLine
from flybench.rig.tackle.diameter import checked_diameter
from flybench.rig.tackle.entry import STEEP, UPRIGHT, slack_at, slack_doubt_at, speed_at
from flybench.rig.tackle.flies import RigFly

PIECES = 12
"""Pieces the line is cut into: a depth is then good to about 1 % (judgement, by tests/rig/test_rig_chain.py)."""
SHORTEST, LONGEST = 0.3, 6.0
"""Range of the length from where the line enters the water, or from the rod's tip, to the point [m] (judgement: leaders
that are fished)."""
LOWEST_TIP, HIGHEST_TIP = 0.2, 4.0
"""Range of the height of the rod's tip above the water [m]: from a lowered rod to a long one held up (judgement)."""
LEAST_REACH = 0.2
"""Least length by which a line must be longer than the rod's tip is high [m] (judgement: a fly that only dips is not
fished)."""
NEAREST = 0.05
"""Least distance between flies, and of a fly from the line's entry [m] (judgement: flies of one knot are one fly)."""
TAG, LONGEST_TAG = 0.1, 0.3
"""Length of a dropper's tag where nothing is said (common practice, no source), and the longest [m] (judgement)."""
SLACKEST = 0.97
"""Most share of the leader that may lie loose [-]: some of it lies straight (judgement)."""
FASTEST_ENTRY = 10.0
"""Most speed of flies that enter the water [m/s] (judgement: air drag lets a cast fly have no more)."""
FASTEST_LEAD = 3.0
"""Most speed at which a line is led [m/s], that of the fastest water."""
LIGHTEST_LINE, DENSEST_LINE = 900.0, 8000.0
"""Range of the density of the line [kg/m3]: from floating polymers to steel wire."""


class LeaderMaterial(StrEnum):
    """What the line is made of."""

    NYLON = "nylon"
    FLUOROCARBON = "fluorocarbon"


DENSITY = {LeaderMaterial.NYLON: 1140.0, LeaderMaterial.FLUOROCARBON: 1780.0}
"""Density of the line [kg/m3]: polyamide 6 1130 to 1140, PVDF 1780 (handbook values, from memory)."""


class Hold(StrEnum):
    """What the line does where it enters the water: it drifts with the surface, is led at a speed, or stands still; or, where
    it is held tight, comes straight down from the rod's tip, which is led at a speed."""

    FLOATING = "floating"
    LED = "led"
    STILL = "still"
    TIGHT = "tight"


BY_HAND = (Hold.LED, Hold.TIGHT)
"""Holds at which the angler leads the line at a speed of his own."""


class Entry(StrEnum):
    """How the flies come in: laid flat on a straight leader, or steeply with slack; words for two angles."""

    FLAT = "flat"
    STEEP = "steep"


TIGHT_SLACK = 1 / 6
"""Part of the usual slack, and of its doubt, that a line has which is held tight [-] (judgement: a tenth of its length at a
steep entry)."""


@dataclass(frozen=True)
class Tackle:
    """Line and handling; lengths [m], speeds [m/s].

    diameter; length, from where the line enters the water, or from the rod's tip where it is held tight, to the point;
    gaps, of the droppers above the point, the highest first; density of the line [kg/m3], by its material unless given;
    lead_speed, downstream, for a line that is led or held tight; tip_height of the rod above the water, for one that is
    held tight; entry_angle above the water [rad], by the entry unless given; slack, share of the length that does not lie
    straight [-], and entry_speed of the flies, downwards, by the angle unless given; tag, length of what ties each dropper to
    its knot; floats, whether the leader lies in the water's skin until it is pulled under. The flies lie upstream of where
    the line begins.

    Raises BadValueError for what cannot be: a dropper farther up than the leader reaches, a speed without leading, a tip
    from which the line does not reach the water.
    """

    diameter: float
    length: float
    gaps: tuple[float, ...] = ()
    material: LeaderMaterial = LeaderMaterial.NYLON
    hold: Hold = Hold.FLOATING
    lead_speed: float | None = None
    entry: Entry = Entry.STEEP
    slack: float | None = None
    entry_speed: float | None = None
    density: float | None = None
    tip_height: float | None = None
    entry_angle: float | None = None
    tag: float = TAG
    floats: bool = False

    def __post_init__(self) -> None:
        """Refuse tackle that cannot be."""
        checked_diameter(self.diameter, "leader diameter")
        inside(
            "leader length",
            self.length,
            SHORTEST,
            LONGEST,
            "m",
            "Count from the water's surface to the point.",
        )
        if len(self.gaps) > 2:
            raise BadValueError("droppers", f"{len(self.gaps)} are given", "Use none, one or two.")
        for gap in self.gaps:
            self._check_gap(gap)
        if len(self.gaps) == 2 and self.gaps[0] - self.gaps[1] < NEAREST:
            problem = (
                f"{self.gaps[0]:g} m and {self.gaps[1]:g} m above the point do not stand one above the other"
            )
            raise BadValueError("droppers", problem, "Give the upper dropper first, at least 0.05 m higher.")
        inside(
            "slack",
            self.usual_slack,
            0.0,
            SLACKEST,
            "",
            "Give the share of the leader that is loose, 0 to 0.97.",
        )
        inside(
            "entry speed",
            self.usual_entry_speed,
            0.0,
            FASTEST_ENTRY,
            "m/s",
            "Give the speed at which the flies enter the water.",
        )
        inside(
            "tag",
            self.tag,
            0.0,
            LONGEST_TAG,
            "m",
            "Give the way from the knot to the dropper, such as 0.1 m.",
        )
        inside("entry angle", self.angle, 0.0, UPRIGHT, "rad", "Give 0 for flat, 1.57 for straight down.")
        if self.density is not None:
            inside("line density", self.density, LIGHTEST_LINE, DENSEST_LINE, "kg/m3", "Give 1140 for nylon.")
        self._check_lead()
        self._check_tip()

    def _check_gap(self, gap: float) -> None:
        if gap > self.length - NEAREST:
            problem = f"{gap:g} m above the point is farther up than the leader of {self.length:g} m reaches"
            raise BadValueError(
                "dropper gap",
                problem,
                "Tie the dropper nearer to the point, or let more leader into the water.",
            )
        inside(
            "dropper gap",
            gap,
            NEAREST,
            self.length,
            "m",
            "Give the way from point to dropper, such as 0.5 m.",
        )

    def _check_lead(self) -> None:
        if self.hold in BY_HAND:
            if self.lead_speed is None:
                held = "led" if self.hold is Hold.LED else "held tight"
                raise BadValueError(
                    "lead speed", f"is missing for a line that is {held}", 'Give it, for example "0.5 m/s".'
                )
            inside(
                "lead speed",
                self.lead_speed,
                0.0,
                FASTEST_LEAD,
                "m/s",
                "Lead at about 0.8 of the surface speed.",
            )
        elif self.lead_speed is not None:
            problem = f"{self.lead_speed:g} m/s is given, but the line is {self.hold}"
            raise BadValueError("lead speed", problem, "Leave it out, or say that the line is led (hold).")

    def _check_tip(self) -> None:
        if self.floats and self.hold is Hold.TIGHT:
            raise BadValueError(
                "leader", "floats, but the line is held tight", "A tight line does not lie down."
            )
        if self.hold is not Hold.TIGHT:
            if self.tip_height is not None:
                problem = f"{self.tip_height:g} m is given, but the line is {self.hold}"
                raise BadValueError(
                    "tip height", problem, "Leave it out, or say that the line is held tight (hold)."
                )
            return
        if self.tip_height is None:
            raise BadValueError(
                "tip height", "is missing for a line that is held tight", "Give it, for example 1.5 m."
            )
        cure = "Give the height of the rod's tip above the water."
        inside("tip height", self.tip_height, LOWEST_TIP, HIGHEST_TIP, "m", cure)
        if self.length < self.tip_height + LEAST_REACH:
            problem = (
                f"{self.length:g} m from the rod's tip to the point does not reach {LEAST_REACH:g} m under water from a tip "
                f"{self.tip_height:g} m above it"
            )
            raise BadValueError("leader length", problem, "Let out more line, or hold the tip lower.")

    @property
    def tip(self) -> float:
        """Height from which the line comes down [m]: of the rod's tip, 0 where it begins at the surface."""
        return self.tip_height or 0.0

    @property
    def reach(self) -> float:
        """The deepest that the point can hang [m]."""
        return self.length - self.tip

    @property
    def angle(self) -> float:
        """Angle above the water at which the flies enter [rad]: as given, or that of the word."""
        if self.entry_angle is not None:
            return self.entry_angle
        return STEEP if self.entry is Entry.STEEP else 0.0

    @property
    def usual_slack(self) -> float:
        """Slack, as given or usual for the entry [-]."""
        return min(self._loose * slack_at(self.angle), SLACKEST) if self.slack is None else self.slack

    @property
    def usual_entry_speed(self) -> float:
        """Entry speed, as given or usual for the entry [m/s]."""
        return speed_at(self.angle) if self.entry_speed is None else self.entry_speed

    @property
    def slack_doubt(self) -> float:
        """Standard uncertainty of the slack [-]."""
        return self._loose * slack_doubt_at(self.angle)

    @property
    def _loose(self) -> float:
        """Part of what is usual that a line so held is loose by [-]."""
        return TIGHT_SLACK if self.hold is Hold.TIGHT else 1.0

    def line(self, water: Water) -> ChainLine:
        """Return the line in this water."""
        density = DENSITY[self.material] if self.density is None else self.density
        area = math.pi * self.diameter**2 / 4
        lift = water.density * GRAVITY * area
        return ChainLine(
            weight=(density - water.density) * GRAVITY * area,
            mass=(density + water.density) * area,
            drag=ThinLine(self.diameter, water.density, water.viscosity),
            lift=lift,
        )

    def layout(self, pieces: int = PIECES) -> ChainLayout:
        """Return how the line is cut: pieces of about the same length, with an end at every fly."""
        return cut([self.length, *self.gaps, 0.0], pieces)


@dataclass(frozen=True)
class Rig:
    """Tackle with its flies: the droppers from the top, the point last.

    Raises BadValueError where flies and places do not match.
    """

    tackle: Tackle
    flies: tuple[RigFly, ...]

    def __post_init__(self) -> None:
        """Refuse flies without a place."""
        places = len(self.tackle.gaps) + 1
        if len(self.flies) != places:
            problem = (
                f"{len(self.flies)} given for {places} {'place' if places == 1 else 'places'} on the leader"
            )
            raise BadValueError("flies", problem, "Give one fly for each dropper, and the point last.")

    @property
    def roles(self) -> tuple[str, ...]:
        """What each fly is: dropper or point."""
        return ("dropper",) * len(self.tackle.gaps) + ("point",)
