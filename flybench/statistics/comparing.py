"""Which of two measured flies sinks faster: by how much, how surely, and what would settle it.

Each side's uncertainty is made of parts of its own, of which some fall with more drops, some only with more runs
(soaked anew) or more flies; and of errors that other runs share: those before one card, those of one evening in one set-up.
Such an error goes into both speeds in proportion, so it cancels in their difference as far as both have it from one thing:

    u^2(difference) = sum of own parts squared + sum over things of (share of one - share of the other)^2

Few runs tell little about their own spread: the distribution is Student's t with degrees of freedom after Welch and
Satterthwaite (JCGM 100:2008, G.4.1), and the standard uncertainty given is widened so that k = 2 holds 95.4 %.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum
from typing import Any

from flybench.quantity import COVERAGE_FACTOR
from flybench.statistics.student import MANY, freedom_of, size_of, student, widened

SETTLED_ODDS = 0.8
"""Odds with which a promised number of drops, runs or flies tells the two apart [-]: four times in five (judgement)."""
ALIKE = 0.05
"""Share of the speed by which two flies may differ at the most (k = 2) to pass for alike [-]: a fifth of a band, which no
drift shows (judgement)."""

OF_THE_SHOP, STEP = ("runs", "flies"), "water"
"""Parts whose spread is learned from the whole shop, so that both sides have it from there; the step to other water."""


class Repeat(IntEnum):
    """What can be repeated to lessen a part of the uncertainty; repeating a higher one lessens the lower ones too."""

    DROPS = 0
    RUNS = 1
    FLIES = 2
    NOTHING = 3


MOST = {Repeat.DROPS: 100, Repeat.RUNS: 20, Repeat.FLIES: 30}
"""More drops, runs and flies than these nobody will take [-] (judgement)."""


@dataclass(frozen=True)
class DoubtPart:
    """One part of a speed's own standard uncertainty [m/s]: its name, what lessens it, its degrees of freedom [-]."""

    source: str
    repeat: Repeat
    uncertainty: float
    freedom: float = math.inf


@dataclass(frozen=True)
class Side:
    """A measured fly or variant: speed [m/s], own parts, how many drops, runs and flies stand behind it.

    shared: standard uncertainty [m/s] that it has from each thing that other sides may have it from too (a card, a set-up on
    one evening), by what that is; speeds in other water than the rest are handed in corrected, with the correction's
    doubt among the parts.
    """

    code: str
    speed: float
    parts: tuple[DoubtPart, ...]
    counts: Mapping[Repeat, int]
    shared: Mapping[Any, float]

    @property
    def uncertainty(self) -> float:
        """Return the standard uncertainty of the speed alone [m/s], widened as that of a difference is."""
        own = [(part.uncertainty, part.freedom) for part in self.parts if part.source != STEP]
        return math.hypot(widened([*own, (math.hypot(*self.shared.values()), math.inf)]), self.step)

    @property
    def step(self) -> float:
        """Return what the step to other water adds [m/s], on top of what is widened: no step makes a speed surer."""
        return math.hypot(*(part.uncertainty for part in self.parts if part.source == STEP))

    def with_more(self, repeat: Repeat, more: int) -> Side:
        """Return the side as it would be with ``more`` drops, runs or flies that scatter as these do."""
        gain = (self.counts[repeat] + more) / self.counts[repeat]
        parts = [
            replace(part, uncertainty=part.uncertainty / math.sqrt(gain), freedom=part.freedom * gain)
            if part.repeat <= repeat
            else part
            for part in self.parts
        ]
        return replace(self, parts=tuple(parts))


@dataclass(frozen=True)
class Beforehand:
    """What is known of two speeds before they are measured: by how much such flies usually differ, a standard deviation
    [m/s], and up to which difference they pass for alike [m/s]."""

    differ: float
    alike: float


@dataclass(frozen=True)
class Need:
    """How many more of each would settle it: None where not within reason; ever, whether endlessly many would."""

    count: int | None
    ever: bool


@dataclass(frozen=True)
class Comparison:
    """One side against another: difference of speeds one - other and its standard uncertainty [m/s].

    ratio, one over other, and its standard uncertainty; odds that ``one`` is the faster; freedom, degrees of freedom;
    needs, what would tell them apart or show them alike, empty where they are either; blocked_by, the largest part that
    drops do not lessen; beforehand, what was known of such flies, None where nothing.
    """

    one: Side
    other: Side
    difference: float
    uncertainty: float
    ratio: float
    ratio_uncertainty: float
    odds: float
    freedom: float
    needs: Mapping[Repeat, Need]
    blocked_by: str
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

    d = v1 - v2; u(d) and the odds by Student's t with the effective degrees of freedom, see above. Where flies like these
    usually differ by s, the difference to be believed is d s^2 / (s^2 + u^2) with the variance u^2 s^2 / (s^2 + u^2): the
    odds, and what would settle it, are those of it; difference and uncertainty are as measured.

    Parameters: one and other, speeds v1 and v2 [m/s]; beforehand, None where nothing is known. Returns: the comparison,
    speeds in [m/s].
    Range: speeds above zero, some uncertainty on either side; nothing is checked here.
    Reference: JCGM 100:2008, 5.2.2, G.3 and G.4.1.

    >>> sides = [
    ...     Side(code, speed, (DoubtPart("drops", Repeat.DROPS, 0.003),), {Repeat.DROPS: 5}, {})
    ...     for code, speed in (("A", 0.32), ("B", 0.30))
    ... ]
    >>> found = compare(*sides)
    >>> round(found.difference, 3), round(found.uncertainty, 4), found.told_apart
    (0.02, 0.0042, True)
    """
    difference = one.speed - other.speed
    terms = list(_terms(one, other, 1.0, 1.0))
    ratio = one.speed / other.speed
    believed = _believed(difference, size_of(terms), beforehand)
    found = Comparison(
        one,
        other,
        difference,
        _widened(one, other, 1.0, 1.0),
        ratio,
        ratio * _widened(one, other, 1 / one.speed, 1 / other.speed),
        student(freedom_of(terms), believed[0] / believed[1]),
        freedom_of(terms),
        {},
        _blocked_by(one, other),
        beforehand,
    )
    if found.told_apart or found.alike:
        return found
    return replace(found, needs=_needs(one, other, beforehand))


def _believed(difference: float, size: float, beforehand: Beforehand | None) -> tuple[float, float]:
    """Return the difference to be believed and its standard deviation [m/s]."""
    if beforehand is None:
        return difference, size
    share = beforehand.differ**2 / (beforehand.differ**2 + size**2)
    return difference * share, size * math.sqrt(share)


def differ(one: Side, other: Side) -> bool:
    """Tell whether two speeds differ by more than the expanded uncertainty of their difference, as ``compare`` has it."""
    return abs(one.speed - other.speed) > COVERAGE_FACTOR * _widened(one, other, 1.0, 1.0)


def _needs(one: Side, other: Side, beforehand: Beforehand | None) -> dict[Repeat, Need]:
    levels = [repeat for repeat in MOST if min(one.counts.get(repeat, 0), other.counts.get(repeat, 0)) > 0]
    return {repeat: _need(one, other, repeat, beforehand) for repeat in levels}


def _need(one: Side, other: Side, repeat: Repeat, beforehand: Beforehand | None) -> Need:
    """Return the least number of more drops, runs or flies of each that settles it with the odds promised."""

    def odds(more: int) -> float:
        return _odds_of_settling(one, other, repeat, more, beforehand)

    if odds(MOST[repeat]) < SETTLED_ODDS:
        return Need(None, odds(int(MANY)) >= SETTLED_ODDS)
    low, high = 0, MOST[repeat]
    while high - low > 1:
        middle = (low + high) // 2
        if odds(middle) >= SETTLED_ODDS:
            high = middle
        else:
            low = middle
    return Need(high, True)


def _odds_of_settling(
    one: Side, other: Side, repeat: Repeat, more: int, beforehand: Beforehand | None
) -> float:
    """Return the odds that the two are told apart, or shown to be alike, after ``more`` drops, runs or flies of each.

    With r the variance of then over that of now, m and p^2 what is believed now: the difference seen then has the mean
    (1 - r) m + r d and the variance (1 - r)^2 p^2 + (1 - r) u^2(then).
    """
    now = list(_terms(one, other, 1.0, 1.0))
    later = one.with_more(repeat, more), other.with_more(repeat, more)
    then = list(_terms(*later, 1.0, 1.0))
    least = COVERAGE_FACTOR * _widened(*later, 1.0, 1.0)
    difference, learned = one.speed - other.speed, 1.0 - min((size_of(then) / size_of(now)) ** 2, 1.0)
    believed, deviation = _believed(difference, size_of(now), beforehand)
    middle = learned * believed + (1.0 - learned) * difference
    moves = math.sqrt(learned**2 * deviation**2 + learned * size_of(then) ** 2)
    if moves == 0.0:
        return 1.0 if abs(difference) > least else 0.0
    freedom = freedom_of(now)

    def within(reach: float) -> float:
        return student(freedom, (reach - middle) / moves) - student(freedom, (-reach - middle) / moves)

    alike = 0.0 if beforehand is None else max(beforehand.alike - least, 0.0)
    return 1.0 - within(least) + within(min(alike, least))


def _widened(one: Side, other: Side, scale: float, other_scale: float) -> float:
    """Return the standard uncertainty of the difference, widened as that of a side is."""
    a, b = (replace(side, parts=tuple(p for p in side.parts if p.source != STEP)) for side in (one, other))
    rest = widened(list(_terms(a, b, scale, other_scale)))
    return math.hypot(rest, one.step * scale, other.step * other_scale)


def _terms(one: Side, other: Side, scale: float, other_scale: float) -> Iterator[tuple[float, float]]:
    """Yield the independent parts of the difference, each with its degrees of freedom."""
    scaled = [
        replace(part, uncertainty=part.uncertainty * factor)
        for side, factor in ((one, scale), (other, other_scale))
        for part in side.parts
    ]
    yield from ((part.uncertainty, part.freedom) for part in scaled if part.source not in OF_THE_SHOP)
    for source in OF_THE_SHOP:
        found = [part for part in scaled if part.source == source and part.uncertainty > 0]
        if found:
            yield _learned_together(found)
    for place in one.shared.keys() | other.shared.keys():
        yield one.shared.get(place, 0.0) * scale - other.shared.get(place, 0.0) * other_scale, math.inf


def _learned_together(parts: Sequence[DoubtPart]) -> tuple[float, float]:
    """Return parts of one learned spread as one: where it is wrong, it is wrong in the same way for all of them.

    u^2 = sum u_i^2; as all u_i are off together, u^2 / sqrt(nu) = sum u_i^2 / sqrt(nu_i).
    """
    square = sum(part.uncertainty**2 for part in parts)
    off = sum(part.uncertainty**2 / math.sqrt(part.freedom) for part in parts)
    return math.sqrt(square), (square / off) ** 2 if off > 0 else math.inf


def _blocked_by(one: Side, other: Side) -> str:
    """Return the name of the largest part of the difference that more drops do not lessen, "" where there is none."""
    squares: dict[str, float] = {}
    for side in (one, other):
        for part in side.parts:
            if part.repeat > Repeat.DROPS:
                squares[part.source] = squares.get(part.source, 0.0) + part.uncertainty**2
    shared = _terms(replace(one, parts=()), replace(other, parts=()), 1.0, 1.0)
    squares["set-up"] = sum(size**2 for size, _ in shared)
    largest = max(squares, key=lambda name: squares[name])
    return largest if squares[largest] > 0 else ""
