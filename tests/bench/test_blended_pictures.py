"""Pictures that are mixtures of two, and pictures that were left out: told from pictures as filmed.

Truth: drawn here, a dark body before grey paper with noise, its edges a pixel wide; mixtures are means of two such pictures.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from followed import Seen, spot
from test_changed_speed import path_of

from flybench.bench.track.blended_pictures import blended
from flybench.bench.track.held_pictures import pictures_skipped
from flybench.bench.track.shape import shape_of
from flybench.bench.track.spotting import Spot

PAPER, FLY = 200.0, 60.0
ROWS, COLUMNS = np.mgrid[0:90, 0:40].astype(float)
Breadth = Callable[[float], float]


def picture(down: float, breadth: float) -> np.ndarray:
    """Return a body 26 px long and so many broad, so far below its usual place [px]."""
    away = np.hypot((ROWS - 45.0 - down) / 13.0, (COLUMNS - 20.0) / (breadth / 2))
    return PAPER - (PAPER - FLY) * np.clip((1.0 - away) * breadth / 2 + 0.5, 0.0, 1.0)


def seen(
    numbers: np.ndarray, step: float, breadth: Breadth = lambda _: 9.0, noise: float = 1.5
) -> list[Spot]:
    """Return what is seen of pictures with these numbers, mixtures between two; the fly moves ``step`` px a picture."""
    rng = np.random.default_rng(5)
    spots = []
    for place, number in enumerate(numbers):
        first, share = int(number), number - int(number)
        middle = step * number
        near, far = (picture(step * one - middle, breadth(one)) for one in (first, first + 1))
        shown = (1 - share) * near + share * far + rng.normal(0.0, noise, ROWS.shape)
        found = shape_of((shown - PAPER).astype(np.float32), np.full(ROWS.shape, PAPER, np.float32))
        assert found is not None
        plain = spot(place, Seen((0.0, 1.0), (0.0, 1.0), area=found.area, contrast=found.contrast))
        spots.append(Spot(**(_values(plain) | {"length": found.length, "breadth": found.breadth})))
    return spots


def _values(plain: Spot) -> dict[str, float]:
    return {name: getattr(plain, name) for name in Spot.__slots__}


@pytest.mark.parametrize("step", [6.0, 12.0, 24.0])
@pytest.mark.parametrize("pace", [0.5, 0.75, 0.4, 0.8, 1 / 3])
def test_mixtures_by_turns_are_told(pace: float, step: float) -> None:
    assert blended(seen(pace * np.arange(60), step))


@pytest.mark.parametrize("step", [6.0, 12.0, 24.0])
@pytest.mark.parametrize("noise", [1.5, 7.0])
def test_pictures_as_filmed_are_no_mixtures(step: float, noise: float) -> None:
    assert not blended(seen(np.arange(60.0), step, noise=noise))


@pytest.mark.parametrize("turns", [0.11, 0.2, 0.31, 0.44])
def test_a_fly_that_spins_about_its_length_is_no_mixture(turns: float) -> None:
    """An uneven wing shows broad and narrow, seven to 26 times a second in a clip of 60."""
    spinning = seen(np.arange(60.0), 12.0, lambda one: 9.0 + 1.2 * np.cos(2 * np.pi * turns * one))
    assert not blended(spinning)


def test_too_few_pictures_tell_nothing() -> None:
    mixed = seen(0.5 * np.arange(60), 12.0)
    assert blended(mixed)
    assert not blended(mixed[:20])


def test_steps_that_are_twice_as_long_count_as_pictures_left_out() -> None:
    even = np.arange(61) / 60.0
    for every in (4, 5, 10):
        steps = [8.0 if number % (every - 1) == every - 2 else 4.0 for number in range(60)]
        assert pictures_skipped(even, path_of(steps), 1.0) == 60 // (every - 1)
        assert pictures_skipped(even, path_of(steps) * 4e-4, 4e-4) == 60 // (every - 1)


def test_pictures_that_the_times_show_to_be_missing_are_not_counted_again() -> None:
    steps = [8.0 if number % 5 == 4 else 4.0 for number in range(60)]
    times = np.cumsum([0.0, *steps]) / 4.0 / 60.0
    assert pictures_skipped(times, path_of(steps), 1.0) == 0


def test_a_fly_that_falls_unevenly_or_hardly_moves_leaves_no_pictures_out() -> None:
    """One that gains speed, one in waves that slow it by a third, slow ones, and a single misread place."""
    gaining = list(np.linspace(0.1, 1.0, 12) * 3.0) + [3.0] * 30
    waves = list(3.0 + np.sin(np.arange(60) / 3.0))
    for steps in (gaining, waves, [0.9] * 200, [0.3] * 300, [0.0] * 60):
        assert pictures_skipped(np.arange(len(steps) + 1) / 60.0, path_of(steps), 1.0) == 0
    assert pictures_skipped(np.arange(4) / 60.0, path_of([3.0, 6.0, 3.0]), 1.0) == 0
    misread = [5.0, 1.0, 3.0, 3.0, 3.0, 3.0] * 10
    assert pictures_skipped(np.arange(61) / 60.0, path_of(misread), 1.0) == 0
