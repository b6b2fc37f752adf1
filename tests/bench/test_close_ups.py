"""Close-ups: cut where the spot is, whatever the turn; the sharp one taken; never more kept than there is room for."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from flybench.bench.clip.footage import Frame
from flybench.bench.clip.orientation import Orientation
from flybench.bench.track import close_ups
from flybench.bench.track.close_ups import Album
from flybench.bench.track.spotting import Spot

ROWS, COLUMNS = 120, 200


def spot(frame: int, x: float, y: float, length: float = 16.0, *, at_edge: bool = False) -> Spot:
    return Spot(frame, frame / 60, x, y, 50.0, -80.0, length, 4.0, 0.0, at_edge, 200.0, 0.01, 0.5)


def picture(place: tuple[int, int], blur: float = 0.0, ground: float = 200.0) -> np.ndarray:
    """Return a stored frame with a dark upright bar at a stored place (x, y)."""
    canvas = np.full((ROWS, COLUMNS), ground, np.float32)
    x, y = place
    canvas[y - 8 : y + 9, x - 1 : x + 2] = 40.0
    return np.asarray(cv2.GaussianBlur(canvas, (0, 0), blur) if blur else canvas).astype(np.uint8)


@pytest.mark.parametrize("turns", [0, 1, 2, 3])
def test_the_thing_stands_in_the_middle_upright(turns: int) -> None:
    orientation = Orientation(ROWS, COLUMNS, turns)
    stored = np.array([[70.0, 50.0]])
    x, y = orientation.upright(stored)[0]
    album = Album(orientation)
    album.keep(Frame(0, 0.0, picture((70, 50)), 0), [spot(0, x, y)], None)
    found = album.sharpest([spot(0, x, y)], [0])
    assert found is not None and found.step == 1.0
    assert found.picture.shape == (33, 33)
    ys, xs = np.nonzero(found.picture < 100)
    assert (xs.mean(), ys.mean()) == pytest.approx((16, 16), abs=0.6)
    long_side = (np.ptp(ys), np.ptp(xs)) if turns % 2 == 0 else (np.ptp(xs), np.ptp(ys))
    assert long_side == (16, 2)


def test_a_moved_camera_is_followed() -> None:
    album = Album(Orientation(ROWS, COLUMNS))
    shift = np.array([[1.0, 0.0, 9.0], [0.0, 1.0, -5.0]])
    album.keep(Frame(0, 0.0, picture((79, 45)), 0), [spot(0, 70, 50)], shift)
    found = album.sharpest([spot(0, 70, 50)], [0])
    assert found is not None
    ys, xs = np.nonzero(found.picture < 100)
    assert (xs.mean(), ys.mean()) == (16, 16)


def test_the_sharpest_of_those_that_fell_is_taken() -> None:
    """Sharper still are a frame that is not part of the fall, and one before the edge of a card."""
    album, spots = Album(Orientation(ROWS, COLUMNS)), []
    for index, blur in enumerate([2.0, 1.5, 0.8, 1.2, 0.0, 0.4]):
        frame = picture((70, 50), blur)
        if index == 5:
            frame[:, :62] = 20
        spots.append(spot(index, 70, 50))
        album.keep(Frame(index, index / 60, frame, 0), spots[-1:], None)
    best = album.sharpest(spots, [0, 1, 2, 3, 5])
    assert best is not None and (best.picture == album.kept[2][0].picture).all()


def test_hands_and_what_the_border_cuts_are_not_kept() -> None:
    album = Album(Orientation(ROWS, COLUMNS))
    spots = [spot(0, 70, 50, at_edge=True), spot(0, 5, 50), spot(0, 70, 50, length=60.0)]
    album.keep(Frame(0, 0.0, picture((70, 50)), 0), spots, None)
    assert album.kept == {0: {}}
    assert album.sharpest(spots, [0, 1, 2]) is None
    assert album.sharpest([], []) is None


def test_three_plainest_spots_of_a_frame() -> None:
    album = Album(Orientation(ROWS, COLUMNS))
    areas = [30.0, 90.0, 10.0, 60.0, 70.0]
    spots = [replace(spot(0, 70, 50), area=area) for area in areas]
    album.keep(Frame(0, 0.0, picture((70, 50)), 0), spots, None)
    assert set(album.kept[0]) == {1, 3, 4}


def test_room_is_limited_and_what_stays_is_spread_evenly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(close_ups, "_MOST_BYTES", 20 * 33 * 33)
    album = Album(Orientation(ROWS, COLUMNS))
    for index in range(100):
        album.keep(Frame(index, index / 60, picture((70, 50)), 0), [spot(index, 70, 50)], None)
    assert album.bytes <= 20 * 33 * 33
    assert list(album.kept) == list(range(0, 100, 8))


def test_ten_bits_become_eight() -> None:
    album = Album(Orientation(ROWS, COLUMNS))
    album.keep(Frame(0, 0.0, picture((70, 50)).astype(np.uint16) * 4, 2), [spot(0, 70, 50)], None)
    found = album.sharpest([spot(0, 70, 50)], [0])
    assert found is not None and found.picture.dtype == np.uint8
    assert (found.picture.min(), found.picture.max()) == (40, 200)
