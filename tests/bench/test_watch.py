"""Whether a clip shows one picture from first to last, on pictures drawn from formulas of known size and place."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
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
CHANGED = ["picture-changed"]


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


def test_a_first_picture_with_little_in_it_and_nothing_of_the_clip_is_another_one() -> None:
    """As when the phone still comes down onto its stand, and mostly the plain wall behind the tank is in view."""
    pictures = shots(tiles, STILL)
    wall = np.full((ROWS, COLUMNS), 120, np.uint8)
    wall[: ROWS // 12] = pictures[0][-(ROWS // 12) :]
    assert said([wall, *pictures[1:]]) == ["picture-changed"]
    assert said([wall, *pictures[1:]], by_points=False) == []


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


def shown(picture: NDArray[np.uint8], size: float, down: float, turn: float = 0.0) -> NDArray[np.uint8]:
    """Return a picture larger about its middle, turned [degrees] and moved down [px]."""
    matrix = cv2.getRotationMatrix2D(((COLUMNS - 1) / 2, (ROWS - 1) / 2), turn, size)
    matrix[1, 2] += down
    how = {"flags": cv2.INTER_CUBIC, "borderMode": cv2.BORDER_REFLECT}
    return np.asarray(cv2.warpAffine(picture, matrix, (COLUMNS, ROWS), **how), np.uint8)


@pytest.mark.parametrize("by_points", [False, True])
def test_a_phone_that_is_carried_away_at_the_end_leaves_the_rest_sound(by_points: bool) -> None:
    pictures = shots(tiles, STILL)
    carried = [shown(pictures[0], 1 + 0.02 * n, -15.0 * n, 3.0 * n) for n in (1, 2, 3)]
    made = watch(pictures, by_points)
    for picture in [*pictures, *carried]:
        made.look(picture)
    assert made.flags() == ["picture-left"]
    first_left_out = (len(pictures) - 2) * made.every
    assert [made.sound(index) for index in (0, first_left_out - 1, first_left_out)] == [True, True, False]


def test_a_phone_that_is_put_on_its_stand_first_leaves_no_scale_to_points() -> None:
    pictures = shots(tiles, STILL)
    carried = [shown(pictures[0], 1 + 0.02 * n, -15.0 * n, 3.0 * n) for n in (3, 2, 1)]
    assert said([*carried, *pictures], by_points=False) == ["picture-left"]
    assert said([*carried, *pictures]) == ["picture-changed"]


def test_a_picture_that_is_hidden_and_comes_back_leaves_the_rest_sound() -> None:
    pictures = shots(tiles, STILL)
    other = [np.ascontiguousarray(picture[::-1, ::-1]) for picture in pictures[:3]]
    made = watch(pictures)
    for picture in [*pictures[:5], *other, *pictures[5:]]:
        made.look(picture)
    assert made.flags() == ["picture-hidden"]
    assert [made.sound(looked * made.every) for looked in (3, 4, 8, 9)] == [True, False, False, True]


@pytest.mark.parametrize(
    ("looks", "size", "wanted"), [(2, 0.012, []), (2, 0.03, CHANGED), (4, 0.012, CHANGED)]
)
def test_a_focus_that_breathes_is_told_and_a_zoom_is_refused(
    looks: int, size: float, wanted: list[str]
) -> None:
    """A look every quarter of a second: the focus comes back within 0.8 s and changes the size by less than 2 %."""
    pictures = shots(tiles, STILL)
    made = watch(pictures)
    for picture in [*pictures[:5], *[shown(pictures[0], 1 + size, 0.0)] * looks, *pictures[5:]]:
        made.look(picture)
    assert made.flags() == wanted
    assert [(one.first, one.last) for one in made.seen.breaths] == (
        [] if wanted else [(4 * made.every, 7 * made.every)]
    )
    assert [one.growth for one in made.seen.breaths] == ([] if wanted else [pytest.approx(size, rel=0.05)])


def followed(sizes: Floats) -> Watch:
    """Return the watch over a moving clip, of which each frame is looked at."""
    made = watch(shots(tiles, STILL))
    made.every, made.apart = 1, 1 / 60
    for one in sizes:
        motion = np.column_stack([(1 + one) * np.eye(2), np.zeros(2)])
        made.begin(motion)
        made.follow(np.zeros((ROWS, COLUMNS), np.uint8), motion)
    return made


def test_a_focus_that_settles_is_told_apart_from_a_zoom_that_jumps_back() -> None:
    """Points are read off the first picture, so that its growth stays open over the whole clip."""
    settled = followed(0.012 * np.exp(-np.arange(300) / 9)).seen
    assert settled.flags == set()
    assert [(one.first, one.last, round(one.growth, 4)) for one in settled.breaths] == [(0, 300, 0.0119)]
    assert followed(np.repeat([0.012, 0.0], [12, 288])).flags() == CHANGED


def test_a_hand_that_carries_the_phone_away_leaves_the_rest_sound_and_a_zoom_does_not() -> None:
    away = np.concatenate([np.zeros(40), 0.01 * np.arange(1, 6)])
    assert followed(away).flags() == ["picture-left"]
    assert [followed(away).sound(index) for index in (37, 38, 44)] == [True, False, False]
    assert followed(np.repeat([0.0, 0.05], [40, 5])).flags() == CHANGED
