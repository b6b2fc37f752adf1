"""The uncertainty budget as bars."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flybench.bench.result import BenchResult
from flybench.charts.style import ACCENT, INK, SMALL, colour_of, plain
from flybench.uncertainty import combined

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_SHOWN = 7


def budget_bars(axes: Axes, result: BenchResult) -> None:
    """Draw standard uncertainties (k = 1) in percent of the speed, largest first, the small ones together."""
    if result.sink_speed is None:
        axes.set_axis_off()
        return
    lines = list(result.budget)
    named = [(line.source, line.standard_uncertainty) for line in lines[:_SHOWN]]
    if lines[_SHOWN:]:
        named.append(("everything else", combined(lines[_SHOWN:])))
    named.append(("together", combined(lines)))
    values = np.array([value for _, value in named]) / result.sink_speed * 100
    places = np.arange(len(named))
    colours = [colour_of(0)] * (len(named) - 1) + [ACCENT]
    axes.barh(places, values, color=colours, height=0.62)
    for place, value in zip(places, values, strict=True):
        axes.text(
            float(value + 0.012 * values.max()),
            float(place),
            f"{value:.2f}",
            va="center",
            fontsize=SMALL,
            color=INK,
        )
    axes.set_yticks(places, [_wrapped(name) for name, _ in named])
    axes.set_xlim(0, values.max() * 1.15)
    axes.invert_yaxis()
    plain(axes, "Where the uncertainty comes from", "percent of the speed, k = 1")
    axes.grid(False, axis="y")


def _wrapped(name: str) -> str:
    """Break a long name over two lines."""
    if len(name) <= 24:
        return name
    middle = min((i for i, sign in enumerate(name) if sign == " "), key=lambda i: abs(i - len(name) / 2))
    return f"{name[:middle]}\n{name[middle + 1 :]}"
