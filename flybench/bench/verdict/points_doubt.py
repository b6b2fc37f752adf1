"""What two typed points cannot tell: the picture that they were read off, a squeeze, and the lens of a round column."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.orientation import Orientation
from flybench.bench.verdict.budget import FallInPixels
from flybench.bench.view.geometry import Geometry
from flybench.hydraulics.round_column import widening

Floats = NDArray[np.float64]

_SMALLER = 1.5
"""How many times larger the picture may be than one that holds both points, from which the points may be of such a smaller
one [-]: pictures shown at two thirds or half their size are common, and points are best a picture's height apart
(judgement)."""
_BEYOND = 1.1
"""Largest reach of the falls from the upper left corner, over that of the points, with which they lie together [-]: who marks
the fall's own stretch marks it to a tenth (judgement)."""
_ACROSS = 0.1
"""Share of the scale that is read across the fall from which that counts [-]: points 18 degrees off the fall (judgement)."""
_SHAPES = (9 / 16, 3 / 4, 4 / 3, 16 / 9)
"""Width over height of the pictures that phones film [-] (common practice, no source)."""
_ROUNDED = 0.02
"""Difference of two shapes within which they are one [-]: sides are rounded to even pixels, to multiples of 16 by some
(judgement)."""
_LEAST = 0.005
"""Relative doubt below which neither flag nor part is worth it [-] (judgement)."""


def points_doubts(
    geometry: Geometry, falls: list[FallInPixels], orientation: Orientation
) -> tuple[dict[str, float], list[str]]:
    """Return the relative standard uncertainties that typed points leave, by name [-], and their flags; none with a card."""
    if geometry.settings.scale.card:
        return {}, []
    found = {
        "points-of-another-picture": ("picture that the points are of", _another_picture(geometry, falls)),
        "points-across": ("shape of the picture", _squeezed(geometry, falls, orientation)),
        "round-column": ("lens of the round column", _round(geometry, falls)),
    }
    doubts = {name: wide / math.sqrt(3.0) for name, wide in found.values() if wide > _LEAST}
    return doubts, [flag for flag, (_, wide) in found.items() if wide > _LEAST]


def _another_picture(geometry: Geometry, falls: list[FallInPixels]) -> float:
    """Return by what share speeds may be too high as the points may be of a smaller picture [-], nought where they fit.

    Both then lie near the upper left corner, and the falls go on where the points end. A size that was typed as the clip's
    own is believed; points brought over from another size are looked at as well, as that size may be wrong.
    """
    if geometry.settings.scale.picture == geometry.scale_points.size:
        return 0.0
    size, far = np.array(geometry.scale_points.size, dtype=float), geometry.scale_points.pixels.max(axis=0)
    smaller = float(np.min(size / (far + 1.0)))
    seen = np.max([fall.pixels.max(axis=0) for fall in falls], axis=0)
    beyond = bool(np.any(seen > _BEYOND * far))
    return 1.0 - 1.0 / smaller if smaller > _SMALLER and beyond else 0.0


def _across(geometry: Geometry, falls: list[FallInPixels]) -> float:
    """Return the share of the scale that is read across the fall [-]: the squared sine of the angle between them."""
    line = geometry.places(geometry.scale_points.pixels)
    along = (line[1] - line[0]) / np.linalg.norm(line[1] - line[0])
    return float(1.0 - (along @ falls[0].down) ** 2)


def _squeezed(geometry: Geometry, falls: list[FallInPixels], orientation: Orientation) -> float:
    """Return by what share a scale across the fall may be off as the picture may be squeezed [-].

    Not in a clip that still has its turn: programs that squeeze do not write it. A picture of a size that phones film may
    have had the next one of their shapes; one that lies has no turn to show, and is believed.
    """
    across, whole = _across(geometry, falls), orientation.is_whole
    if across < _ACROSS or orientation.quarter_turns % 2 or (whole and not orientation.turn_is_baked_in):
        return 0.0
    shape = geometry.scale_points.size[0] / geometry.scale_points.size[1]
    squeezes = (abs(shape / one - 1.0) for one in _SHAPES)
    return across * min(one for one in squeezes if not whole or one > _ROUNDED)


def _round(geometry: Geometry, falls: list[FallInPixels]) -> float:
    """Return by what share a scale across a round column may be off [-]: whether it is of the water or of the glass is not
    known, and a column of water is a lens that widens what stands in it."""
    tank, length = geometry.settings.tank, geometry.settings.scale.length
    if tank.diameter is None or length is None:
        return 0.0
    radius, distance = tank.diameter / 2, geometry.fall.thickness[0]
    index = geometry.fall.index[-1]
    in_the_water = widening(radius, distance, index, length.value / 2) - 1.0
    on_the_glass = (distance + radius) / (distance + radius / index) - 1.0
    return _across(geometry, falls) * max(in_the_water, on_the_glass)
