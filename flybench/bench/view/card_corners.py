"""Finding the card's corners in a picture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.view import card

Floats = NDArray[np.float64]

_PER_STRIP = 30
"""Inner corners of a strip [-]: 15 rows of 2, for 16 by 3 squares."""


@dataclass(frozen=True)
class CardCorners:
    """Corners seen: pixels (n, 2) upright, their places on the card (n, 2) [m], and their numbers (n,)."""

    pixels: Floats
    places: Floats
    numbers: NDArray[np.int64]

    @property
    def turn(self) -> complex:
        """Return how the card stands in the picture: its size [px/m] times exp(i roll), roll clockwise as seen."""
        z = (self.pixels - self.pixels.mean(axis=0)) @ np.array([1.0, 1.0j])
        w = (self.places - self.places.mean(axis=0)) @ np.array([1.0, 1.0j])
        return complex(np.vdot(w, z) / np.vdot(w, w).real)

    @property
    def upside_down(self) -> bool:
        """Tell whether the card's downward direction points up in the picture."""
        return self.turn.real < 0


def find_corners(picture: NDArray[np.uint8]) -> CardCorners:
    """Find the checker corners of both strips in an upright grey picture; perhaps none."""
    finder = cv2.aruco.ArucoDetector(card.dictionary(), _tag_options(picture))
    tags, ids, _ = finder.detectMarkers(picture)
    if ids is None or len(ids) < 2:
        return _none()
    pixels, numbers = [], []
    for strip in (0, 1):
        found, index = _strip(picture, strip, tags, ids)
        pixels.append(found)
        numbers.append(index + strip * _PER_STRIP)
    number = np.concatenate(numbers)
    places = np.concatenate([card.corners(0), card.corners(1)])[number]
    return CardCorners(np.concatenate(pixels), places, number)


def refine_corners(picture: NDArray[np.uint8], corners: CardCorners) -> Floats:
    """Return the corners' positions in another picture of the same view, found from where they were."""
    start = corners.pixels.astype(np.float32).reshape(-1, 1, 2)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 40, 0.001)
    half = _window(corners)
    moved = cv2.cornerSubPix(picture, start.copy(), (half, half), (-1, -1), stop)
    return np.asarray(moved, dtype=float).reshape(-1, 2)


def _window(corners: CardCorners) -> int:
    """Return half the search window: a quarter of a square, at least 2 px, at most 9."""
    return int(np.clip(abs(corners.turn) * card.SQUARE / 4.0, 2, 9))


def _tag_options(picture: NDArray[np.uint8]) -> cv2.aruco.DetectorParameters:
    options = cv2.aruco.DetectorParameters()
    options.minMarkerPerimeterRate = 40.0 / max(picture.shape)
    options.adaptiveThreshWinSizeMax = 33
    return options


def _strip(picture: NDArray[np.uint8], strip: int, tags: Any, ids: Any) -> tuple[Floats, NDArray[np.int64]]:
    """Return the corners of one strip and their numbers on it."""
    board = card.board(strip)
    mine = np.isin(np.ravel(ids), np.ravel(board.getIds()))
    if mine.sum() < 2:
        return np.empty((0, 2)), np.empty(0, dtype=np.int64)
    own_tags = [tag for tag, keep in zip(tags, mine, strict=True) if keep]
    own_ids = np.asarray(ids).reshape(-1, 1)[mine].astype(np.int32)
    found, index, _, _ = cv2.aruco.CharucoDetector(board).detectBoard(
        picture, markerCorners=own_tags, markerIds=own_ids
    )
    if index is None:
        return np.empty((0, 2)), np.empty(0, dtype=np.int64)
    return np.asarray(found, dtype=float).reshape(-1, 2), np.asarray(index).ravel().astype(np.int64)


def _none() -> CardCorners:
    return CardCorners(np.empty((0, 2)), np.empty((0, 2)), np.empty(0, dtype=np.int64))
