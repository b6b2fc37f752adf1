"""What a rig is to do, and the part of its drifts that counts: from where it is down, past where the fish lie."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flybench.quantity import Floats, inside
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.watchers import Tally
from flybench.rig.tackle.leader import Hold, Tackle
from flybench.rig.water.current import Current
from flybench.rig.water.level import NEAR_BOTTOM, FishLevel

TOUCHES = 0.3
"""Share of drifts that should touch the bed where fish lie near it [-]: now and then, so that the point is known to run
near the bed (common practice, no source, for touching now and then; the number is judgement)."""
SHORTEST_DRIFT, LONGEST_DRIFT = 0.5, 60.0
"""Range of the length of a drift [s] (judgement)."""
SHORTEST_STRETCH, LONGEST_STRETCH = 0.2, 20.0
"""Range of the stretch where fish lie [m] (judgement: from one stone to a long run)."""
NEAREST, FARTHEST = 0.5, 30.0
"""Range of how far upstream of the fish flies can be landed [m] (judgement: from a rod's tip to a long line)."""
HIGHEST_COST = 10.0
"""Most weight of the bed, of the point and of the droppers beside each other [-] (judgement)."""
SINKING = 0.06
"""Speed at which the slowest rig that is waited for comes down [m/s] (judgement: a fly of 8 cm/s on its leader, in four
drifts of five)."""
LONGEST_WAIT = 15.0
"""Most time for which flies are waited for to come down where no time is given [s] (judgement: 4 m upstream in water that
runs slowly); the most of all for a line that is held still."""
SHORTEST_PASS, LONGEST_PASS = 1.0, 8.0
"""Least and most time for which the stretch of the fish is looked at [s] (judgement); the most also for a line that is held
still, whose flies stay."""
LEAST_LEFT = 0.25
"""Share of a drift of given time that is looked at even where flies are not down before [-] (judgement)."""


@dataclass(frozen=True)
class Goal:
    """What an angler wants of a rig.

    level of the fish for the point, and for the droppers where it is another, heights above the stones' tops [m];
    touches, share of drifts that should touch the bed [-]; down, share of drifts in which the point should be down
    where the fish lie [-]; stretch, along which they lie, and farthest, how far upstream of them flies can be landed
    [m]; bed_cost, how much lying on the bed counts against being at the level, point_worth and dropper_worth, how much
    each counts [-]; seconds of a drift, where that is known [s]. All that is given already is judgement: 0.8 is
    four of five, a lie is 2 m long, and flies are landed well over 5 m.

    Raises BadValueError outside the ranges.
    """

    level: FishLevel = NEAR_BOTTOM
    dropper_level: FishLevel | None = None
    touches: float = TOUCHES
    down: float = 0.8
    stretch: float = 2.0
    farthest: float = 5.0
    bed_cost: float = 1.0
    point_worth: float = 1.0
    dropper_worth: float = 0.5
    seconds: float | None = None

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        for key, value, low, high, unit, cure in (
            ("touches", self.touches, 0.0, 1.0, "", "Give a share of the drifts, such as 0.3."),
            ("down", self.down, 0.0, 1.0, "", "Give a share, such as 0.8 for four drifts of five."),
            (
                "stretch",
                self.stretch,
                SHORTEST_STRETCH,
                LONGEST_STRETCH,
                "m",
                "Give the way along which fish lie.",
            ),
            (
                "farthest",
                self.farthest,
                NEAREST,
                FARTHEST,
                "m",
                "Give how far upstream of the fish you can cast.",
            ),
            (
                "bed cost",
                self.bed_cost,
                0.0,
                HIGHEST_COST,
                "",
                "Give 1 to 2, more where the bed holds snags.",
            ),
            ("point worth", self.point_worth, 0.0, HIGHEST_COST, "", "Give 1, or 0 if it is only a weight."),
            ("dropper worth", self.dropper_worth, 0.0, HIGHEST_COST, "", "Give 1 to count it as the point."),
        ):
            inside(key, value, low, high, unit, cure)
        if self.seconds is not None:
            cure = "Give the length of a drift, such as 8 s."
            inside("seconds", self.seconds, SHORTEST_DRIFT, LONGEST_DRIFT, "s", cure)

    def passing(self, speed: Floats) -> Floats:
        """Return how long flies on a line that goes at a speed [m/s] are looked at once they are down [s]."""
        slow = speed * LONGEST_PASS <= self.stretch
        passing: Floats = np.where(
            slow, LONGEST_PASS, self.stretch / np.maximum(speed, self.stretch / LONGEST_PASS)
        )
        return np.maximum(passing, SHORTEST_PASS)

    def longest(self, current: Current, tackle: Tackle) -> float:
        """Return how long drifts are looked at [s]: as long as given, else as this water and way of fishing want it."""
        if self.seconds is not None:
            return self.seconds
        speed = _line_speed(current, tackle)
        passing = float(self.passing(np.asarray(speed)))
        sinking = current.floor / SINKING
        if speed > 0:
            sinking = min(sinking, self.farthest / speed)
            return min(sinking, LONGEST_WAIT) + passing
        return min(sinking + passing, LONGEST_WAIT)

    def farthest_looked(self, current: Current, tackle: Tackle) -> float:
        """Return how far the line has gone when the last rigs that are waited for must be down [m]: farthest, or less in slow
        and in shallow water."""
        speed = _line_speed(current, tackle)
        wait = self.longest(current, tackle) - float(self.passing(np.asarray(speed)))
        return min(self.farthest, speed * wait)


def _line_speed(current: Current, tackle: Tackle) -> float:
    """Return how fast the line goes downstream where it enters the water [m/s]."""
    held = {Hold.FLOATING: current.surface_speed.value, Hold.STILL: 0.0}
    return held.get(tackle.hold, tackle.lead_speed or 0.0)


@dataclass(frozen=True)
class Outcomes:
    """What drifts came to, (sets, draws), over the useful part of each.

    at_level, on_bed, shares of it that the point is at the fish's level and not on the bed, and on the bed; dropper and
    dropper_on_bed, the same of the droppers at theirs [-]; touched, whether any fly touched the bed until its end;
    down, whether the point came down in time [0 or 1]; way [m] and time [s] of the point to the level, infinite where
    never; deepest place of any fly [m]; of each set, landing [m], the way within which the point is down in the wanted
    share of drifts, infinite where it is not, and begin of the useful part [s].
    """

    at_level: Floats
    on_bed: Floats
    dropper: Floats
    dropper_on_bed: Floats
    touched: Floats
    down: Floats
    way: Floats
    time: Floats
    deepest: Floats
    landing: Floats
    begin: Floats


@dataclass(frozen=True)
class Window:
    """The useful part of drifts: when the wanted share of each set's drifts has come down, come [s], infinite while it has
    not; latest, when it begins whether or not [s]; begin, of each set, and end of each drift (sets, draws) [s]."""

    come: Floats
    latest: Floats
    begin: Floats
    end: Floats

    @classmethod
    def of(cls, tally: Tally, rigs: Batch, goal: Goal, seconds: float, sets: int) -> Window:
        """Return it of a tally of drifts of so many ``seconds`` at the most [s], set by set.

        It begins when the wanted share of drifts has come down, or as late as leaves time for the stretch; it ends when the
        line has gone along the stretch, or with the drift where its time is given.
        """
        assert rigs.lead is not None
        passing = goal.passing(rigs.lead).reshape(sets, -1)
        if goal.seconds is not None:
            passing = np.full_like(passing, LEAST_LEFT * seconds)
        latest = seconds - np.median(passing, axis=1)
        come = _until_share(tally.reached.reshape(sets, -1), goal.down)
        begin = np.minimum(come, latest)
        end = np.full_like(passing, seconds)
        if goal.seconds is None:
            end = np.minimum(begin[:, None] + passing, seconds)
        return cls(come, latest, begin, end)


def outcomes_of(tally: Tally, rigs: Batch, goal: Goal, seconds: float, sets: int) -> Outcomes:
    """Return what a tally of drifts of so many ``seconds`` at the most [s], set by set, comes to."""
    window = Window.of(tally, rigs, goal, seconds, sets)
    starts = np.broadcast_to(window.begin[:, None], window.end.shape)
    at_level, on_bed, dropper, dropper_on_bed = tally.shares(starts.ravel(), window.end.ravel()).reshape(
        4, sets, -1
    )
    reached, way = tally.reached.reshape(sets, -1), tally.way.reshape(sets, -1)
    landing = np.where(window.come <= window.latest, _until_share(way, goal.down), np.inf)
    return Outcomes(
        at_level=at_level,
        on_bed=on_bed,
        dropper=dropper,
        dropper_on_bed=dropper_on_bed,
        touched=(tally.touched.reshape(sets, -1) <= window.end).astype(float),
        down=(reached <= window.begin[:, None]).astype(float),
        way=way,
        time=reached,
        deepest=tally.deepest.reshape(sets, -1),
        landing=landing,
        begin=window.begin,
    )


def _until_share(values: Floats, share: float) -> Floats:
    """Return, of each set, the value that a share of its draws does not exceed."""
    found: Floats = np.quantile(values, share, axis=1, method="inverted_cdf")
    return found
