"""What stands on the pocket page in words: the flies of the box, the table of waters, marks, and what it all holds for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from flybench.hydraulics.sphere import GRAVITY
from flybench.quantity import Measured, celsius, parse, parse_with_uncertainty
from flybench.rounding import rounded
from flybench.shop.river.goal_words import goal_words, of_ten
from flybench.shop.river.pocket import PocketChoice, PocketTable
from flybench.shop.river.tackle_texts import FLOATS, ONE_GAP, entry_words, hold_words, length_words
from flybench.version import __version__

CAUTIONS = (
    "Wade with a staff and a flotation aid, and turn back when in doubt: cold and fast water kills.",
    "Many waters limit the number of flies and the lead or weight on a line: check your local rules.",
)
"""What everybody who carries the page should read."""
MARKS = {
    "mostly-grounded": ("*", "* Once it is down, the fly lies on the bed for more than half of the drift."),
    "shallow-rough": (
        "?",
        "? The water is less than 5 stones deep: no law holds, so trust no single number.",
    ),
    "seldom-down": (
        "~",
        "~ The fly is down in time in more than half of the drifts, but in fewer than are wanted.",
    ),
    "held-back": (
        "<",
        "< The line is led at less than 0.7 of the surface speed there, so the current lifts the flies.",
    ),
    "led-fast": (">", "> The line is led faster than the surface runs there, which lifts the flies."),
    "point-slower": ("/", "/ The point sinks slower than the dropper, and so trails above it."),
    "dropper-in-air": ("^", "^ The dropper is tied so far up that it hangs in the air there."),
    "tag-long": ("&", "& The dropper's tag reaches past the point, so the two flies catch in each other."),
    "leader-short": (
        "!",
        "! The leader does not reach down to the fish where the water is as deep as it may be.",
    ),
}
"""Marks of what makes a single water doubtful, by flag, and what they mean."""
ADJUST = (
    "Fish six drifts. A touch of the bottom now and then is right. If it touches in every drift, tie on the next slower fly; "
    "if it never does, the next faster one. Or tell flybench rig adjust what you saw."
)
"""What to do after some drifts (common practice, no source)."""
HARD = (
    "#",
    "# Do not count on standing here: depth times speed is near 0.4 m²/s or more, or the water near 1.2 m deep or 0.8 m/s "
    "fast. Adults lost their footing in tests from about 0.6 m²/s (Abt and others 1989).",
)
"""Mark of water that is hard to stand in, and what it means."""


@dataclass(frozen=True)
class PocketRow:
    """A fly of the box: sink speed in free water [m/s], weight in water [N]."""

    code: str
    speed: Measured
    weight: Measured

    @property
    def speed_words(self) -> tuple[str, str]:
        """Speed and its expanded uncertainty, k = 2, in cm/s."""
        value, spread = self.speed.value * 100, self.speed.expanded * 100
        return rounded(value, spread) if spread > 0 else (f"{value:.1f}", "0")

    @property
    def weight_words(self) -> str:
        """Weight in water as grams on a scale, to the place its uncertainty deserves, at most thousandths."""
        value, spread = (1e3 * force / GRAVITY for force in (self.weight.value, self.weight.expanded))
        return rounded(value, max(spread, 0.003))[0]


@dataclass(frozen=True)
class PocketCell:
    """Point flies for one water, the best first, each with the way upstream to land it [m]; none where none reaches.

    more, how many others are as good as these; marks, signs of the page's notes.
    """

    choices: tuple[tuple[str, float], ...]
    more: int = 0
    marks: str = ""

    def words(self, apart: bool = False) -> list[str]:
        """Return the cell's lines, the best first, the marks behind the last; ``apart`` parts code and distance."""
        between = "\n" if apart else " "
        texts = [f"{code}{between}{way:g} m" for code, way in self.choices] or ["none reaches"]
        texts = [one if number == 0 else f"or {one}" for number, one in enumerate(texts)]
        if self.more:
            texts.append(f"or {self.more} more")
        lines = "\n".join(texts).split("\n")
        return [*lines[:-1], f"{lines[-1]} {self.marks}".rstrip()]


@dataclass(frozen=True)
class PocketPage:
    """All that stands on the page; cells by depth, then by speed; reading, how to use it."""

    rows: Sequence[PocketRow]
    depths: Sequence[str]
    speeds: Sequence[str]
    cells: Sequence[PocketCell]
    holds_for: Sequence[str]
    notes: Sequence[str]
    cautions: Sequence[str]
    reading: Sequence[str] = ()


def page_of(table: PocketTable) -> PocketPage:
    """Return a table as it stands on the page."""
    return PocketPage(
        [PocketRow(fly.name, fly.speed, fly.weight) for fly in table.flies],
        [_shown(one, "m", "--depth") for one in table.depths],
        [_shown(one, "m/s", "--surface-speed") for one in table.speeds],
        [_cell(one) for one in table.choices],
        _holds_for(table, "bed-unknown" in table.flags),
        [
            *(note for flag, (_, note) in MARKS.items() if flag in table.flags),
            *[HARD[1]] * any(one.hard for one in table.choices),
        ],
        CAUTIONS,
        [_distances(table), ADJUST],
    )


def _distances(table: PocketTable) -> str:
    """Return what the distances of the page mean."""
    unless = ", if no ~ stands there" if "seldom-down" in table.flags else ""
    return (
        "Land the fly so far upstream of the fish as stands beside it, rounded up to 0.5 m: within that, it is down with "
        f"them in {of_ten(table.goal.down)}{unless}."
    )


def _cell(choice: PocketChoice) -> PocketCell:
    marks = "".join(mark for flag, (mark, _) in MARKS.items() if flag in choice.flags)
    return PocketCell(choice.flies, choice.more, marks + HARD[0] * choice.hard)


def _shown(text: str, unit: str, key: str) -> str:
    """Return a depth or speed for the head of the table, as typed; without its ± in SI."""
    value, doubt = parse_with_uncertainty(text, unit, key)
    return text.strip() if doubt is None else f"{value:g} {unit}"


def _holds_for(table: PocketTable, bed_unknown: bool) -> list[str]:
    """Return what the numbers hold for."""
    texts, dropper = table.texts, table.dropper
    bed = f"bed: {texts.bed or texts.d84 or texts.z0}"
    if bed_unknown:
        bed = "bed not known: a 1/6 law is used, and over cobbles the water near the bed is slower"
    warmth = celsius(parse(texts.temperature, "K", "--temperature"))
    rig = "one fly"
    if dropper is not None:
        tag = "" if texts.dropper_tag is None else f" on a tag of {texts.dropper_tag.strip()}"
        rig = f"dropper {dropper.name} {texts.dropper_gap or ONE_GAP} above the point{tag}"
    floats = ", floating: its drag is known to a factor of two at best" if texts.leader == FLOATS else ""
    return [
        f"Water of {warmth:.3g} °C; {bed}.",
        f"Leader: {texts.leader_material}, {texts.leader_diameter}, {length_words(texts)}{floats}; {rig}.",
        f"Line {hold_words(texts)}. Entry: {entry_words(texts)}.",
        f"Fish: {texts.level}. {goal_words(table.goal)} A fly is named if it is down in time in half of the drifts.",
        "Sink speeds and weights are those of this shop's own flies: others differ, even of the same pattern.",
        f"Made {datetime.now(UTC):%Y-%m-%d} by flybench {__version__}.",
    ]
