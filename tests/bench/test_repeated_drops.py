"""Drops that show the same pictures count once; drops of speeds 2, 4 or 8 times apart raise the question of the clock."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from flybench.bench.clip.orientation import Orientation
from flybench.bench.track.drop import Drop
from flybench.bench.track.repeats import shown_before
from flybench.bench.verdict.agreement import clock_factor, compared, two_clocks
from flybench.bench.verdict.result import MeasuredDrop

Floats = NDArray[np.float64]
PX = 0.3e-3
"""Size of a pixel [m]."""


def track(rng: np.random.Generator, wander: float = 0.3e-3, noise: float = 0.15) -> Floats:
    """Return 50 places of a fly that wanders smoothly [m], read to ``noise`` px, begun somewhere between two frames."""
    rough = np.convolve(rng.normal(size=70), np.ones(20) / 20**0.5, mode="valid")[:50]
    across = rng.normal(0, 0.003) + wander * rough
    down = 0.0045 * (np.arange(50) + rng.uniform())
    return np.column_stack([across, down]) + rng.normal(0, noise * PX, (50, 2))


def read_again(places: Floats, rng: np.random.Generator, noise: float = 0.05) -> Floats:
    """Return the same pictures, coded again: read a little otherwise."""
    return places + rng.normal(0, noise * PX, places.shape)


def shown(*tracks: Floats) -> list[bool]:
    """Tell of drops with these tracks which show an earlier one again."""
    drops = []
    for places in tracks:
        rows = np.arange(len(places))
        drops.append(Drop(rows, rows / 60, places, -90.0, 300.0, 0.01, 0.006, np.zeros(len(places)), False))
    return shown_before(drops, PX)


@pytest.mark.parametrize("seed", range(8))
def test_a_loop_counts_once_and_falls_of_one_fly_count_each(seed: int) -> None:
    rng = np.random.default_rng(seed)
    first, second = track(rng), track(rng)
    again, late = read_again(first, rng), read_again(second, rng)[3:]
    assert shown(first, second, again, late) == [False, False, True, True]
    assert shown(first, first.copy()) == [False, True]


@pytest.mark.parametrize("seed", range(20))
def test_falls_along_the_very_same_way_are_no_loop_as_long_as_their_pictures_differ(seed: int) -> None:
    """No fly does so; drawn clips do: the way is the same to a hundredth of a pixel, the reading noise is its own."""
    rng = np.random.default_rng(seed)
    way = np.column_stack([np.zeros(50), 0.0045 * np.arange(50)])
    assert shown(*(way + rng.normal(0, 0.1 * PX, way.shape) for _ in range(2))) == [False, False]


def drops(*speeds: float, edited: bool = False) -> list[MeasuredDrop]:
    """Return drops of these speeds [cm/s], compared."""
    made = []
    for speed in speeds:
        fit: Any = SimpleNamespace(terminal_speed=speed / 100)
        made.append(MeasuredDrop(SimpleNamespace(), fit, 0.0, 0.0, []))  # type: ignore[arg-type]
    return two_clocks(compared(made), edited)


def test_a_drop_four_times_as_fast_leaves_no_mean() -> None:
    found = drops(27.0, 6.8, 6.75)
    assert [drop.flags for drop in found] == [["stray-drop"], ["two-clocks"], ["two-clocks"]]
    assert found[0].flags_told == ["stray-drop (4 times as fast as the others)"]
    assert not any(drop.used for drop in found)


@pytest.mark.parametrize(
    ("speeds", "factor", "said"),
    [
        ((44.0, 22.0, 22.1), 2.0, "stray-drop (2 times as fast as the others)"),
        ((11.2, 22.0, 22.1), 0.5, "stray-drop (0.5 times as fast as the others)"),
    ],
)
def test_a_drop_twice_or_half_as_fast_leaves_a_doubt(
    speeds: tuple[float, ...], factor: float, said: str
) -> None:
    found = drops(*speeds)
    assert clock_factor(found) == factor
    assert [drop.used for drop in found] == [False, True, True]
    assert found[0].flags_told == [said]


@pytest.mark.parametrize("speeds", [(33.0, 22.0, 22.1), (66.0, 22.0, 22.1), (22.0, 22.1, 21.9), (22.0,), ()])
def test_other_ratios_are_no_clock(speeds: tuple[float, ...]) -> None:
    found = drops(*speeds)
    assert clock_factor(found) is None
    assert [drop.flags_told for drop in found] == [drop.flags for drop in found]


def test_in_a_clip_that_may_be_edited_any_faster_drop_is_a_question_of_the_clock() -> None:
    """Editors slow a part down by whatever they are told; a drop that was slowed itself leaves the others as they are."""
    faster = drops(27.0, 18.0, 18.1, 17.9, edited=True)
    assert clock_factor(faster, edited=True) == pytest.approx(1.5)
    assert [drop.flags_told for drop in faster] == [
        ["stray-drop (1.5 times as fast as the others)"],
        [],
        [],
        [],
    ]
    assert [drop.used for drop in drops(54.0, 18.0, 18.1, edited=True)] == [False] * 3
    slower = drops(18.0, 27.0, 27.1, edited=True)
    assert clock_factor(slower, edited=True) is None
    assert [drop.flags for drop in slower] == [["stray-drop"], [], []]


def test_a_quarter_turn_is_what_editors_do_not_leave() -> None:
    assert not Orientation(1080, 1920, 3).may_be_edited
    assert Orientation(1920, 1080).may_be_edited
    assert Orientation(1080, 1920, 2).may_be_edited
