"""Figure of the speed on the way down: how the fly comes to its sink speed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flybench.bench.fit.fall import FallFit
from flybench.bench.verdict.result import BenchResult
from flybench.charts.fall import fitted
from flybench.charts.style import ACCENT, INK, SMALL, look_of, plain, readings
from flybench.quantity import COVERAGE_FACTOR, Floats, rounded

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_HALF_WINDOW = 0.03
"""Half the time over which a speed is taken from two readings [s]: two frames at 60 a second; shorter, reading noise
hides the curve (judgement)."""
_LATE = 0.35
"""Share of the depth from which the legend's corner begins [-]: it lies over the right two thirds (judgement)."""
_LEGEND_SHARE = 0.36
"""Height of the legend over that of the axes [-]: three lines and a title of small type."""


def speed_against_depth(axes: Axes, result: BenchResult) -> None:
    """Draw speed against depth of every drop [mm, cm/s] with the pooled sink speed and its k = 2 band.

    Points are differences of readings over a few hundredths of a second; lines are the fitted falls, which
    may run off the scale at their very start, where no difference can be taken.
    """
    drawn: list[Floats] = []
    for number, measured, fit in fitted(result):
        colour, mark, line = look_of(number, measured)
        points, curve = _points(fit), _curve(fit)
        readings(axes, points[:, 0], points[:, 1], colour, mark, most=40)
        axes.plot(curve[:, 0], curve[:, 1], color=colour, linewidth=0.9, linestyle=line)
        if measured.used or not result.used_drops:
            drawn += [points, curve[len(curve) // 4 :]]
    plunged = _start_share(result) > 1.0
    _limit(axes, np.concatenate(drawn), plunged)
    _sink_speed(axes, result, plunged)
    plain(axes, "Speed against depth", "mm below its first reading", "cm/s")


def _points(fit: FallFit) -> Floats:
    """Return depth [mm] and speed [cm/s] from readings some frames apart, shape (n, 2)."""
    t, y = fit.times[fit.used], fit.depths[fit.used]
    reach = min(max(round(_HALF_WINDOW / float(np.median(np.diff(t)))), 2), (len(t) - 1) // 2)
    speed = (y[2 * reach :] - y[: -2 * reach]) / (t[2 * reach :] - t[: -2 * reach])
    depth = np.convolve(y, np.full(2 * reach + 1, 1.0 / (2 * reach + 1)), mode="valid") - fit.depths[0]
    return np.column_stack([depth * 1e3, speed * 100])


def _curve(fit: FallFit) -> Floats:
    fine = np.linspace(fit.times[0], fit.times[-1], 120)
    return np.column_stack([(fit.depth_at(fine) - fit.depths[0]) * 1e3, fit.speed_at(fine) * 100])


def _start_share(result: BenchResult) -> float:
    """Return speed at the first reading over terminal speed, the middle one of the drops used."""
    shares = [drop.fit.start_speed / drop.fit.terminal_speed for drop in result.used_drops if drop.fit]
    return float(np.median(shares)) if shares else 1.0


def _limit(axes: Axes, drawn: Floats, plunged: bool) -> None:
    """Show everything, and keep a corner on the right free for the legend."""
    low, high = float(drawn[:, 1].min()), float(drawn[:, 1].max())
    late = drawn[drawn[:, 0] > _LATE * drawn[:, 0].max(), 1]
    room = max(0.06 * (high - low), 0.01 * high)
    low, high = low - room, high + room
    share = _LEGEND_SHARE / (1 - _LEGEND_SHARE)
    if plunged:
        high = max(high, float(late.max()) + share * (float(late.max()) - low))
    else:
        low = min(low, float(late.min()) - share * (high - float(late.min())))
    axes.set_ylim(max(low, 0.0), high)


def _sink_speed(axes: Axes, result: BenchResult, plunged: bool) -> None:
    """Draw the pooled speed with its band, and say how the fly came to it."""
    if result.sink_speed is None or result.standard_uncertainty is None:
        return
    speed, spread = result.sink_speed * 100, COVERAGE_FACTOR * result.standard_uncertainty * 100
    told = rounded(speed, spread)
    axes.axhspan(speed - spread, speed + spread, color=ACCENT, alpha=0.2, linewidth=0, label="± with k = 2")
    axes.axhline(speed, color=ACCENT, linewidth=1.3, label=f"sink speed {told[0]} ± {told[1]} cm/s")
    legend = axes.legend(
        title=_approach(_start_share(result)),
        title_fontsize=SMALL,
        fontsize=SMALL,
        frameon=False,
        loc="upper right" if plunged else "lower right",
        borderaxespad=0.1,
        labelspacing=0.3,
        alignment="left",
        reverse=True,
    )
    legend.get_title().set_color(INK)


def _approach(share: float) -> str:
    if share > 1.02:
        return f"plunged in: first read at {100 * share:.0f} % of sink speed"
    if share < 0.98:
        return f"first read at {100 * share:.0f} % of sink speed"
    return "at sink speed from the first reading on"
