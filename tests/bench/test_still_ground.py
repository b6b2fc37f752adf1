"""Still, moved or nobody can tell, on pictures drawn from formulas whose shift is known exactly."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from flybench.bench.view.ground import FIRM, LEAST_NOISE, Shrinking, ground_of
from flybench.bench.view.registration import NO_MOTION, Registrar
from flybench.bench.view.steadiness import moved
from flybench.bench.view.still_ground import GroundVerdict, verdict_on

pytestmark = pytest.mark.slow

Floats = NDArray[np.float64]
Look = Callable[[Floats, Floats], Floats]
ROWS, COLUMNS = 640, 360
MANY_KEYS = 10
SWAY = [0.0, 3.3, 8.1, 12.4, 9.7, 2.2, -4.6, -9.3, -6.5, -1.8]
"""Shift down of each sample [px]."""


def water_line(x: Floats, y: Floats) -> Floats:
    """Return a dark line across, 2 px wide, at a height of 100 px."""
    return -70.0 * np.exp(-0.5 * ((y - 100.0) / 2.0) ** 2) + 0.0 * x


def table(x: Floats, y: Floats) -> Floats:
    """Return the edge of a darker table at a height of 540 px."""
    return -40.0 * (1.0 + np.tanh((y - 540.0) / 1.5)) + 0.0 * x


def side_edge(x: Floats, y: Floats) -> Floats:
    """Return an upright edge, which tells nothing about up and down."""
    return -30.0 * (1.0 + np.tanh((x - 60.0) / 1.5)) + 0.0 * y


def tiles(x: Floats, y: Floats) -> Floats:
    """Return a pattern that never comes again within reach: waves of three unlike lengths each way."""
    across = np.sin(x / 5.3) + np.sin(x / 8.9 + 1.0) + np.sin(x / 31.0 + 0.3)
    return 7.0 * (across + np.sin(y / 6.1) + np.sin(y / 9.7 + 2.0) + np.sin(y / 37.0 + 1.0))


def bare(x: Floats, y: Floats) -> Floats:
    return np.zeros(np.broadcast_shapes(x.shape, y.shape))


def both(x: Floats, y: Floats) -> Floats:
    return water_line(x, y) + table(x, y)


def shots(
    look: Look,
    down: list[float],
    growth: list[float] | None = None,
    light: list[float] | None = None,
    hand: bool = False,
) -> list[NDArray[np.uint8]]:
    """Return a picture for each shift down [px]: grown about the middle, lit, noisy, with a hand in every third."""
    rng = np.random.default_rng(7)
    y, x = np.mgrid[0:ROWS, 0:COLUMNS].astype(float)
    middle_x, middle_y = (COLUMNS - 1) / 2, (ROWS - 1) / 2
    pictures = []
    for number, shift in enumerate(down):
        size = 1.0 + (growth[number] if growth else 0.0)
        there_x, there_y = (x - middle_x) / size + middle_x, (y - middle_y - shift) / size + middle_y
        grey = (170.0 + look(there_x, there_y)) * (light[number] if light else 1.0)
        if hand and number % 3 == 0:
            grey[:260, 120 + 9 * number : 230 + 9 * number] = 60.0
            grey[100:110, 120 + 9 * number : 230 + 9 * number] = 140.0
        grey += rng.normal(0.0, 1.5, grey.shape)
        pictures.append(np.clip(grey + 0.5, 0, 255).astype(np.uint8))
    return pictures


def outcome(verdict: GroundVerdict) -> str:
    return "cannot tell" if not verdict.told else "moved" if verdict.moved else "still"


STILL = [0.0] * 10


@pytest.mark.parametrize("look", [water_line, table, both, tiles])
@pytest.mark.parametrize("hand", [False, True])
def test_still_pictures_are_still(look: Look, hand: bool) -> None:
    assert outcome(verdict_on(shots(look, STILL, hand=hand), 1, MANY_KEYS)) == "still"


@pytest.mark.parametrize("look", [water_line, table, both, tiles])
@pytest.mark.parametrize("hand", [False, True])
def test_sway_is_seen_and_told_to_a_seventh_of_a_pixel(look: Look, hand: bool) -> None:
    verdict = verdict_on(shots(look, SWAY, hand=hand), 1, MANY_KEYS)
    assert outcome(verdict) == "moved"
    middle = np.array([[COLUMNS / 2, ROWS / 2]])
    found = np.array([moved(middle, motion)[0, 1] - ROWS / 2 for motion in verdict.motions])
    off = np.abs(found - found[0] - SWAY)
    assert np.sort(off)[-4] < 0.14  # a hand may hide what tells in three of ten
    assert np.median(off) < 0.07


@pytest.mark.parametrize(("strength", "there"), [(1.0, True), (0.5, True), (0.15, False)])
def test_a_faint_slope_of_light_is_not_taken_for_an_edge(strength: float, there: bool) -> None:
    """Of one shape with the edge, and weaker than light that changes would leave it."""

    def faded(x: Floats, y: Floats) -> Floats:
        return strength * table(x, y)

    edge, shown = (Shrinking(1).small(shots(look, STILL[:1])[0]) for look in (table, faded))
    assert Registrar(ground_of(edge, LEAST_NOISE, FIRM)).fitted(shown, NO_MOTION).told == there


@pytest.mark.parametrize(("down", "wanted"), [(STILL, "cannot tell"), (SWAY, "moved")])
def test_a_small_picture_is_never_called_still(down: list[float], wanted: str) -> None:
    small = [np.ascontiguousarray(picture[80:560, 45:315]) for picture in shots(tiles, down)]
    verdict = verdict_on(small, 1, MANY_KEYS)
    assert outcome(verdict) == wanted
    larger = [np.ascontiguousarray(picture[80:562, 45:315]) for picture in shots(tiles, STILL)]
    assert outcome(verdict_on(larger, 1, MANY_KEYS)) == "still"


@pytest.mark.parametrize("look", [bare, side_edge])
@pytest.mark.parametrize("down", [STILL, SWAY])
def test_bare_ground_and_upright_edges_cannot_tell(look: Look, down: list[float]) -> None:
    assert outcome(verdict_on(shots(look, down), 1, MANY_KEYS)) == "cannot tell"


def faint(x: Floats, y: Floats) -> Floats:
    """Return waves of all directions, 18 to 40 px long, a grey level strong: too faint to be held on to by cells."""
    rng = np.random.default_rng(5)
    length, way, phase = rng.uniform([18.0, 0.0, 0.0], [40.0, np.pi, 2 * np.pi], (12, 3)).T
    turns = zip(np.cos(way) / length, np.sin(way) / length, phase, strict=True)
    return sum((0.3 * np.sin(2 * np.pi * (x * a + y * b) + c) for a, b, c in turns), bare(x, y))


def written(pictures: list[NDArray[np.uint8]]) -> list[NDArray[np.uint8]]:
    """Return the pictures with two lines of writing at the same place in each."""
    for picture in pictures:
        for text, height in (("FILMED BY HAND", 40), ("27-11-2026 18:04", ROWS - 20)):
            cv2.putText(picture, text, (12, height), cv2.FONT_HERSHEY_SIMPLEX, 0.9, (250.0,), 2, cv2.LINE_AA)
    return pictures


def specked(pictures: list[NDArray[np.uint8]]) -> list[NDArray[np.uint8]]:
    """Return the pictures behind eighteen soft specks that stand still."""
    rng = np.random.default_rng(3)
    y, x = np.mgrid[0:ROWS, 0:COLUMNS].astype(float)
    left = np.ones((ROWS, COLUMNS))
    for right, down in rng.uniform(0, [COLUMNS, ROWS], (18, 2)):
        left -= 0.15 * np.exp(-((x - right) ** 2 + (y - down) ** 2) / 2 / 8.0**2)
    return [(picture * left + 0.5).astype(np.uint8) for picture in pictures]


@pytest.mark.parametrize("look", [side_edge, faint])
@pytest.mark.parametrize("down", [STILL, SWAY])
def test_writing_in_the_picture_cannot_tell(look: Look, down: list[float]) -> None:
    pictures = written(shots(look, down))
    assert outcome(verdict_on(pictures, 1, MANY_KEYS)) == "cannot tell"


def test_writing_in_pictures_that_lie_on_their_side_cannot_tell() -> None:
    lying = [np.ascontiguousarray(np.rot90(picture)) for picture in written(shots(bare, SWAY))]
    assert outcome(verdict_on(lying, 0, MANY_KEYS)) == "cannot tell"


@pytest.mark.parametrize("look", [water_line, tiles])
@pytest.mark.parametrize(("down", "wanted"), [(STILL, "still"), (SWAY, "moved")])
def test_writing_does_not_hide_what_the_ground_tells(look: Look, down: list[float], wanted: str) -> None:
    assert outcome(verdict_on(written(shots(look, down)), 1, MANY_KEYS)) == wanted


@pytest.mark.parametrize(("down", "wanted"), [(STILL, "still"), (SWAY, "cannot tell")])
def test_specks_tell_only_where_the_faint_ground_agrees(down: list[float], wanted: str) -> None:
    assert outcome(verdict_on(specked(shots(faint, down)), 1, MANY_KEYS)) == wanted


@pytest.mark.parametrize("look", [water_line, both, tiles])
@pytest.mark.parametrize(("down", "wanted"), [(STILL, "still"), (SWAY, "moved")])
def test_specks_do_not_hide_what_the_ground_tells(look: Look, down: list[float], wanted: str) -> None:
    """The specks stay where they are before lines that sway: these were taken for movers, and the picture for still."""
    assert outcome(verdict_on(specked(shots(look, down)), 1, MANY_KEYS)) == wanted


@pytest.mark.parametrize("look", [both, tiles])
def test_light_that_changes_is_no_movement(look: Look) -> None:
    ramp = np.linspace(1.0, 0.7, 10).tolist()
    assert outcome(verdict_on(shots(look, STILL, light=ramp), 1, MANY_KEYS)) == "still"


@pytest.mark.parametrize("look", [both, tiles])
def test_focus_that_breathes_is_movement_although_the_middle_stays(look: Look) -> None:
    growth = (0.005 * np.sin(np.arange(10))).tolist()
    verdict = verdict_on(shots(look, STILL, growth=growth), 1, MANY_KEYS)
    assert outcome(verdict) == "moved"
    foot = np.array([[COLUMNS / 2, 540.0]])
    found = np.array([moved(foot, motion)[0, 1] - 540.0 for motion in verdict.motions])
    assert found - found[0] == pytest.approx((540.0 - (ROWS - 1) / 2) * np.array(growth), abs=0.1)


def test_one_sample_that_is_off_does_not_decide() -> None:
    off = [0.0] * 9 + [4.0]
    assert outcome(verdict_on(shots(both, off), 1, MANY_KEYS)) == "still"


@pytest.mark.parametrize(("down", "wanted"), [(STILL, "still"), (SWAY, "moved")])
def test_stored_pictures_that_lie_on_their_side(down: list[float], wanted: str) -> None:
    lying = [np.ascontiguousarray(np.rot90(picture)) for picture in shots(both, down)]
    assert outcome(verdict_on(lying, 0, MANY_KEYS)) == wanted


def test_sway_across_the_fall_alone_is_not_counted_as_movement() -> None:
    lying = [np.ascontiguousarray(picture.T) for picture in shots(tiles, SWAY)]
    assert outcome(verdict_on(lying, 1, MANY_KEYS)) == "still"
