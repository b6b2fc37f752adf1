"""Which of many sides, slowest first, cannot be told apart from all that follow: all pairs of ``comparing`` at once.

Sides are held as columns, and a block of them is compared at a time with those that it may be told apart from: what is each
one's own says how near two may be at the most, so that hardly more pairs are looked at than there are sides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flybench.quantity import COVERAGE_FACTOR, Floats
from flybench.statistics.side import Side

_BLOCK = 64
"""Sides compared at a time [-]: more wait longer for where a group begins, fewer make more steps (judgement)."""
_NEARLY = 0.999
"""Share of the least square at which two sides are looked at [-]: one less than all, for rounding (judgement)."""

Places = NDArray[np.intp]


@dataclass(frozen=True)
class SideColumns:
    """Sides as columns (n): speed [m/s], from slowest to fastest, and the square of what is each one's own [m2/s2]; which
    things each has an error from, by number, and how large [m/s] (n, most of one side): places without a thing hold one that
    is nobody's, the last, of size 0."""

    speed: Floats
    own: Floats
    things: Places
    sizes: Floats

    @cached_property
    def squares(self) -> Floats:
        """Return the square of all that each side shares (n) [m2/s2]."""
        found: Floats = (self.sizes**2).sum(axis=1)
        return found

    @cached_property
    def count(self) -> int:
        """Return how many things there are, with the one that is nobody's [-]."""
        return int(self.things.max(initial=0)) + 1


def groups_of(sides: Sequence[Side] | SideColumns) -> list[tuple[int, int]]:
    """Return the largest groups of neighbours of which no two can be told apart: first and last place of each.

    Parameters: sides from slowest to fastest. Groups of one are left out, and those that lie within another.
    Reference: as ``comparing.differ``, which says the same of each pair.
    """
    table = sides if isinstance(sides, SideColumns) else columns_of(sides)
    begin, groups, count = 0, [], len(table.speed)
    for start in range(0, count, _BLOCK):
        last = _last_apart(table, begin, slice(start, min(start + _BLOCK, count)))
        for place, apart in enumerate(last, start):
            if apart >= begin:
                groups.append((begin, place - 1))
                begin = apart + 1
    groups.append((begin, count - 1))
    return [group for group in groups if group[1] > group[0]]


def columns_of(sides: Sequence[Side]) -> SideColumns:
    """Return sides as columns."""
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
    speed = np.array([side.speed for side in sides], dtype=float)
    return SideColumns(speed, np.array([side.own**2 for side in sides], dtype=float), things, sizes)


def _last_apart(table: SideColumns, begin: int, block: slice) -> list[int]:
    """Return for each side of a block the last one from ``begin`` on and before it that it is told apart from, else -1."""
    places, before = _far_enough(table, begin, block)
    square = table.own[places] + table.own[before]
    square += _not_shared(table, places, before, block)
    apart = (table.speed[places] - table.speed[before]) ** 2 > COVERAGE_FACTOR**2 * square
    last = np.full(block.stop - block.start, -1)
    np.maximum.at(last, places[apart] - block.start, before[apart])
    found: list[int] = last.tolist()
    return found


def _far_enough(table: SideColumns, begin: int, block: slice) -> tuple[Places, Places]:
    """Return the pairs of a side of a block and one from ``begin`` on and before it whose speeds are farther apart than what
    is their own: only these may be told apart."""
    least = table.own[begin : block.stop].min()
    near = table.speed[block] - COVERAGE_FACTOR * np.sqrt(_NEARLY * (table.own[block] + least))
    counts = np.searchsorted(table.speed[begin : block.stop], near)
    places = np.repeat(np.arange(block.start, block.stop), counts)
    before = begin + np.arange(len(places)) - np.repeat(np.cumsum(counts) - counts, counts)
    square = _NEARLY * (table.own[places] + table.own[before])
    far = (table.speed[places] - table.speed[before]) ** 2 > COVERAGE_FACTOR**2 * square
    return places[far], before[far]


def _not_shared(table: SideColumns, places: Places, before: Places, block: slice) -> Floats:
    """Return the square of what does not cancel of what each of two sides has from one thing, for pairs [m2/s2]."""
    rows = np.arange(block.stop - block.start)
    here = np.zeros((len(rows), table.count))
    here[rows[:, None], table.things[block]] = table.sizes[block]
    there = here[(places - block.start)[:, None], table.things[before]]
    left = table.squares[places] - (there**2).sum(axis=1)
    left += ((table.sizes[before] - there) ** 2).sum(axis=1)
    found: Floats = np.maximum(left, 0.0)
    return found
