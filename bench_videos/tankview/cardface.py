"""The printed card as a picture, and where its plane stands in the water."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.view import card as drawing
from tankview.scene import CardSetting

Floats = NDArray[np.float64]
DOTS = 20_000.0
"""Raster dots per metre of card."""
COVER = 96.0
"""Grey level of whatever hides a part of the card."""


def face(setting: CardSetting) -> NDArray[np.float32]:
    """Return the raster of the card in grey levels; dot edges start at minus the margin."""
    high = height(setting)
    grey = setting.white + _ink(setting.paper, setting.margin) * np.float32(setting.black - setting.white)
    if setting.hidden is not None:
        left, top, right, bottom = setting.hidden
        rows = slice(*_dots(setting.margin, top * high, bottom * high))
        columns = slice(*_dots(setting.margin, left * drawing.width(), right * drawing.width()))
        grey[rows, columns] = COVER
    return grey


@lru_cache(maxsize=1)
def _ink(paper: str, margin: float) -> NDArray[np.float32]:
    """Return the share of each dot that is printed black, kept for the next scene; nobody may write to it."""
    shape = [round((side + 2 * margin) * DOTS) for side in (_height(paper), drawing.width())]
    ink = np.zeros(shape, dtype=np.float32)
    for square in _squares(paper):
        if square.black:
            _fill(ink, margin, square.x, square.y, square.side, 1.0)
            continue
        module = drawing.TAG / len(square.bits)
        rim = (square.side - drawing.TAG) / 2
        for row, line in enumerate(square.bits):
            for column, black in enumerate(line):
                if black:
                    x, y = square.x + rim + column * module, square.y + rim + row * module
                    _fill(ink, margin, x, y, module, 1.0)
    return ink


def height(setting: CardSetting) -> float:
    """Return the height of the squares [m]."""
    return _height(setting.paper)


@lru_cache
def _height(paper: str) -> float:
    return max(square.y + square.side for square in _squares(paper))


@lru_cache
def _squares(paper: str) -> tuple[drawing.Square, ...]:
    return tuple(drawing.squares(paper))


def _dots(margin: float, start: float, stop: float) -> tuple[int, int]:
    return max(round((start + margin) * DOTS), 0), round((stop + margin) * DOTS)


def _fill(ink: NDArray[np.float32], margin: float, x: float, y: float, side: float, amount: float) -> None:
    """Add a square by the exact share of each dot it covers."""
    columns, across = _shares((x + margin) * DOTS, (x + margin + side) * DOTS)
    rows, down = _shares((y + margin) * DOTS, (y + margin + side) * DOTS)
    ink[rows, columns] += np.float32(amount) * np.outer(down, across)


def _shares(start: float, stop: float) -> tuple[slice, NDArray[np.float32]]:
    first, last = int(np.floor(start + 1e-9)), int(np.ceil(stop - 1e-9))
    dots = np.arange(first, last)
    share = np.minimum(stop, dots + 1) - np.maximum(start, dots)
    return slice(first, last), share.astype(np.float32)


@dataclass(frozen=True)
class Plane:
    """The plane of the card in the water: a point and two axes, card metres to tank metres."""

    middle: Floats
    right: Floats
    down: Floats
    half: Floats
    """Half the width and height of the squares [m]."""

    def place(self, points: Floats) -> Floats:
        """Return the tank position (x, y, depth) of card points (n, 2)."""
        aside = np.asarray(points, dtype=float).reshape(-1, 2) - self.half
        return self.middle + aside @ np.array([self.right, self.down])

    def meet(self, entry: Floats, growth: Floats) -> Floats:
        """Return the card points (n, 2) that traced rays meet."""
        normal = np.cross(self.right, self.down)
        ahead = self.middle @ normal - entry @ normal[:2]
        depth = ahead / (growth @ normal[:2] + normal[2])
        spot = np.column_stack([entry + growth * depth[:, None], depth]) - self.middle
        size = self.right @ self.right
        return spot @ np.array([self.right, self.down]).T / size + self.half


def plane(setting: CardSetting, fall_plane: float, moved: bool = False) -> Plane:
    """Return the card's plane, before or after it slips."""
    lean, roll = np.radians([setting.lean_deg, setting.roll_deg + 180 * setting.upside_down])
    across, along = np.array([1.0, 0, 0]), np.array([0, np.cos(lean), np.sin(lean)])
    right = np.cos(roll) * across + np.sin(roll) * along
    down = -np.sin(roll) * across + np.cos(roll) * along
    half = np.array([drawing.width(), height(setting)]) / 2
    shift = np.array(setting.offset) + (setting.move if moved else (0.0, 0.0))
    middle = np.array([shift[0], half[1] + shift[1], fall_plane + setting.gap])
    return Plane(middle, right * setting.print_scale, down * setting.print_scale, half)


def softened(setting: CardSetting, blur_px: float, px_per_m: float) -> NDArray[np.float32]:
    """Return the card's raster blurred as lens and pixel will: point spread and the pixel's own width.

    Drawn once for scenes that differ in other things; nobody may write to it.
    """
    print_ = CardSetting(
        paper=setting.paper,
        margin=setting.margin,
        hidden=setting.hidden,
        white=setting.white,
        black=setting.black,
    )
    return _softened(print_, np.hypot(blur_px, 1 / np.sqrt(12)) / px_per_m * DOTS)


@lru_cache(maxsize=2)
def _softened(print_: CardSetting, spread: float) -> NDArray[np.float32]:
    return np.asarray(cv2.GaussianBlur(face(print_), (0, 0), spread), dtype=np.float32)
