"""Two typed points: pixels of the clip's own upright picture, whatever the size of the picture that they were read off."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flybench.bench.sheet.settings import Settings
from flybench.bench.view.geometry import ScalePoints
from flybench.errors import BadValueError

Floats = NDArray[np.float64]

_SAME_SHAPE = 0.01
"""Difference of two pictures' shapes, width over height, within which one is the other made larger or smaller [-]: sides
rounded to whole, even pixels differ by less (judgement)."""


def typed_points(settings: Settings, size: tuple[int, int]) -> ScalePoints:
    """Return what two typed points tell of an upright picture of this size [px]: the first is the origin, the axes are the
    picture's. Raises BadValueError for points outside the picture, or of a picture of another shape."""
    length = settings.scale.length
    assert length is not None
    pixels = _pixels(settings, size)
    along = (pixels[1] - pixels[0]) / np.linalg.norm(pixels[1] - pixels[0])
    return ScalePoints(pixels, np.stack([np.zeros(2), along * length.value]), size)


def were_rescaled(settings: Settings, size: tuple[int, int]) -> bool:
    """Tell whether the points were read off a picture of another size than the clip's [px]."""
    return settings.scale.picture is not None and settings.scale.picture != size


def _pixels(settings: Settings, size: tuple[int, int]) -> Floats:
    """Return the points in pixels of the clip's picture; pixel centres lie at whole numbers."""
    points, read_off = np.array(settings.scale.points), settings.scale.picture or size
    _check_inside(points, read_off)
    if read_off == size:
        return points
    if abs(read_off[0] / read_off[1] * size[1] / size[0] - 1.0) > _SAME_SHAPE:
        raise BadValueError(
            "scale.picture",
            f"{read_off[0]} x {read_off[1]} is of another shape than the clip's picture, which is {size[0]} x {size[1]} px "
            "upright",
            "Read the points off a picture of the whole clip: flybench bench still writes one",
        )
    return np.asarray((points + 0.5) * np.array(size) / np.array(read_off) - 0.5)


def _check_inside(points: Floats, size: tuple[int, int]) -> None:
    for x, y in points:
        if not (0 <= x <= size[0] - 1 and 0 <= y <= size[1] - 1):
            raise BadValueError(
                "scale.points",
                f"[{x:g}, {y:g}] lies outside the picture, which is {size[0]} x {size[1]} px upright",
                "Read the pixels off the upright first frame; x runs right and y down from the top left corner",
            )
