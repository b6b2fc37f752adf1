"""The scale card: where its squares, tags, lane and bar lie, in metres.

The card carries two strips of checker squares; the white squares hold open fiducial tags (ChArUco,
4x4 bits), and a clear white lane for the fly lies between the strips. Only the inner corners of the
checker squares are measured: corners of a lone tag are pulled inwards by blur and bias the scale by
0.2 to 2 %, corners of a checker are not.

Coordinates: metres, x to the right and y downwards, from the top left corner of the left strip.
Letter paper only leaves off the lowest row, so a clip never needs to say which paper was used.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

SQUARE = 0.015
"""Side of a checker square [m]."""
TAG = 0.01125
"""Side of a tag, its black border included [m]."""
COLUMNS = 3
"""Squares across a strip [-]: two columns of inner corners, and a lane left between the strips on A4."""
ROWS = {"a4": 16, "letter": 15}
"""Squares down a strip [-]: as many as fit on the paper beside the bar, the words and a printer's margins."""
LANE = 0.070
"""Width of the clear lane between the strips [m]."""
BAR = 0.100
"""Length of the bar to check with a ruler [m]."""
PAPER = {"a4": (0.210, 0.297), "letter": (0.2159, 0.2794)}
"""Paper width and height [m]: ISO 216 A4 and ANSI/ASME Y14.1 Letter."""
TAG_BITS = 4
"""Bits along a side of a tag [-]: the fewest, hence the largest on a given square."""
_IDS_PER_STRIP = ROWS["a4"] * COLUMNS // 2
"""Tags on a strip [-]: every other square is white and holds one."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Square:
    """One square of a strip: its corner and side [m]; ``bits`` is the tag, True where black."""

    x: float
    y: float
    side: float
    black: bool
    tag_id: int | None = None
    bits: tuple[tuple[bool, ...], ...] = ()


def strip_offset(strip: int) -> float:
    """Return the x of the left edge of strip 0 (left) or 1 (right) [m]."""
    return strip * (COLUMNS * SQUARE + LANE)


def width() -> float:
    """Return the width of both strips and the lane [m]."""
    return strip_offset(1) + COLUMNS * SQUARE


def dictionary() -> cv2.aruco.Dictionary:
    """Return the tag dictionary: the ids the card uses and no more, which keeps finding them quick."""
    full = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    used = full.bytesList[: 2 * _IDS_PER_STRIP]
    return cv2.aruco.Dictionary(used, full.markerSize, full.maxCorrectionBits)


def board(strip: int) -> cv2.aruco.CharucoBoard:
    """Return the finder's description of one strip (tall as on A4)."""
    ids = np.arange(strip * _IDS_PER_STRIP, (strip + 1) * _IDS_PER_STRIP)
    return cv2.aruco.CharucoBoard((COLUMNS, ROWS["a4"]), SQUARE, TAG, dictionary(), ids)


def corners(strip: int) -> Floats:
    """Return the inner corners of a strip in the finder's order, shape (30, 2) [m]."""
    grid = np.asarray(board(strip).getChessboardCorners(), dtype=float).reshape(-1, 3)[:, :2]
    return np.asarray(grid + np.array([strip_offset(strip), 0.0]))


def squares(paper: str) -> list[Square]:
    """Return every square of both strips for one paper ("a4" or "letter")."""
    found = []
    for strip in (0, 1):
        tag_id = strip * _IDS_PER_STRIP
        for row in range(ROWS[paper]):
            for column in range(COLUMNS):
                x, y = strip_offset(strip) + column * SQUARE, row * SQUARE
                black = (row + column) % 2 == 0
                found.append(Square(x, y, SQUARE, black, *(() if black else _tag(tag_id))))
                tag_id += not black
    return found


def _tag(tag_id: int) -> tuple[int, tuple[tuple[bool, ...], ...]]:
    """Return the id and its black modules, border included: (TAG_BITS + 2) squared."""
    side = TAG_BITS + 2
    picture = cv2.aruco.generateImageMarker(dictionary(), tag_id, side, borderBits=1)
    return tag_id, tuple(tuple(bool(dot == 0) for dot in line) for line in picture)
