"""The path of the fly over a still of the clip, with the scale drawn on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flybench.bench.measure import Run
from flybench.charts.style import ACCENT, SMALL, colour_of, plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_BARS_MM = (10, 20, 50, 100, 200, 500, 1000)


def path_over_still(axes: Axes, run: Run) -> None:
    """Draw the upright still, the path of every drop, the corners used and a bar of true length."""
    still = run.stage.reference
    height, width = still.shape[:2]
    axes.imshow(still, cmap="gray", vmin=0, vmax=255, interpolation="antialiased")
    geometry = run.stage.geometry
    if geometry.settings.scale.card:
        seen = geometry.known.pixels[geometry.calibration.used]
        axes.plot(seen[:, 0], seen[:, 1], "+", color=ACCENT, markersize=3, markeredgewidth=0.5)
    else:
        axes.plot(*geometry.known.pixels.T, "+-", color=ACCENT, markersize=5, linewidth=0.8)
    for number, measured in enumerate(run.result.drops):
        path = np.array([[run.spots[row].x, run.spots[row].y] for row in measured.drop.rows])
        style = "-" if measured.used else ":"
        axes.plot(path[:, 0], path[:, 1], style, color=colour_of(number), linewidth=1.3)
        axes.annotate(
            str(number + 1),
            path[-1],
            xytext=(4 + 7 * (number % 3), -2),
            textcoords="offset points",
            fontsize=SMALL,
            color=colour_of(number),
            fontweight="bold",
        )
    _bar(axes, geometry.metres_per_px * 1e3, width, height)
    axes.set_xlim(-0.5, width - 0.5)
    axes.set_ylim(height - 0.5, -0.5)
    plain(axes, "Path over a still, with the scale")
    axes.set_xticks([])
    axes.set_yticks([])
    axes.grid(False)


def _bar(axes: Axes, mm_per_px: float, width: int, height: int) -> None:
    """Draw a bar of a round length, about a quarter of the picture's width, on a pale ground."""
    length = max((mm for mm in _BARS_MM if mm <= 0.35 * width * mm_per_px), default=_BARS_MM[0])
    pixels = length / mm_per_px
    x, y = 0.06 * width, 0.965 * height
    axes.plot([x, x + pixels], [y, y], color="white", linewidth=5, solid_capstyle="butt")
    axes.plot([x, x + pixels], [y, y], color="black", linewidth=2.5, solid_capstyle="butt")
    axes.text(
        x,
        y - 0.012 * height,
        f"{length} mm",
        ha="left",
        va="bottom",
        fontsize=SMALL,
        color="black",
        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1.0},
    )
