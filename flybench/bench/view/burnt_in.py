"""Whether what stands still in a picture may belong to the picture itself: a date, a maker's mark, dirt on the lens."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.view.ground import CELL, ZONES, Ground

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Picture = NDArray[Any]

_ALONG = 0.7
"""Cosine from which a reading tells about the fall's direction [-]: within 45 degrees."""
_LINE = 4
"""Zones through which an edge must run to be a line of the scene [-]: more than half of the picture's width (judgement)."""
_LEVELS = 0.5
"""Share of the picture's levels along the fall at which corners must lie to be ground [-]: writing stands in one or two of
eight, in the upper and the lower rim (common practice, no source; the limit is a judgement)."""
_EVERYWHERE = 0.6
"""Share of all zones with something to hold on to from which the ground itself was followed [-]: marks and dirt fill less
(judgement)."""
_FINE, _COARSE = 2.5, 12.0
"""Standard deviations of the blurs between which faint ground is looked at [px of the small picture]: above the noise, below
slow changes of light (judgement)."""
_CLIPPED = 3.0
"""Where grey levels are cut off, over their usual size [-]: so that a hand outweighs no faint ground (judgement)."""
_MARGIN = 16
"""Distance from what stands still within which nothing is looked at [px of the small picture]: the reach of the blur."""
_HALVED = 2
"""Step at which faint ground is looked at [px of the small picture]: as wide as its blur."""
_REACH = 24
"""How far it is looked for [px of the small picture]: as far as the ground's motion is searched."""
_OPEN = 0.5
"""Share of a zone that must be free of what stands still for it to be looked at [-] (judgement)."""
_FEWEST = 6
"""Zones from which faint ground tells anything [-] (judgement)."""
_ALIKE, _OFTEN = 0.2, 0.25
"""Least mean correlation of the zones elsewhere, and share of the samples, two at least, in which it must be so [-]: bare
paper comes to 0.15, a swaying faint ground to 0.5 (simulated here)."""
_BETTER, _BETTER_BY = 0.05, 0.35
"""By how much it must be better than where they stood, outright and as a share of what it lacks of one [-]: noise explains
less (judgement)."""


def only_writing(ground: Ground, agreeing: NDArray[np.bool_], down: int) -> bool:
    """Tell whether nothing but corners in a few levels tells about up and down; ``agreeing`` are the cells that stayed.

    A water line or a table's edge tells one direction only, and runs through the picture; ordinary ground lies everywhere.
    """
    telling = agreeing[ground.cell] & (np.abs(ground.direction[:, down]) > _ALONG)
    told = np.unique(ground.cell[telling])
    both_ways = np.bincount(ground.cell, minlength=len(ground.corners))[told] > 1
    zones = ground.zones[told]
    levels, across = _level(zones, ground.shape, down), _level(zones, ground.shape, 1 - down)
    line = len(np.unique(across[~both_ways])) >= _LINE
    count = ZONES[0] if (ground.shape[0] >= ground.shape[1]) == (down == 1) else ZONES[1]
    return not line and len(np.unique(levels)) < _LEVELS * count


def may_be_marks(ground: Ground, agreeing: NDArray[np.bool_], down: int) -> bool:
    """Tell whether what was held on to may be dirt or writing: no ground everywhere, and no line right through the picture.

    ``agreeing`` are the cells that stayed.
    """
    told = np.flatnonzero(agreeing)
    zones = ground.zones[told]
    if len(np.unique(zones)) >= _EVERYWHERE * ZONES[0] * ZONES[1]:
        return False
    one_way = zones[np.bincount(ground.cell, minlength=len(agreeing))[told] == 1]
    levels, across = _level(one_way, ground.shape, down), _level(one_way, ground.shape, 1 - down)
    return all(len(np.unique(across[levels == level])) < _LINE for level in np.unique(levels))


def rest_moves(aligned: Sequence[Picture], ground: Ground) -> bool:
    """Tell whether faint ground beside what was held on to lies elsewhere in two samples or more.

    Small pictures [grey levels], all as the first one sees them. Each zone has one vote, so that a hand
    or a walker decides nothing.
    """
    if len(np.unique(ground.zones)) >= _EVERYWHERE * ZONES[0] * ZONES[1]:
        return False
    free = _free(ground)
    first, *others = (_faint(picture) * free for picture in aligned)
    seen = sum(_elsewhere(first, other, free) for other in others)
    return seen > 1 and seen >= _OFTEN * len(others)


def without(ground: Ground, marks: Ground | None) -> Ground:
    """Return a ground without the cells that lie on or beside those of marks, if there are any."""
    if marks is None or not len(marks.corners):
        return ground
    apart = np.abs(ground.corners[:, None] - marks.corners[None]).max(axis=2)
    return ground.kept(apart.min(axis=1) > CELL)


def _level(zones: Whole, shape: tuple[int, int], axis: int) -> Whole:
    """Return the number of each zone along an axis, 0 being that of x."""
    across = ZONES[1] if shape[0] >= shape[1] else ZONES[0]
    return zones // across if axis == 1 else zones % across


def _free(ground: Ground) -> Picture:
    """Return 1 where nothing was held on to, else 0, at half the size."""
    free = np.ones(ground.shape, np.float32)
    for left, top in ground.corners:
        rows = slice(max(top - _MARGIN, 0), top + CELL + _MARGIN)
        free[rows, max(left - _MARGIN, 0) : left + CELL + _MARGIN] = 0.0
    return free[::_HALVED, ::_HALVED]


def _faint(picture: Picture) -> Picture:
    """Return the faint pattern of a picture, at half the size [grey levels]."""
    fine = cv2.GaussianBlur(picture, (0, 0), _FINE) - cv2.GaussianBlur(picture, (0, 0), _COARSE)
    limit = _CLIPPED * float(np.median(np.abs(fine)))
    return np.asarray(np.clip(fine, -limit, limit), np.float32)[::_HALVED, ::_HALVED]


def _elsewhere(first: Picture, other: Picture, free: Picture) -> bool:
    """Tell whether the zones of one faint pattern are found again elsewhere in another."""
    reach = _REACH // _HALVED
    wide = cv2.copyMakeBorder(other, reach, reach, reach, reach, cv2.BORDER_CONSTANT, value=0.0)
    found = []
    for rows, columns in _windows(first.shape):
        patch = first[rows, columns]
        if free[rows, columns].mean() < _OPEN or not patch.any():
            continue
        window = wide[rows.start : rows.stop + 2 * reach, columns.start : columns.stop + 2 * reach]
        found.append(cv2.matchTemplate(window, patch, cv2.TM_CCOEFF_NORMED))
    if len(found) < _FEWEST:
        return False
    mean = np.mean(np.clip(np.nan_to_num(found), -1.0, 1.0), axis=0)
    own = float(mean[reach - 1 : reach + 2, reach - 1 : reach + 2].max())
    best = float(mean.max())
    return best > _ALIKE and best - own > max(_BETTER, _BETTER_BY * (1.0 - best))


def _windows(shape: tuple[int, ...]) -> list[tuple[slice, slice]]:
    """Return the rows and columns of each zone."""
    counts = ZONES if shape[0] >= shape[1] else ZONES[::-1]
    cuts = [np.linspace(0, side, count + 1).astype(int) for side, count in zip(shape, counts, strict=False)]
    down, across = ([slice(a, b) for a, b in pairwise(cut)] for cut in cuts)
    return [(rows, columns) for rows in down for columns in across]
