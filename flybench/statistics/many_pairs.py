"""Which of many sides, slowest first, cannot be told apart from all that follow: all pairs of ``comparing`` at once."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flybench.quantity import Floats
from flybench.statistics.comparing import OF_THE_SHOP, STEP, Side
from flybench.statistics.student import HELD, MANY

_SURELY_ALIKE = 0.999
"""Share of twice the size of a difference's doubt up to which no pair can be told apart [-]: Student's factor is 2 at the
least; the rest is rounding."""


def groups_of(sides: Sequence[Side]) -> list[tuple[int, int]]:
    """Return the largest groups of neighbours of which no two can be told apart: first and last place of each.

    Parameters: sides from slowest to fastest. Groups of one are left out, and those that lie within another.
    Reference: as ``comparing.differ``, which says the same of each pair.
    """
    table, begin, groups = _Sides(sides), 0, []
    for place in range(len(sides)):
        apart = table.last_apart(begin, place)
        if apart >= 0:
            groups.append((begin, place - 1))
            begin = apart + 1
    groups.append((begin, len(sides) - 1))
    return [group for group in groups if group[1] > group[0]]


class _Sides:
    """Sides as columns: squares of the parts that are each one's own, and what they share, thing by thing."""

    def __init__(self, sides: Sequence[Side]) -> None:
        """Take sides from slowest to fastest."""
        own = [[part for part in side.parts if part.source not in (*OF_THE_SHOP, STEP)] for side in sides]
        self.speed = np.array([side.speed for side in sides])
        self.own = np.array([sum(part.uncertainty**2 for part in of) for of in own])
        self.loose = np.array([sum(part.uncertainty**4 / part.freedom for part in of) for of in own])
        self.learned = np.array([[_learned(side, source, 0.0) for source in OF_THE_SHOP] for side in sides])
        self.step = np.array([side.step**2 for side in sides])
        self.off = np.array([[_learned(side, source, 0.5) for source in OF_THE_SHOP] for side in sides])
        self.things, self.sizes, self.count = _shared(sides)

    def last_apart(self, begin: int, place: int) -> int:
        """Return the last side from ``begin`` on and before ``place`` that is told apart from that one, -1 without any."""
        before = slice(begin, place)
        square = self.own[before] + self.own[place] + (self.learned[before] + self.learned[place]).sum(axis=1)
        square += self._not_shared(before, place)
        difference = np.abs(self.speed[place] - self.speed[before])
        steps = 4.0 * (self.step[before] + self.step[place])
        near = np.flatnonzero(difference**2 > _SURELY_ALIKE * (4.0 * square + steps))
        if not len(near):
            return -1
        off = (self.off[before][near] + self.off[place]) ** 2
        loose = self.loose[before][near] + self.loose[place] + off.sum(axis=1)
        reach = square[near] * _factor(square[near], loose) ** 2 + steps[near]
        apart = near[difference[near] ** 2 > reach]
        return begin + int(apart[-1]) if len(apart) else -1

    def _not_shared(self, before: slice, place: int) -> Floats:
        """Return the square of what does not cancel of what each of both has from one thing."""
        here = np.zeros(self.count)
        here[self.things[place]] = self.sizes[place]
        there = here[self.things[before]]
        alone = here @ here - (there**2).sum(axis=1)
        left: Floats = alone + ((self.sizes[before] - there) ** 2).sum(axis=1)
        return np.maximum(left, 0.0)


def _factor(square: Floats, loose: Floats) -> Floats:
    """Return Student's factor for the degrees of freedom after Welch and Satterthwaite."""
    from scipy.special import stdtrit  # a tenth of a second, not for --help

    freedom = square**2 / np.maximum(loose, square**2 / MANY)
    return np.where(freedom >= MANY * (1 - 1e-9), 2.0, stdtrit(freedom, HELD))


def _learned(side: Side, source: str, power: float) -> float:
    """Return the sum of the squares of a part that is learned from the shop, over its freedom to a power."""
    return math.fsum(
        part.uncertainty**2 / part.freedom**power
        for part in side.parts
        if part.source == source and part.uncertainty > 0
    )


def _shared(sides: Sequence[Side]) -> tuple[NDArray[np.intp], Floats, int]:
    """Return which things each side has an error from and how large (n, most of one side), and how many there are.

    Places that a side has no thing for hold a thing that is nobody's, of size 0.
    """
    numbers: dict[object, int] = {}
    for side in sides:
        for thing in side.shared:
            numbers.setdefault(thing, len(numbers))
    most = max((len(side.shared) for side in sides), default=0)
    things = np.full((len(sides), most), len(numbers), dtype=np.intp)
    sizes = np.zeros((len(sides), most))
    for place, side in enumerate(sides):
        things[place, : len(side.shared)] = [numbers[thing] for thing in side.shared]
        sizes[place, : len(side.shared)] = list(side.shared.values())
    return things, sizes, len(numbers) + 1
