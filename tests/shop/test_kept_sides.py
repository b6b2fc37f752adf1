"""Sides kept as bytes and read back for a whole shop at once: the same numbers as of each side alone. Sides are invented."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest

from flybench.shop.speeds.kept_sides import all_unpacked, packed
from flybench.statistics.comparing import DoubtPart, Repeat, Side
from flybench.statistics.many_pairs import columns_of, groups_of


def sides(seed: int, count: int) -> list[Side]:
    """Return sides from slowest to fastest; some have no part of a kind, some share nothing."""
    chance = random.Random(seed)
    found = []
    for number in range(count):
        parts = (
            DoubtPart("drops", Repeat.DROPS, chance.uniform(0.0005, 0.003), chance.uniform(3, 9)),
            DoubtPart("runs", Repeat.RUNS, chance.uniform(0.0, 0.003), chance.choice((2.0, 5.0, math.inf))),
            DoubtPart("water", Repeat.NOTHING, chance.choice((0.0, 0.004))),
        )
        shared = {thing: chance.uniform(0.0, 0.01) for thing in "abcdef" if chance.random() < 0.4}
        some = tuple(part for part in parts if part.uncertainty > 0)
        counts = {Repeat.DROPS: 5, Repeat.RUNS: 2}
        found.append(Side(f"F{number}", chance.uniform(0.25, 0.4), some, counts, shared))
    return sorted(found, key=lambda side: side.speed)


def part(side: Side, name: str) -> float:
    return sum(one.uncertainty for one in side.parts if one.source == name)


@pytest.mark.parametrize("count", [1, 63, 64, 65, 300])
def test_a_shop_read_at_once_is_as_each_side_alone(count: int) -> None:
    some = sides(count, count)
    found = all_unpacked([side.speed for side in some], [packed(side) for side in some])
    assert found.columns.speed.tolist() == [side.speed for side in some]
    assert found.columns.own == pytest.approx([side.own**2 for side in some], rel=1e-14)
    assert found.columns.squares == pytest.approx(
        [sum(one**2 for one in side.shared.values()) for side in some]
    )
    for name in ("drops", "runs", "water", "walls"):
        assert found.parts[name].tolist() == [part(side, name) for side in some]
    assert groups_of(found.columns) == groups_of(some)


def test_things_are_the_same_for_all_sides() -> None:
    some = sides(3, 40)
    kept = all_unpacked([side.speed for side in some], [packed(side) for side in some]).columns
    mine = columns_of(some)
    for one, other in ((kept, mine), (mine, kept)):
        number = dict(
            zip(one.things[one.sizes > 0].tolist(), other.things[other.sizes > 0].tolist(), strict=True)
        )
        assert np.array_equal(
            [number[thing] for thing in one.things[one.sizes > 0]], other.things[other.sizes > 0]
        )


def test_no_sides_at_all() -> None:
    found = all_unpacked([], [])
    assert groups_of(found.columns) == []
    assert found.parts["water"].tolist() == []
