"""Figures of the fall itself: depth and residuals against time, speed against depth."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flybench.bench.result import COVERAGE_FACTOR, BenchResult, MeasuredDrop
from flybench.charts.style import ACCENT, MUTED, SMALL, colour_of, mark_of, plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_SPEED_WINDOW = 0.02


def depth_against_time(axes: Axes, result: BenchResult) -> None:
    """Draw readings and fitted fall of every drop, each from its own start [s, mm]; unused ones grey."""
    for number, measured in enumerate(result.drops):
        fit = measured.fit
        if fit is None:
            continue
        t, y = fit.times - fit.times[0], (fit.depths - fit.depths[0]) * 1e3
        colour = colour_of(number) if measured.used else MUTED
        every = max(len(t) // 40, 1)
        axes.plot(
            t[::every],
            y[::every],
            mark_of(number),
            color=colour,
            markersize=2.6,
            alpha=0.7,
            markeredgewidth=0,
        )
        label = f"drop {number + 1}" + ("" if measured.used else ", not used")
        fine = np.linspace(fit.times[0], fit.times[-1], 120)
        curve = (fit.depth_at(fine) - fit.depths[0]) * 1e3
        axes.plot(fine - fit.times[0], curve, color=colour, linewidth=1.0, label=label)
    axes.invert_yaxis()
    plain(axes, "Depth against time: readings and fitted fall", "time since first reading, s", "depth, mm")
    _legend(axes)


def residuals(axes: Axes, result: BenchResult) -> None:
    """Draw measured less fitted depth of the drops [s, mm]; readings left out as outliers are hollow."""
    for number, measured in enumerate(result.drops):
        fit = measured.fit
        if fit is None or not (measured.used or not result.used_drops):
            continue
        t, off = fit.times - fit.times[0], fit.residuals * 1e3
        axes.plot(
            t[fit.used],
            off[fit.used],
            mark_of(number),
            color=colour_of(number),
            markersize=2.2,
            alpha=0.7,
            markeredgewidth=0,
        )
        out = ~fit.used & (np.abs(off) < 6 * max(fit.sigma * 1e3, 0.05))
        axes.plot(
            t[out],
            off[out],
            mark_of(number),
            color=colour_of(number),
            markersize=3,
            fillstyle="none",
            markeredgewidth=0.6,
        )
    axes.axhline(0.0, color=MUTED, linewidth=0.7)
    plain(axes, "Residuals: reading less fit (hollow: left out)", "time since first reading, s", "mm")


def speed_against_depth(axes: Axes, result: BenchResult) -> None:
    """Draw speed against depth of the drops [mm, cm/s] with the pooled sink speed and its k = 2 band."""
    for number, measured in enumerate(result.drops):
        if measured.fit is not None:
            _speed_curve(axes, number, measured)
    if result.sink_speed is not None and result.standard_uncertainty is not None:
        speed, spread = result.sink_speed * 100, COVERAGE_FACTOR * result.standard_uncertainty * 100
        axes.axhspan(speed - spread, speed + spread, color=ACCENT, alpha=0.18, linewidth=0)
        axes.axhline(speed, color=ACCENT, linewidth=1.0, linestyle="--", label="sink speed, k = 2")
    low, high = _speed_limits(result)
    axes.set_ylim(low, high)
    plain(axes, "Speed against depth", "depth below first reading, mm", "cm/s")
    _legend(axes)


def _speed_limits(result: BenchResult) -> tuple[float, float]:
    """Return limits [cm/s] that show the fitted curves and leave some air."""
    fits = [measured.fit for measured in result.drops if measured.fit is not None]
    speeds = np.concatenate([fit.speed_at(fit.times) for fit in fits]) * 100
    low, high = float(speeds.min()), float(speeds.max())
    room = max(0.25 * (high - low), 0.04 * high)
    return max(low - room, 0.0), high + room


def _speed_curve(axes: Axes, number: int, measured: MeasuredDrop) -> None:
    fit = measured.fit
    assert fit is not None
    t, y = fit.times[fit.used], fit.depths[fit.used]
    reach = max(round(_SPEED_WINDOW / float(np.median(np.diff(t)))), 1)
    if len(t) <= 2 * reach + 1:
        return
    speed = (y[2 * reach :] - y[: -2 * reach]) / (t[2 * reach :] - t[: -2 * reach]) * 100
    depth = (y[reach:-reach] - fit.depths[0]) * 1e3
    colour = colour_of(number) if measured.used else MUTED
    every = max(len(t) // 40, 1)
    axes.plot(
        depth[::every],
        speed[::every],
        mark_of(number),
        color=colour,
        markersize=2.2,
        alpha=0.6,
        markeredgewidth=0,
    )
    fine = np.linspace(fit.times[0], fit.times[-1], 120)
    axes.plot(
        (fit.depth_at(fine) - fit.depths[0]) * 1e3, fit.speed_at(fine) * 100, color=colour, linewidth=1.0
    )


def _legend(axes: Axes) -> None:
    if axes.get_legend_handles_labels()[1]:
        axes.legend(fontsize=SMALL - 0.5, frameon=False, loc="best", handlelength=1.6, borderaxespad=0.2)
