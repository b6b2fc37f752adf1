"""The path of the fly over a still of the clip, with the scale drawn on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from PIL import Image

from flybench.bench.measure import Measurement
from flybench.charts.style import ACCENT, MOST_NAMED, SMALL, look_of, plain
from flybench.quantity import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Crop = tuple[int, int, int, int]

_BARS_MM = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
"""Lengths that the bar may have [mm]: round ones, from a fly to a tall column."""
_MARGIN, _BELOW = 0.06, 0.11
"""Room around the paths, and below them for their numbers and the bar, over the longer side of all paths [-]."""
_LEAST_ASPECT = 0.45
"""Least width over height of the part that is shown, as far as there is picture [-]: it fills a page (judgement)."""
_MOST_PX = 1000
"""Rows of the still beyond which it is drawn smaller [px]: more cannot be seen on the page and swells its file."""
_NUMBER_GAP = 9.0
"""Least distance between two drops' numbers [points]: the width of two small digits."""
_TAG = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.2}
"""White ground behind words on the still, as matplotlib takes it (judgement)."""


def crop_of(run: Measurement) -> Crop:
    """Return left, top, right, bottom [px] of the part that shows the paths and the scale; all of it where nothing fell."""
    height, width = run.view.reference.shape
    if not run.result.drops:
        return 0, 0, width, height
    points = np.vstack([run.view.geometry.scale_points.pixels, *_paths(run)])
    low, high = points.min(axis=0), points.max(axis=0)
    size = float(np.max(high - low))
    margin, below = _MARGIN * size, np.array([_MARGIN, _BELOW]) * size
    wider = max(_LEAST_ASPECT * (1 + _MARGIN + _BELOW) * size - (high[0] - low[0] + 2 * margin), 0.0) / 2
    aside = np.array([wider, 0.0])
    low, high = low - aside, high + aside
    left, top = np.maximum(np.floor(low - margin), 0).astype(int)
    right, bottom = np.minimum(np.ceil(high + below) + 1, [width, height]).astype(int)
    return int(left), int(top), int(right), int(bottom)


def path_over_still(axes: Axes, run: Measurement) -> None:
    """Draw the upright still, the path of every drop, the scale used, the vertical and a bar of true length."""
    left, top, right, bottom = crop_of(run)
    step = max(-(-(bottom - top) // _MOST_PX), 1)
    still = Image.fromarray(run.view.reference[top:bottom, left:right]).reduce(step)
    extent = (left - 0.5, right - 0.5, bottom - 0.5, top - 0.5)
    ends = (left - 0.5, left - 0.5 + step * still.width, top - 0.5 + step * still.height, top - 0.5)
    axes.imshow(
        np.asarray(still),
        cmap="gray",
        vmin=0,
        vmax=255,
        interpolation="antialiased",
        interpolation_stage="data",  # in one grey channel: resampling four colours takes three times the memory
        extent=ends,
    )
    _scale_marks(axes, run)
    for path in _paths(run):
        axes.plot(path[:, 0], path[:, 1], color="white", linewidth=2.6, alpha=0.75)
    for (number, measured), path in zip(enumerate(run.result.drops), _paths(run), strict=True):
        colour, _, line = look_of(number, measured)
        axes.plot(path[:, 0], path[:, 1], color=colour, linewidth=1.3, linestyle=line)
    point = (bottom - top) / axes.bbox.height * axes.figure.dpi / 72
    _numbers(axes, run, bottom, point)
    _bar(axes, run, (left, top, right, bottom))
    if run.result.drops:
        _vertical(axes, run, (left, top, right, bottom), point)
    plain(axes, "Where it fell" if run.result.drops else "What the clip shows when nothing moves")
    axes.set(xlim=extent[:2], ylim=extent[2:], xticks=[], yticks=[])
    axes.grid(False)
    for spine in axes.spines.values():
        spine.set_visible(False)


def _paths(run: Measurement) -> list[Floats]:
    """Return the path of every drop in upright px, shape (n, 2)."""
    spots = run.spots
    return [np.array([[spots[row].x, spots[row].y] for row in drop.drop.rows]) for drop in run.result.drops]


def _scale_marks(axes: Axes, run: Measurement) -> None:
    """Mark the corners or the two points from which the scale was taken."""
    geometry = run.view.geometry
    if geometry.settings.scale.card:
        seen = geometry.scale_points.pixels[geometry.calibration.used]
        axes.plot(seen[:, 0], seen[:, 1], "+", color=ACCENT, markersize=3.5, markeredgewidth=0.6)
    else:
        axes.plot(*geometry.scale_points.pixels.T, color=ACCENT, marker="_", markersize=7, linewidth=0.7)


def _numbers(axes: Axes, run: Measurement, bottom: int, point: float) -> None:
    """Write the drops' numbers under the ends of their paths, pushed apart where they would touch."""
    ends = [path[-1] for path in _paths(run)[:MOST_NAMED]]
    order = sorted(range(len(ends)), key=lambda number: float(ends[number][0]))
    places: list[float] = []
    for number in order:
        least = places[-1] + _NUMBER_GAP * point if places else -np.inf
        places.append(max(float(ends[number][0]), least))
    shift = np.mean([ends[number][0] for number in order]) - np.mean(places) if places else 0.0
    for number, x in zip(order, places, strict=True):
        axes.text(
            x + shift,
            min(ends[number][1] + 9 * point, bottom - 6 * point),
            str(number + 1),
            fontsize=SMALL,
            fontweight="bold",
            color=look_of(number, run.result.drops[number])[0],
            ha="center",
            va="center",
            bbox={**_TAG, "pad": 0.6},
        )


def _bar(axes: Axes, run: Measurement, crop: Crop) -> None:
    """Draw a bar of a round true length at the fall, in the lower corner that the paths leave free."""
    left, top, right, bottom = crop
    width, height = right - left, bottom - top
    mm_per_px = run.result.metres_per_px * 1e3
    length = max((mm for mm in _BARS_MM if mm <= 0.36 * width * mm_per_px), default=_BARS_MM[0])
    lowest = max((path[-1] for path in _paths(run)), key=lambda end: float(end[1]), default=None)
    on_right = lowest is not None and lowest[0] < (left + right) / 2
    x = right - 0.05 * width - length / mm_per_px if on_right else left + 0.05 * width
    line, y = [x, x + length / mm_per_px], bottom - 0.025 * height
    axes.plot(line, [y, y], color="white", linewidth=5, solid_capstyle="butt")
    axes.plot(line, [y, y], color="black", linewidth=2.5, solid_capstyle="butt")
    axes.annotate(
        f"{length} mm",
        (line[1] if on_right else x, y),
        xytext=(-1.5 if on_right else 1.5, 5),
        textcoords="offset points",
        fontsize=SMALL,
        color="black",
        ha="right" if on_right else "left",
        bbox=_TAG,
    )


def _vertical(axes: Axes, run: Measurement, crop: Crop, point: float) -> None:
    """Draw an arrow along the fall in the upper corner that the paths leave free."""
    left, top, right, _ = crop
    highest = min((path[0] for path in _paths(run)), key=lambda start: float(start[1]), default=None)
    on_left = highest is not None and highest[0] > (left + right) / 2
    tail = np.array([left + 13 * point if on_left else right - 13 * point, top + 15 * point])
    tip = tail + 32.0 * point * run.down
    axes.annotate(
        "down",
        xy=(float(tip[0]), float(tip[1])),
        xytext=(float(tail[0]), float(tail[1])),
        fontsize=SMALL,
        ha="center",
        va="bottom",
        bbox=_TAG,
        arrowprops={"arrowstyle": "-|>", "color": ACCENT, "linewidth": 1.2, "shrinkA": 0, "shrinkB": 0},
    )
