"""Figures of the fall in time: depth with the fit, and the residuals under it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from flybench.bench.fit.fall import FallFit
from flybench.bench.verdict.result import BenchResult, MeasuredDrop
from flybench.charts.style import MOST_NAMED, MUTED, SMALL, look_of, name_of, plain, readings

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_FAR = 6.0
"""Rms residuals beyond which a reading left out of the fit is not drawn [-]: it would flatten all others (judgement)."""
_LEGEND_ROWS = 4
"""Rows of the legend before it takes another column: what the free corner has room for."""


def fitted(result: BenchResult) -> Iterator[tuple[int, MeasuredDrop, FallFit]]:
    """Yield number, drop and fit of every drop that was fitted, those not used first (so they lie below)."""
    for wanted in (False, True):
        for number, measured in enumerate(result.drops):
            if measured.fit is not None and measured.used is wanted:
                yield number, measured, measured.fit


def depth_against_time(axes: Axes, result: BenchResult) -> None:
    """Draw readings and fitted fall of every drop, each from its own start [s, mm]; unused ones grey."""
    for number, measured, fit in fitted(result):
        colour, mark, line = look_of(number, measured)
        t, fine = fit.times - fit.times[0], np.linspace(fit.times[0], fit.times[-1], 120)
        readings(axes, t, (fit.depths - fit.depths[0]) * 1e3, colour, mark)
        curve = (fit.depth_at(fine) - fit.depths[0]) * 1e3
        axes.plot(
            fine - fit.times[0],
            curve,
            color=colour,
            linewidth=0.9,
            linestyle=line,
            marker=mark,
            markevery=[len(fine) - 1],
            markersize=4,
            label=name_of(number, measured),
        )
    axes.invert_yaxis()
    plain(
        axes, "Depth against time: readings and fitted fall", "seconds since its first reading", "depth, mm"
    )
    _legend(axes)


def residuals(axes: Axes, result: BenchResult) -> None:
    """Draw measured less fitted depth [s, mm] of the drops used, of all where none is.

    Readings that the fit left out are hollow; those far off the scale are not shown.
    """
    shown = [entry for entry in fitted(result) if entry[1].used or not result.used_drops]
    for number, measured, fit in shown:
        colour, mark, _ = look_of(number, measured)
        t, off = fit.times - fit.times[0], fit.residuals * 1e3
        readings(axes, t[fit.used], off[fit.used], colour, mark, most=100)
        far = _FAR * float(np.sqrt(np.mean(off[fit.used] ** 2)))
        out = ~fit.used & (np.abs(off) < far)
        axes.plot(
            t[out],
            off[out],
            mark,
            color=colour,
            markersize=3.2,
            fillstyle="none",
            markeredgewidth=0.6,
        )
    axes.axhline(0.0, color=MUTED, linewidth=0.7)
    plain(axes, "Reading less fit (hollow: left out of it)", "seconds since its first reading", "mm")


def _legend(axes: Axes) -> None:
    """Name the drops in number order, in the corner that a fall leaves free."""
    lines, names = axes.get_legend_handles_labels()
    order = sorted(range(len(names)), key=lambda place: int(names[place].split(",")[0].split()[1]))
    order = order[:MOST_NAMED]
    if order:
        axes.legend(
            [lines[place] for place in order],
            [names[place] for place in order],
            fontsize=SMALL,
            frameon=False,
            loc="upper right",
            handlelength=2.2,
            borderaxespad=0.1,
            labelspacing=0.3,
            columnspacing=1.0,
            ncols=-(-len(order) // _LEGEND_ROWS),
        )
