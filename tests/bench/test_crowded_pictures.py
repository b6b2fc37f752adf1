"""A fly among more moving things than are looked at: pieces of people behind the tank, each of them larger than the fly."""

from __future__ import annotations

import numpy as np

from flybench.bench.clip.footage import Frame
from flybench.bench.clip.orientation import Orientation
from flybench.bench.track.spotting import MOST_SPOTS, Spotter
from flybench.bench.view.backdrop import Backdrop

ROWS, COLUMNS = 640, 360
GROUND, DARK = 180, 60
COLUMN = 300
"""Where the fly falls, right of the people [px]."""


def spotted(fall_from: int, frames: int = 60) -> list[bool]:
    """Return in which pictures a fly was seen that falls from a picture on, beside stripes that come and go at one place."""
    ground = np.full((ROWS, COLUMNS), GROUND, np.uint8)
    spotter = Spotter(Backdrop(ground, np.ones_like(ground)), Orientation(ROWS, COLUMNS))
    rng = np.random.default_rng(1)
    seen = []
    for number in range(frames):
        picture = ground.copy()
        for stripe in range(MOST_SPOTS + 6):
            top = 20 + 32 * stripe
            left = 20 + int(rng.integers(0, 30))
            picture[top : top + 18, left : left + 60] = DARK
        if number >= fall_from:
            top = 10 + 10 * (number - fall_from)
            picture[top : top + 16, COLUMN : COLUMN + 6] = DARK
        spots = spotter.spots(Frame(number, number / 60, picture, 0), None)
        assert len(spots) <= MOST_SPOTS
        seen.append(any(abs(spot.x - COLUMN - 2.5) < 1.0 for spot in spots))
    return seen


def test_a_fly_is_seen_beside_more_and_larger_pieces_of_people() -> None:
    """The pieces have eleven times its area, so that it would never be among the largest."""
    seen = spotted(fall_from=10)
    assert not any(seen[:10])
    assert all(seen[10:])
