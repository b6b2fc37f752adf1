"""Which of two measured flies sinks faster: by how much, how surely, and what would settle it.

Sides and what they share: ``statistics.side``. What is believed of their difference, from which the odds and what would
settle it come: ``statistics.believed``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from flybench.quantity import COVERAGE_FACTOR
from flybench.statistics.believed import Beforehand, Believed, not_shared
from flybench.statistics.side import DoubtPart, Repeat, Side
from flybench.statistics.student import MANY

SETTLED_ODDS = 0.8
"""Odds with which a promised number of drops, runs or flies tells the two apart [-]: four times in five (judgement)."""
ALIKE = 0.05
"""Share of the speed by which two flies may differ at the most (k = 2) to pass for alike [-]: a fifth of a band, which no
drift shows (judgement)."""

MOST = {Repeat.DROPS: 100, Repeat.RUNS: 20, Repeat.FLIES: 30}
"""More drops, runs and flies than these nobody will take [-] (judgement)."""

__all__ = [
    "ALIKE",
    "MOST",
    "Beforehand",
    "Comparison",
    "DoubtPart",
    "Need",
    "Repeat",
    "Side",
    "compare",
    "differ",
]


@dataclass(frozen=True)
class Need:
    """How many more of each would settle it: None where not within reason; ever, whether endlessly many would."""

    count: int | None
    ever: bool


@dataclass(frozen=True)
class Comparison:
    """One side against another: difference of speeds one - other and its standard uncertainty [m/s].

    ratio, one over other, and its standard uncertainty; odds that ``one`` is the faster; freedom, degrees of freedom of the
    difference after Welch and Satterthwaite; needs, what would tell them apart or show them alike, empty where they are
    either; blocked_by, the largest part that drops do not lessen; beforehand, what was known of such flies, None where
    nothing.
    """

    one: Side
    other: Side
    difference: float
    uncertainty: float
    ratio: float
    ratio_uncertainty: float
    odds: float
    freedom: float
    needs: Mapping[Repeat, Need] = field(default_factory=dict)
    blocked_by: str = ""
    beforehand: Beforehand | None = None

    @property
    def expanded(self) -> float:
        """Return the expanded uncertainty of the difference, k = 2 [m/s]."""
        return COVERAGE_FACTOR * self.uncertainty

    @property
    def told_apart(self) -> bool:
        """Tell whether the speeds differ by more than the expanded uncertainty of their difference (k = 2)."""
        return abs(self.difference) > self.expanded

    @property
    def alike(self) -> bool:
        """Tell whether they are not told apart and differ by no more than alike flies may (k = 2)."""
        if self.told_apart or self.beforehand is None:
            return False
        return abs(self.difference) + self.expanded <= self.beforehand.alike


def compare(one: Side, other: Side, beforehand: Beforehand | None = None) -> Comparison:
    """Return how ``one`` sinks against ``other``.

    d = v1 - v2; u(d) of widened parts, see ``statistics.side``. Where flies like these usually differ by s, the difference to
    be believed is less than d: the odds, and what would settle it, are those of it, averaged over all that the spreads
    may be (``statistics.believed``); difference and uncertainty are as measured.

    Parameters: one and other, speeds v1 and v2 [m/s]; beforehand, None where nothing is known. Returns: the comparison,
    speeds in [m/s].
    Range: speeds above zero, some uncertainty on either side; nothing is checked here.
    Reference: JCGM 100:2008, 5.2.2 and G.3.

    >>> sides = [
    ...     Side(code, speed, (DoubtPart("drops", Repeat.DROPS, 0.003),), {Repeat.DROPS: 5}, {})
    ...     for code, speed in (("A", 0.32), ("B", 0.30))
    ... ]
    >>> found = compare(*sides)
    >>> round(found.difference, 3), round(found.uncertainty, 4), found.told_apart
    (0.02, 0.0042, True)
    """
    believed = Believed(one, other, beforehand)
    ratio = one.speed / other.speed
    found = Comparison(
        one,
        other,
        one.speed - other.speed,
        _doubt(one, other, 1.0, 1.0),
        ratio,
        ratio * _doubt(one, other, 1 / one.speed, 1 / other.speed),
        believed.odds(),
        believed.freedom,
        blocked_by=_blocked_by(one, other),
        beforehand=beforehand,
    )
    if found.told_apart or found.alike:
        return found
    return replace(found, needs=_needs(found, believed))


def differ(one: Side, other: Side) -> bool:
    """Tell whether two speeds differ by more than the expanded uncertainty of their difference, as ``compare`` has it."""
    return abs(one.speed - other.speed) > COVERAGE_FACTOR * _doubt(one, other, 1.0, 1.0)


def _doubt(one: Side, other: Side, scale: float, other_scale: float) -> float:
    """Return the standard uncertainty of the difference of both speeds times a scale, widened as that of a side is."""
    own = one.own * scale, other.own * other_scale
    return math.hypot(*own, *not_shared(one, other, scale, other_scale))


def _needs(found: Comparison, believed: Believed) -> dict[Repeat, Need]:
    counts = found.one.counts, found.other.counts
    levels = [repeat for repeat in MOST if min(of.get(repeat, 0) for of in counts) > 0]
    return {repeat: _need(believed, repeat, found.beforehand) for repeat in levels}


def _need(believed: Believed, repeat: Repeat, beforehand: Beforehand | None) -> Need:
    """Return the least number of more drops, runs or flies of each that settles it with the odds promised."""
    alike = 0.0 if beforehand is None else beforehand.alike

    def settles(more: int) -> bool:
        return believed.odds_of_settling(repeat, more, alike) >= SETTLED_ODDS

    if not settles(MOST[repeat]):
        return Need(None, settles(int(MANY)))
    low, high = 0, MOST[repeat]
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if settles(middle) else (middle, high)
    return Need(high, True)


def _blocked_by(one: Side, other: Side) -> str:
    """Return the name of the largest part of the difference that more drops do not lessen, "" where there is none."""
    squares: dict[str, float] = {}
    for side in (one, other):
        for part in side.parts:
            if part.repeat > Repeat.DROPS:
                squares[part.source] = squares.get(part.source, 0.0) + part.uncertainty**2
    squares["set-up"] = sum(size**2 for size in not_shared(one, other))
    largest = max(squares, key=lambda name: squares[name])
    return largest if squares[largest] > 0 else ""
