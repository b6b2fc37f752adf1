"""Drops compared: which are left out of a mean, and when there is no mean; expected outcomes by hand."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from flybench.bench.verdict.agreement import compared
from flybench.bench.verdict.result import MeasuredDrop


def drops(*speeds: float, doubt: float = 0.0) -> list[MeasuredDrop]:
    """Return drops of these speeds [cm/s], each known to ``doubt`` of its speed [-]."""
    made = []
    for speed in speeds:
        fit: Any = SimpleNamespace(terminal_speed=speed / 100)
        made.append(MeasuredDrop(SimpleNamespace(), fit, doubt * speed / 100, 0.0, []))  # type: ignore[arg-type]
    return made


@pytest.mark.parametrize(
    ("speeds", "stray", "odd"),
    [
        ((22.0, 22.1, 21.9), [], []),
        ((171.0, 22.0, 22.0, 22.0), [0], []),
        ((22.0, 3.0, 22.2, 21.8, 175.0), [1, 4], []),
        ((30.0, 30.2, 24.9), [2], []),
        ((22.0, 22.1, 22.0, 22.2, 11.0, 13.0), [4, 5], []),
        ((30.0, 30.2, 27.0), [], [2]),
        ((30.0, 30.2, 29.0), [], []),
        ((20.0, 22.0, 24.0, 26.0, 28.0), [], [0, 1, 3, 4]),
        ((30.0, 34.0), [], []),
        ((30.0,), [], []),
        ((), [], []),
    ],
)
def test_one_far_from_agreeing_ones_is_left_out(
    speeds: tuple[float, ...], stray: list[int], odd: list[int]
) -> None:
    """Far is more than a fifth from the middle one, odd more than 6 %."""
    found = compared(drops(*speeds))
    assert [i for i, drop in enumerate(found) if drop.flags == ["stray-drop"]] == stray
    assert [i for i, drop in enumerate(found) if drop.flags == ["odd-drop"]] == odd
    assert sum(len(drop.flags) for drop in found) == len(stray) + len(odd)
    assert [i for i, drop in enumerate(found) if not drop.used] == stray


@pytest.mark.parametrize(
    "speeds",
    [
        (171.0, 22.0),
        (22.0, 22.0, 171.0, 171.0),
        (10.0, 20.0, 40.0),
        (20.0, 24.0, 40.0, 41.0),
        (30.0, 36.5),
        (27.0, 27.1, 9.0, 9.1, 9.0),
        (18.0, 18.0, 18.0, 18.1, 27.0, 27.1),
    ],
)
def test_where_no_majority_agrees_there_is_no_mean(speeds: tuple[float, ...]) -> None:
    found = compared(drops(*speeds))
    assert all(drop.flags == ["no-common-speed"] and not drop.used for drop in found)


def test_a_doubtful_drop_may_differ_more() -> None:
    """Three times its own 10 % are added to the fifth."""
    assert all(drop.used for drop in compared(drops(30.0, 40.0, doubt=0.1)))
    assert not any(drop.used for drop in compared(drops(30.0, 40.0, doubt=0.03)))


def test_drops_that_are_refused_anyway_are_not_asked() -> None:
    made = drops(30.0, 30.1, 29.9, 171.0)
    made[3].flags.append("poor-fit")
    assert [drop.flags for drop in compared(made)] == [[], [], [], ["poor-fit"]]
