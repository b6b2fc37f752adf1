"""Figure of a drag law: drag area against Reynolds number, what was measured, and the bare bead."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flybench.charts.figure import Picture
from flybench.charts.style import ACCENT, INK, MUTED, SMALL, plain
from flybench.quantity import COVERAGE_FACTOR
from flybench.sinking.drag.shape import length_name, sphere_share
from flybench.sinking.model.law import Law

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_LOW, _HIGH = 100.0, 4000.0
"""Reynolds numbers always shown [-]: a midge of 2 mm at 5 cm/s, and a bead of 5 mm at 0.8 m/s (water at 20 degC)."""


_SIZE = 5.5, 4.0
"""Width and height of the picture [inch] (judgement)."""


def law_picture(law: Law) -> Picture:
    """Return the picture of a drag law."""
    return Picture(*_SIZE, lambda axes: drag_area_against_reynolds(axes, law, length_name(law.build)))


def drag_area_against_reynolds(axes: Axes, law: Law, length_name: str) -> None:
    """Draw the law [mm2] with its 95 % band, measured points with k = 2, and the bare bead's curve."""
    seen = [point.reynolds for point in law.points]
    reynolds = np.geomspace(min([_LOW, *seen]) * 0.9, max([_HIGH, *seen]) * 1.1, 120)
    low, middle, high = law.band(reynolds) * 1e6
    axes.fill_between(reynolds, low, high, color=ACCENT, alpha=0.18, linewidth=0, label="law, 95 %")
    axes.plot(reynolds, middle, color=ACCENT, linewidth=1.4, label="law, middle")
    for number, point in enumerate(law.points):
        axes.errorbar(
            point.reynolds,
            point.area * 1e6,
            COVERAGE_FACTOR * point.uncertainty * 1e6,
            fmt="o",
            color=INK,
            markersize=3.5,
            capsize=2,
            linewidth=0.9,
            label="measured, k = 2" if number == 0 else None,
        )
    if law.bare_bead is not None:
        bead = law.bare_bead * sphere_share(reynolds) * 1e6
        axes.plot(reynolds, bead, color=MUTED, linewidth=1.0, linestyle=(0, (4, 2)), label="the bare bead")
    axes.set_xscale("log")
    axes.set_yscale("log")
    _plain_ticks(axes)
    plain(
        axes,
        f"{law.build.code}: drag area",
        f"Reynolds number on {length_name}",
        "drag area, mm²",
    )
    axes.legend(fontsize=SMALL, frameon=False, loc="upper right", borderaxespad=0.2, labelspacing=0.3)


def _plain_ticks(axes: Axes) -> None:
    """Write ticks as plain numbers."""
    from matplotlib.ticker import LogLocator, ScalarFormatter

    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
        axis.set_minor_locator(LogLocator(subs=()))
        formatter = ScalarFormatter()
        formatter.set_scientific(False)
        axis.set_major_formatter(formatter)
