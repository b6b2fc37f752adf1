"""Which of many sides, slowest first, cannot be told apart from all that follow: all pairs of ``comparing`` at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flybench.quantity import COVERAGE_FACTOR, Floats
from flybench.statistics.side import Side


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
    """Sides as columns: the square of what is each one's own, and what they share, thing by thing."""

    def __init__(self, sides: Sequence[Side]) -> None:
        """Take sides from slowest to fastest."""
        self.speed = np.array([side.speed for side in sides])
        self.own = np.array([side.own**2 for side in sides])
        self.things, self.sizes, self.count = _shared(sides)

    def last_apart(self, begin: int, place: int) -> int:
        """Return the last side from ``begin`` on and before ``place`` that is told apart from that one, -1 without any."""
        before = slice(begin, place)
        square = self.own[before] + self.own[place] + self._not_shared(before, place)
        difference = self.speed[place] - self.speed[before]
        apart = np.flatnonzero(difference**2 > COVERAGE_FACTOR**2 * square)
        return begin + int(apart[-1]) if len(apart) else -1

    def _not_shared(self, before: slice, place: int) -> Floats:
        """Return the square of what does not cancel of what each of both has from one thing."""
        here = np.zeros(self.count)
        here[self.things[place]] = self.sizes[place]
        there = here[self.things[before]]
        alone = here @ here - (there**2).sum(axis=1)
        left: Floats = alone + ((self.sizes[before] - there) ** 2).sum(axis=1)
        return np.maximum(left, 0.0)


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
