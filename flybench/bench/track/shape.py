"""The shape of the one thing in a window of a picture: where it lies, how large it is and how it leans."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Picture = NDArray[Any]

_BARE, _COVERED = 0.4, 0.6
"""Difference over its peak at which a pixel counts as bare background, and as all fly [-]: either side of one half, which
is where the edge of an evenly dark thing lies."""
_BLACK = 8.0
"""Added to the background before dividing by it [grey levels]: keeps the share finite before black (judgement)."""
_THIN = 0.35
"""Half-width over the greatest half-width below which a part is no body but thread, hackle tip or faint shadow [-]
(judgement: the centre of the rest is nearer to where the weight is)."""


class Shape(NamedTuple):
    """What a window shows, in px of the window."""

    x: float
    y: float
    area: float
    contrast: float
    length: float
    breadth: float
    lean: float
    ground: float
    unevenness: float

    def grown(self, times: int) -> Shape:
        """Return the shape in pixels that are so many times smaller."""
        if times == 1:
            return self
        lengths = {name: getattr(self, name) * times for name in ("x", "y", "length", "breadth")}
        return self._replace(area=self.area * times**2, **lengths)


def shape_of(difference: NDArray[np.float32], background: NDArray[np.float32]) -> Shape | None:
    """Return centroid x, y, area, contrast, length, breadth and lean of the main thing in a window.

    Each pixel weighs by how surely it is covered: nothing below two fifths of the peak difference from
    the background, fully from three fifths on, in the one connected piece that is largest. So a faint
    shadow beside the fly, a thread or noise stay out, and neither the fly's own shading nor a background
    that is lighter here and darker there pulls the centre.
    """
    weight = np.abs(difference)
    if difference.sum() < 0:
        weight /= background + _BLACK
    most = float(weight.max())
    if not most > 0.0:
        return None
    peak = _ninth_tenth(weight[weight > 0.5 * most])
    cover = np.clip((weight / peak - _BARE) / (_COVERED - _BARE), 0.0, 1.0)
    body = _body((cover > 0).astype(np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(body, connectivity=8)
    if count < 2:
        return None
    main = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    chosen = np.flatnonzero((labels == main) & (cover > 0))
    ys, xs = np.divmod(chosen, cover.shape[1])
    w = cover.ravel()[chosen].astype(float)
    total = float(w.sum())
    x, y = float(xs @ w / total), float(ys @ w / total)
    length, breadth, lean = _axes(xs - x, ys - y, w / total)
    contrast = float(difference.ravel()[chosen] @ w / total)
    behind = background.ravel()[chosen]
    uneven = float(behind.std()) / max(abs(contrast), 1.0)
    return Shape(x, y, total, contrast, length, breadth, lean, float(behind.mean()), uneven)


def _ninth_tenth(values: NDArray[np.float32]) -> float:
    """Return the value that nine tenths of the values lie below, between two of them in proportion."""
    place = 0.9 * (len(values) - 1)
    low = int(place)
    ordered = np.partition(values, [low, min(low + 1, len(values) - 1)])
    below, above = float(ordered[low]), float(ordered[min(low + 1, len(values) - 1)])
    return below + (place - low) * (above - below)


def _axes(across: Floats, down: Floats, share: Floats) -> tuple[float, float, float]:
    """Return length, breadth and lean of weighted places about their middle: four standard deviations each way.

    The variance of a pixel, one twelfth, is added. The principal axes of a matrix of two by two are known in
    closed form (any textbook of linear algebra).
    """
    xx, yy = float(across**2 @ share) + 1.0 / 12.0, float(down**2 @ share) + 1.0 / 12.0
    xy = float((across * down) @ share)
    half, apart = (xx + yy) / 2.0, math.hypot((xx - yy) / 2.0, xy)
    turn = 0.5 * math.atan2(2.0 * xy, xx - yy)
    least = max(half - apart, 0.0)
    return 4.0 * math.sqrt(half + apart), 4.0 * math.sqrt(least), math.atan2(math.cos(turn), math.sin(turn))


def _body(solid: Picture) -> Picture:
    """Return the mask without what is much thinner than its thickest part, one pixel wider than it was.

    An opening with a disc of a third of the greatest half-width; two distance transforms do it.
    """
    inside = cv2.distanceTransform(solid, cv2.DIST_L2, 3)
    thin = _THIN * float(inside.max())
    core = (inside < max(thin, 0.5)).astype(np.uint8)
    return (cv2.distanceTransform(core, cv2.DIST_L2, 3) <= thin + 1.0).astype(np.uint8)
