"""The fly itself, enlarged: the sharpest picture of it on its way down, with a bar of true length."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from flybench.bench.track.close_ups import CloseUp
from flybench.charts.style import MUTED, SMALL

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_BARS_MM = (0.5, 1, 2, 5, 10, 20, 50)
"""Lengths that the bar may have [mm]."""
_ENDS = (1.0, 99.5)
"""Shares of the grey levels that become black and white [%]: a dim picture is shown in full (judgement)."""
_LEAST_RANGE = 40.0
"""Least range of grey levels that is spread so [grey levels]: noise on plain ground stays quiet (judgement)."""


def draw_close_up(axes: Axes, close_up: CloseUp, metres_per_px: float) -> None:
    """Draw a close-up with its scale; ``metres_per_px`` is that of the clip on the fall plane [m]."""
    axes.imshow(
        _spread(close_up.picture),
        cmap="gray",
        vmin=0.0,
        vmax=1.0,
        interpolation="bicubic",
        interpolation_stage="data",
    )
    side = close_up.picture.shape[1]
    mm = metres_per_px * close_up.step * 1e3
    length = max((bar for bar in _BARS_MM if bar <= 0.45 * side * mm), default=_BARS_MM[0])
    left, y = 0.05 * side, 0.935 * side
    line = [left, left + length / mm]
    axes.plot(line, [y, y], color="white", linewidth=5, solid_capstyle="butt")
    axes.plot(line, [y, y], color="black", linewidth=2.5, solid_capstyle="butt")
    tag = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.2}
    axes.annotate(
        f"{length:g} mm",
        (left, y),
        xytext=(1.5, 5),
        textcoords="offset points",
        fontsize=SMALL,
        bbox=tag,
    )
    axes.set(xlim=(-0.5, side - 0.5), ylim=(side - 0.5, -0.5), xticks=[], yticks=[])
    for spine in axes.spines.values():
        spine.set_color(MUTED)


def _spread(picture: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Return the picture from 0 to 1, its darkest and brightest parts black and white."""
    low, high = (float(level) for level in np.percentile(picture, _ENDS))
    middle, half = (low + high) / 2, max(high - low, _LEAST_RANGE) / 2
    return np.asarray(np.clip((picture - (middle - half)) / (2 * half), 0.0, 1.0))
