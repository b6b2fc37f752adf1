"""What is believed of the difference of two measured speeds, and of what it would be with more drops, runs or flies.

Neither how much runs scatter nor how much such flies differ is known for certain. So all that they may be are tried, each as
likely as its degrees of freedom make it: with the variance V of what was measured and the variance W of how flies like these
differ, a difference seen of d is believed to be d W / (V + W), with the variance V W / (V + W), and the guess itself is as
likely as it makes d: normal, of the variance V + W. A large difference thus speaks for flies that differ much, a small one
for flies that are alike, and neither is shrunk as if every pair of the shop were the usual one.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from flybench.quantity import COVERAGE_FACTOR, Floats
from flybench.statistics.side import DoubtPart, Repeat, Side
from flybench.statistics.student import factor, freedom_of, guesses, widened

OF_THE_SHOP = ("runs", "flies")
"""Parts whose spread is learned from the whole shop, so that both sides have it from there."""


@dataclass(frozen=True)
class Beforehand:
    """What is known of two speeds before they are measured: by how much such flies usually differ, a standard deviation
    [m/s], up to which difference they pass for alike [m/s], and equally likely squares of how much these two differ over
    what is usual [-], where that is not known for certain."""

    differ: float
    alike: float
    squares: tuple[float, ...] = (1.0,)


@dataclass(frozen=True)
class Parts:
    """The parts of a difference: the variance of what each side has alone, widened [m^2/s^2], and by name those whose spread
    is learned, each a standard uncertainty [m/s] and its degrees of freedom [-]."""

    alone: float
    learned: Mapping[str, tuple[float, float]]


def parts_of(one: Side, other: Side) -> Parts:
    """Return the parts of a difference; those whose spread both sides have from the shop are off together."""
    parts = [*one.parts, *other.parts]
    own = widened([(part.uncertainty, part.freedom) for part in parts if part.source not in OF_THE_SHOP])
    learned: dict[str, tuple[float, float]] = {}
    for source in OF_THE_SHOP:
        found = [part for part in parts if part.source == source and part.uncertainty > 0]
        if found:
            learned[source] = _together(found)
    return Parts(own**2 + sum(size**2 for size in not_shared(one, other)), learned)


def not_shared(one: Side, other: Side, scale: float = 1.0, other_scale: float = 1.0) -> list[float]:
    """Return what is left of each thing that either speed has an error from [m/s], the speeds times so much."""
    places = sorted(one.shared.keys() | other.shared.keys(), key=str)
    return [one.shared.get(at, 0.0) * scale - other.shared.get(at, 0.0) * other_scale for at in places]


def _together(parts: Sequence[DoubtPart]) -> tuple[float, float]:
    """Return parts of one learned spread as one: where it is wrong, it is wrong in the same way for all of them.

    u^2 = sum u_i^2; as all u_i are off together, u^2 / sqrt(nu) = sum u_i^2 / sqrt(nu_i).
    """
    square = sum(part.uncertainty**2 for part in parts)
    off = sum(part.uncertainty**2 / math.sqrt(part.freedom) for part in parts)
    return math.sqrt(square), (square / off) ** 2 if off > 0 else math.inf


class Believed:
    """All guesses at a difference, each a normal law: mean and deviation [m/s], and how likely it is [-]."""

    def __init__(self, one: Side, other: Side, beforehand: Beforehand | None) -> None:
        """Weigh the guesses by what was measured."""
        self._sides, self._seen = (one, other), one.speed - other.speed
        self._parts = parts_of(one, other)
        usual = [] if beforehand is None else [np.array(beforehand.squares)]
        grid = np.meshgrid(*[guesses(freedom) for _, freedom in self._parts.learned.values()], *usual)
        flat = [each.ravel() for each in grid]
        self._off = dict(zip(self._parts.learned, flat, strict=False))
        self._variance = self._variance_of(self._parts)
        self._weigh(None if beforehand is None else beforehand.differ**2 * flat[-1])

    def _weigh(self, usual: Floats | None) -> None:
        """Set means, deviations and chances; ``usual`` is the variance of how such flies differ [m^2/s^2]."""
        if usual is None:
            shape = np.shape(self._variance)
            self.mean, self.deviation = np.full(shape, self._seen), np.sqrt(self._variance)
            self.chance = np.full(shape, 1.0 / max(self._variance.size, 1))
            return
        both = self._variance + usual
        share = usual / both
        log = -0.5 * (np.log(both) + self._seen**2 / both)
        self.mean, self.deviation = self._seen * share, np.sqrt(self._variance * share)
        self.chance = np.exp(log - log.max())
        self.chance /= self.chance.sum()

    def _variance_of(self, parts: Parts) -> Floats:
        """Return the variance of what is measured [m^2/s^2] as each guess has it."""
        found = np.full(next(iter(self._off.values())).shape if self._off else (1,), parts.alone)
        for source, (size, _) in parts.learned.items():
            found = found + size**2 * self._off[source]
        return found

    @property
    def freedom(self) -> float:
        """Return the degrees of freedom of the difference after Welch and Satterthwaite [-]."""
        parts = [part for side in self._sides for part in side.parts if part.source not in OF_THE_SHOP]
        terms = [(part.uncertainty, part.freedom) for part in parts]
        shared = [(size, math.inf) for size in not_shared(*self._sides)]
        return freedom_of([*terms, *shared, *self._parts.learned.values()])

    def odds(self) -> float:
        """Return the odds that the first side is the faster one [-]."""
        from scipy.special import ndtr  # a tenth of a second, not for --help

        return float(self.chance @ ndtr(self.mean / self.deviation))

    def odds_of_settling(self, repeat: Repeat, more: int, alike: float) -> float:
        """Return the odds that the two are told apart, or shown to be no farther apart than ``alike`` [m/s], after ``more``
        drops, runs or flies of each.

        With r the variance of then over that of now: the difference seen then has the mean (1 - r) m + r d and the variance
        (1 - r)^2 p^2 + (1 - r) u^2(then), m and p^2 what is believed now. How it is doubted then stands on what the new
        values show of their own spread.
        """
        from scipy.special import ndtr  # the same

        one, other = (side.with_more(repeat, more) for side in self._sides)
        parts = parts_of(one, other)
        then, least = self._variance_of(parts), COVERAGE_FACTOR * self._doubt_of(parts)
        learned = 1.0 - np.minimum(then / self._variance, 1.0)
        middle = learned * self.mean + (1.0 - learned) * self._seen
        moves = np.sqrt(learned**2 * self.deviation**2 + learned * then)
        moves = np.maximum(moves, 1e-12 * least)

        def within(reach: Floats) -> Floats:
            found: Floats = ndtr((reach - middle) / moves) - ndtr((-reach - middle) / moves)
            return found

        small = np.clip(alike - least, 0.0, least)
        return float(self.chance @ (1.0 - within(least) + within(small)))

    def _doubt_of(self, parts: Parts) -> Floats:
        """Return the standard uncertainty, widened, that each guess lets expect once so much is known [m/s].

        A spread of the freedom nu, of which m new values show that it is really another, is (nu + m times that) / (nu + m).
        """
        square = np.full(self.chance.shape, parts.alone)
        for source, (size, freedom) in parts.learned.items():
            before = self._parts.learned[source][1]
            news = 0.0 if math.isinf(freedom) else max(freedom - before, 0.0) / freedom
            square = square + (size * factor(freedom)) ** 2 * (1.0 - news + news * self._off[source])
        found: Floats = np.sqrt(square)
        return found
