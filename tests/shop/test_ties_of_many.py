"""Flies that cannot be told apart, of many at once: the same groups as by comparing each pair. Sides are invented."""

from __future__ import annotations

import math
import random

import pytest

from flybench.shop.speeds.ladder import Ladder, LadderRung, ties_of
from flybench.statistics.comparing import DoubtPart, Repeat, Side, differ
from flybench.telling.sink import ladder as telling


def rungs(seed: int, count: int) -> list[LadderRung]:
    chance = random.Random(seed)
    found = []
    for number in range(count):
        speed = chance.uniform(0.25, 0.40)
        parts = (
            DoubtPart("drops", Repeat.DROPS, chance.uniform(0.0005, 0.003), chance.uniform(3, 9)),
            DoubtPart("runs", Repeat.RUNS, chance.uniform(0.0, 0.01), chance.choice((2.0, 5.0, math.inf))),
            DoubtPart("flies", Repeat.FLIES, chance.choice((0.0, 0.004)), 3.0),
            DoubtPart("water", Repeat.NOTHING, chance.choice((0.0, 0.004))),
        )
        shared = {thing: chance.uniform(0.0, 0.01) for thing in "abcdef" if chance.random() < 0.5}
        found.append(LadderRung(f"F{number}", "", Side(f"F{number}", speed, parts, {}, shared)))
    return sorted(found, key=lambda rung: rung.speed)


def largest_groups(found: list[LadderRung]) -> list[list[str]]:
    """All runs of neighbours of which no two differ, those within another left out: by their definition."""
    alike = [
        (first, last)
        for first in range(len(found))
        for last in range(first + 1, len(found))
        if not any(
            differ(found[one].side, found[other].side)
            for one in range(first, last)
            for other in range(one + 1, last + 1)
        )
    ]
    return [
        [rung.code for rung in found[first : last + 1]]
        for first, last in alike
        if not any(a <= first and last <= b and (a, b) != (first, last) for a, b in alike)
    ]


@pytest.mark.parametrize("seed", range(6))
def test_groups_are_those_of_the_pairs(seed: int) -> None:
    found = rungs(seed, 24)
    assert ties_of(found) == largest_groups(found)
    assert any(len(group) > 2 for group in ties_of(found))


def test_without_flies_there_are_no_groups() -> None:
    assert ties_of([]) == []
    assert ties_of(rungs(1, 1)) == []


def test_long_and_many_groups_are_told_in_short() -> None:
    codes = [f"F{number}" for number in range(60)]
    lines = " ".join(telling.lines(Ladder(rungs(1, 1), [codes] * 22, 0, 1))).replace("\n", " ")
    assert "(k = 2): F0 to F59, with the 58 between them in the table." in lines
    assert lines.endswith("2 more such groups not named. Ask for fewer flies, or take --json.")
    assert lines.count("These cannot be told apart") == 20
