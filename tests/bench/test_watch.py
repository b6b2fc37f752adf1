"""Whether a clip shows one picture from first to last, on pictures drawn from formulas of known size and place."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray
from test_still_ground import (
    COLUMNS,
    MANY_KEYS,
    ROWS,
    STILL,
    Look,
    bare,
    both,
    shots,
    table,
    tiles,
    water_line,
)

from flybench.bench.view.backdrop import backdrop_of
from flybench.bench.view.watch import CHECKS, Watch, watch_of

pytestmark = pytest.mark.slow

Floats = NDArray[np.float64]
Shots = Sequence[NDArray[np.uint8]]
TIMES = np.arange(600) / 60


def watch(pictures: Shots, by_points: bool = True) -> Watch:
    """Return the watch of a clip of which most samples are these pictures."""
    return watch_of(pictures, backdrop_of(pictures), MANY_KEYS, TIMES, by_points)


def said(pictures: Shots, by_points: bool = True) -> list[str]:
    """Return the flags of a still clip of these pictures."""
    made = watch(pictures, by_points)
    for picture in pictures:
        made.look(picture)
    return made.flags()


def sizes(*growth: float) -> list[float]:
    """Return the growth of ten pictures, the first ones grown by so much."""
    return [*growth, *STILL[len(growth) :]]


@pytest.mark.parametrize("look", [water_line, table, both, tiles, bare])
@pytest.mark.parametrize("hand", [False, True])
def test_one_picture_all_along_is_none_but_itself(look: Look, hand: bool) -> None:
    assert said(shots(look, STILL, hand=hand)) == []


@pytest.mark.parametrize("look", [both, tiles])
@pytest.mark.parametrize("growth", [(0.07,), (-0.05, -0.05), (0.09, 0.04)])
def test_a_picture_that_was_larger_or_smaller_at_first_is_told(look: Look, growth: tuple[float, ...]) -> None:
    assert said(shots(look, STILL, growth=sizes(*growth))) == ["picture-changed"]


def test_a_picture_that_is_larger_later_on_is_told_from_two_frames_on() -> None:
    assert said(shots(both, STILL, growth=sizes(0.07, 0.07)[::-1])) == ["picture-changed"]
    assert said(shots(both, STILL, growth=sizes(0.07)[::-1])) == []


def test_a_picture_that_jumped_is_told_and_one_line_leaves_its_size_open() -> None:
    down = [24.0, 24.0, *STILL[2:]]
    assert said(shots(tiles, down)) == ["card-moved"]
    assert said(shots(table, down)) == ["card-moved", "size-unwatched"]
    assert said(shots(table, down), by_points=False) == ["card-moved"]


def test_another_room_is_told_and_a_hand_that_comes_close_is_not() -> None:
    pictures = shots(tiles, STILL)
    other = [np.ascontiguousarray(picture[::-1, ::-1]) for picture in pictures[:3]]
    assert said([*other, *pictures[3:]]) == ["picture-changed"]
    dark = [np.full((ROWS, COLUMNS), 60, np.uint8)] * 3
    assert said([*dark, *pictures[3:]]) == []


@pytest.mark.parametrize(
    ("growth", "by_points", "wanted"),
    [
        (0.004 * np.sin(np.arange(40)), True, []),
        (0.02 * np.sin(np.arange(40)), True, ["picture-changed"]),
        (0.02 * np.sin(np.arange(40)), False, []),
        (np.repeat([0.0, 0.006], 20), True, ["picture-changed"]),
        (np.repeat([0.0, 0.004], 20), True, []),
        (np.repeat([0.006, 0.0], [1, 39]), True, ["picture-changed"]),
    ],
)
def test_a_picture_that_is_followed_may_grow_and_shrink_a_little(
    growth: Floats, by_points: bool, wanted: list[str]
) -> None:
    """Half a per cent in one step, or 2 % over the whole clip; a card is followed in size as well."""
    made = watch(shots(tiles, STILL), by_points)
    for one in growth:
        made.follow(
            np.zeros((ROWS, COLUMNS), np.uint8), np.column_stack([(1 + one) * np.eye(2), np.zeros(2)])
        )
    assert made.flags() == wanted


def test_some_forty_frames_are_looked_at_and_two_a_second_of_a_long_clip() -> None:
    pictures, backdrop = shots(bare, STILL), backdrop_of(shots(bare, STILL))
    for seconds, wanted in ((0.5, 30), (5, CHECKS), (60, 150)):
        times = np.arange(round(60 * seconds)) / 60
        made = watch_of(pictures, backdrop, MANY_KEYS, times, True)
        assert sum(made.wants(index) for index in range(len(times))) == pytest.approx(wanted, abs=4)
