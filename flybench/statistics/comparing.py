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

SETTLED_ODDS = 0.8
"""Odds with which a promised number of drops, runs or flies tells the two apart [-]: four times in five (judgement)."""
_HELD = 0.9772498680518208
"""Share of the normal distribution below 2 standard deviations [-]: what k = 2 is to hold on either side."""
_MANY = 1e6
"""Degrees of freedom, and repeats, that stand for endlessly many [-] (judgement)."""


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
        own = [(part.uncertainty, part.freedom) for part in self.parts]
        return widened([*own, (math.hypot(*self.shared.values()), math.inf)])

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
class Need:
    """How many more of each would settle it: None where not within reason; ever, whether endlessly many would."""

    count: int | None
    ever: bool


@dataclass(frozen=True)
class Comparison:
    """One side against another: difference of speeds one - other and its standard uncertainty [m/s].

    ratio, one over other, and its standard uncertainty; odds that ``one`` is the faster; freedom, degrees of freedom;
    needs, what would tell them apart, empty where they are; blocked_by, the largest part that drops do not lessen.
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

    @property
    def expanded(self) -> float:
        """Return the expanded uncertainty of the difference, k = 2 [m/s]."""
        return COVERAGE_FACTOR * self.uncertainty

    @property
    def told_apart(self) -> bool:
        """Tell whether the speeds differ by more than the expanded uncertainty of their difference (k = 2)."""
        return abs(self.difference) > self.expanded


def compare(one: Side, other: Side) -> Comparison:
    """Return how ``one`` sinks against ``other``.

    d = v1 - v2; u(d) and the odds by Student's t with the effective degrees of freedom, see above.

    Parameters: one and other, speeds v1 and v2 [m/s]. Returns: the comparison, speeds in [m/s].
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
    relative = list(_terms(one, other, 1 / one.speed, 1 / other.speed))
    ratio = one.speed / other.speed
    found = Comparison(
        one,
        other,
        difference,
        widened(terms),
        ratio,
        ratio * widened(relative),
        _student(_freedom(terms), difference / _size(terms)),
        _freedom(terms),
        {},
        _blocked_by(one, other),
    )
    return found if found.told_apart else replace(found, needs=_needs(one, other))


def differ(one: Side, other: Side) -> bool:
    """Tell whether two speeds differ by more than the expanded uncertainty of their difference, as ``compare`` has it."""
    terms = list(_terms(one, other, 1.0, 1.0))
    return abs(one.speed - other.speed) > COVERAGE_FACTOR * widened(terms)


def _needs(one: Side, other: Side) -> dict[Repeat, Need]:
    levels = [repeat for repeat in MOST if min(one.counts.get(repeat, 0), other.counts.get(repeat, 0)) > 0]
    return {repeat: _need(one, other, repeat) for repeat in levels}


def _need(one: Side, other: Side, repeat: Repeat) -> Need:
    """Return the least number of more drops, runs or flies of each that settles it with the odds promised."""
    if _odds_of_settling(one, other, repeat, MOST[repeat]) < SETTLED_ODDS:
        return Need(None, _odds_of_settling(one, other, repeat, int(_MANY)) >= SETTLED_ODDS)
    low, high = 0, MOST[repeat]
    while high - low > 1:
        middle = (low + high) // 2
        if _odds_of_settling(one, other, repeat, middle) >= SETTLED_ODDS:
            high = middle
        else:
            low = middle
    return Need(high, True)


def _odds_of_settling(one: Side, other: Side, repeat: Repeat, more: int) -> float:
    """Return the odds that the two are told apart after ``more`` drops, runs or flies of each.

    The difference will move by what is learned: its variance is that of now less that of then.
    """
    now = list(_terms(one, other, 1.0, 1.0))
    then = list(_terms(one.with_more(repeat, more), other.with_more(repeat, more), 1.0, 1.0))
    least = COVERAGE_FACTOR * widened(then)
    difference = abs(one.speed - other.speed)
    moves = math.sqrt(max(_size(now) ** 2 - _size(then) ** 2, 0.0))
    if moves == 0.0:
        return 1.0 if difference > least else 0.0
    freedom = _freedom(now)
    above, below = (difference - least) / moves, (-difference - least) / moves
    return _student(freedom, above) + _student(freedom, below)


def _terms(one: Side, other: Side, scale: float, other_scale: float) -> Iterator[tuple[float, float]]:
    """Yield the independent parts of the difference, each with its degrees of freedom."""
    for side, factor in ((one, scale), (other, other_scale)):
        for part in side.parts:
            yield part.uncertainty * factor, part.freedom
    for place in one.shared.keys() | other.shared.keys():
        yield (
            one.shared.get(place, 0.0) * scale - other.shared.get(place, 0.0) * other_scale,
            math.inf,
        )


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


def _size(terms: Sequence[tuple[float, float]]) -> float:
    return math.hypot(*(size for size, _ in terms))


def _freedom(terms: Sequence[tuple[float, float]]) -> float:
    """Return effective degrees of freedom after Welch and Satterthwaite, no more than a million."""
    total = _size(terms)
    spread = sum((size / total) ** 4 / freedom for size, freedom in terms) if total > 0 else 0.0
    return min(1 / spread, _MANY) if spread > 0 else _MANY


def widened(terms: Sequence[tuple[float, float]]) -> float:
    """Return the standard uncertainty of a sum, of which twice holds as much as 2 standard deviations of a normal one.

    u = t_nu(0.977) / 2 hypot(u_i), nu the effective degrees of freedom.

    Parameters: terms, independent ones: standard uncertainty in one unit, degrees of freedom [-]; not all zero.
    Returns: standard uncertainty in that unit. Reference: JCGM 100:2008, G.3 and G.4.1.

    >>> round(widened([(1.0, 4.0)]), 3), round(widened([(3.0, float("inf")), (4.0, float("inf"))]), 3)
    (1.435, 5.0)
    """
    from scipy.special import stdtrit  # a tenth of a second, not for --help

    freedom = _freedom(terms)
    if freedom >= _MANY:
        return _size(terms)
    return _size(terms) * float(stdtrit(freedom, _HELD)) / COVERAGE_FACTOR


def _student(freedom: float, t: float) -> float:
    from scipy.special import stdtr  # the same

    return float(stdtr(freedom, t))
