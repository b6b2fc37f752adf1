"""What stands still in a picture and can be held on to: small cells with an edge, a line or a corner in them.

Each cell gives one reading for every direction in which its grey levels change: a water line or a table's edge
only up and down, a corner both ways. Bare ground gives none.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Picture = NDArray[Any]

WORKED_ON = 480
"""Longer side of the small picture that is worked on [px], about: a full picture's noise is then averaged out, and a reading
of 0.03 px is still a ten-thousandth of the picture (judgement)."""
CELL = 12
"""Side of a cell [px of the small picture]: wide enough for a blurred line, small beside a hand (judgement)."""
ZONES = (8, 6)
"""Zones along the longer and the shorter side of the picture, each of which has one vote [-] (judgement)."""
LEAST_NOISE = 0.8
"""Least noise that is believed [grey levels]: encoders carry one frame's noise along to the next, so that the difference
of two frames may show none (judgement)."""
_BLUR = 0.8
"""Standard deviation of the blur before reading [px of the small picture]: straightens edges for readings between pixels."""
FIRM = 16.0
"""Least strength of a reading, root sum square of the slopes in its cell, where samples share one key frame [grey levels]:
what the encoder carries along of a key frame's noise has some 4 (judgement)."""
FAINT = 5.0
"""The same where samples have key frames of their own, so that noise that does not come again is told from a faint ground."""
FAINT_MIDDLE = 3.0
"""The same in the middle value of ten samples, which has less than half their noise: that of bare ground is some 2."""
_ALONG = 0.15
"""Least strength along an edge over that across it for it to count as a corner [-]: encoders leave some ringing along edges
(judgement)."""
_READING = 0.03
"""Error of a reading besides the noise: shapes between pixels, the encoder [px of the small picture] (judgement)."""
_PER_ZONE = 5
"""Most cells taken in a zone [-]: more of the same cost time and tell little (judgement)."""
_RIM = 6
"""Margin of the picture in which no cell is taken [px of the small picture]: blur and encoder spoil the very edge."""


@dataclass(frozen=True)
class Shrinking:
    """How a full picture becomes the small one that is worked on."""

    step: int

    @classmethod
    def of(cls, shape: tuple[int, ...]) -> Shrinking:
        """Return the whole step that brings a picture's longer side to about WORKED_ON."""
        return cls(max(round(max(shape) / WORKED_ON), 1))

    def small(self, picture: Picture) -> Picture:
        """Return a full picture small and a little blurred, in grey levels as float32."""
        size = (picture.shape[1] // self.step, picture.shape[0] // self.step)
        small = picture if self.step == 1 else cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
        return np.asarray(cv2.GaussianBlur(small.astype(np.float32), (0, 0), _BLUR))


@dataclass(frozen=True)
class Ground:
    """The cells of one small reference picture, and the one-way readings that they give."""

    shape: tuple[int, int]
    corners: Whole
    """Left and top of each cell (cells, 2) [px of the small picture]."""
    zones: Whole
    """Zone of each cell (cells,)."""
    strength: Floats
    """Sum of the squared slopes in each cell along its steepest direction (cells,) [square grey levels]."""
    cell: Whole
    """Cell of each reading (readings,)."""
    direction: Floats
    """Direction of each reading, x and y (readings, 2)."""
    kernel: Picture
    """What a cell's pixels are multiplied with to give the shift along it (readings, pixels) [px per grey level]."""
    error: Floats
    """Standard uncertainty of each reading [px of the small picture]."""
    looks: Picture
    """Grey levels of each cell about their mean, scaled to length one (cells, pixels)."""
    contrast: Floats
    """Length that they had before (cells,) [grey levels]."""

    def kept(self, cells: NDArray[np.bool_]) -> Ground:
        """Return the ground with only some of its cells."""
        number = np.cumsum(cells) - 1
        readings = cells[self.cell]
        return Ground(
            self.shape,
            self.corners[cells],
            self.zones[cells],
            self.strength[cells],
            number[self.cell[readings]],
            self.direction[readings],
            self.kernel[readings],
            self.error[readings],
            self.looks[cells],
            self.contrast[cells],
        )

    @cached_property
    def pixels(self) -> Picture:
        """Return where the pixels of each cell lie from the picture's middle (2, cells, pixels) [px of the small picture]."""
        y, x = np.mgrid[0:CELL, 0:CELL].reshape(2, -1)
        left, top = self.corners.T[:, :, None]
        middle = (np.array(self.shape[::-1]) - 1) / 2
        return np.stack([left + x - middle[0], top + y - middle[1]]).astype(np.float32)

    @cached_property
    def centres(self) -> Floats:
        """Return each reading's place from the picture's middle (readings, 2) [px of the small picture]."""
        return np.asarray(self.pixels.mean(axis=2, dtype=float).T[self.cell])

    @cached_property
    def reading_zones(self) -> Whole:
        """Return the zone of each reading (readings,)."""
        return np.asarray(self.zones[self.cell])

    @cached_property
    def crowd(self) -> Floats:
        """Return how many readings share the zone of each reading (readings,)."""
        return np.asarray(np.bincount(self.reading_zones, minlength=1)[self.reading_zones], dtype=float)


def ground_of(small: Picture, noise: float, strength: float) -> Ground:
    """Find the cells of a small picture that can be held on to.

    ``noise`` is that of a small picture [grey levels]; ``strength`` is the least of a reading [grey levels].
    """
    corners, zones = _lattice(small.shape)
    values = _cut(small, corners)
    slopes = np.stack([_cut(part, corners) for part in _slopes(small)])
    slopes = slopes - slopes.mean(axis=2, keepdims=True)
    tensor = np.einsum("acp,bcp->cab", slopes, slopes)
    found, axes = np.linalg.eigh(tensor)
    least = (strength * max(noise / LEAST_NOISE, 1.0)) ** 2
    chosen = _strongest(found[:, 1] * (found[:, 1] > least), zones)
    parts = [_readings(values[i], slopes[:, i], axes[i], least) for i in chosen]
    counts = [len(directions) for directions, _ in parts]
    kernel = np.concatenate([kernel for _, kernel in parts] or [np.empty((0, CELL * CELL))])
    centred = values[chosen] - values[chosen].mean(axis=1, keepdims=True)
    contrast = np.maximum(np.linalg.norm(centred, axis=1), 1e-6)
    return Ground(
        (small.shape[0], small.shape[1]),
        corners[chosen],
        zones[chosen],
        found[chosen, 1],
        np.repeat(np.arange(len(chosen)), counts),
        np.concatenate([directions for directions, _ in parts] or [np.empty((0, 2))]),
        kernel.astype(np.float32),
        np.hypot(_READING, max(noise, LEAST_NOISE) * np.linalg.norm(kernel, axis=1)),
        (centred / contrast[:, None]).astype(np.float32),
        contrast.astype(float),
    )


def _lattice(shape: tuple[int, ...]) -> tuple[Whole, Whole]:
    """Return corners and zones of all cells that fit into a picture."""
    rows, columns = shape[0], shape[1]
    y = np.arange(_RIM, rows - _RIM - CELL + 1, CELL)
    x = np.arange(_RIM, columns - _RIM - CELL + 1, CELL)
    left, top = (part.ravel() for part in np.meshgrid(x, y))
    down, across = ZONES if rows >= columns else ZONES[::-1]
    zones = (top + CELL // 2) * down // rows * across + (left + CELL // 2) * across // columns
    return np.column_stack([left, top]), zones


def _cut(picture: Picture, corners: Whole) -> Picture:
    """Return the pixels of each cell (cells, pixels)."""
    windows = np.lib.stride_tricks.sliding_window_view(picture, (CELL, CELL))
    return np.asarray(windows[corners[:, 1], corners[:, 0]]).reshape(len(corners), -1)


def _slopes(small: Picture) -> tuple[Picture, Picture]:
    """Return how grey levels change to the right and downwards [grey levels per px]."""
    half = np.array([[-0.5, 0.0, 0.5]], np.float32)
    return cv2.filter2D(small, cv2.CV_32F, half), cv2.filter2D(small, cv2.CV_32F, half.T)


def _strongest(strength: Floats, zones: Whole) -> Whole:
    """Return the cells of most strength, at most _PER_ZONE a zone; none without strength."""
    order = np.lexsort([-strength, zones])
    first = np.searchsorted(zones[order], zones[order])
    rank = np.arange(len(order)) - first
    return np.sort(order[(rank < _PER_ZONE) & (strength[order] > 0)])


def _readings(values: Picture, slopes: Picture, axes: Floats, least: float) -> tuple[Floats, Floats]:
    """Return the directions that a cell tells, and their kernels.

    A kernel is blind to a cell's brightness and contrast: what is alike to a constant or to the cell itself
    is taken out of it, so that light that changes is no movement.
    """
    blind = np.linalg.qr(np.column_stack([np.ones(len(values)), values.astype(float)]))[0]
    directions: list[Floats] = []
    kernels: list[Floats] = []
    for axis in axes.T[::-1]:
        slope = axis @ slopes
        free = slope - blind @ (blind.T @ slope)
        told = float(free @ free)
        if told > least:
            least = max(least, _ALONG**2 * told)
            directions.append(axis)
            kernels.append(free / told)
    return np.array(directions).reshape(-1, 2), np.array(kernels).reshape(-1, len(values))
