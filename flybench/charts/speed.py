"""Figure of the speed on the way down: how the fly comes to its sink speed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flybench.bench.fit.fall import FallFit
from flybench.bench.verdict.result import BenchResult
from flybench.charts.fall import fitted
from flybench.charts.style import ACCENT, look_of, plain, readings
from flybench.quantity import COVERAGE_FACTOR, Floats
from flybench.rounding import rounded

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_HALF_WINDOW = 0.03
"""Half the time over which a speed is taken from two readings [s]: two frames at 60 a second; shorter, reading noise
hides the curve (judgement)."""


def speed_against_depth(axes: Axes, result: BenchResult) -> None:
    """Draw speed against depth of every drop [mm, cm/s] with the pooled sink speed and its interval as a band.

    Points are differences of readings over a few hundredths of a second; lines are the fitted falls, which
    may run off the scale at their very start, where no difference can be taken. What the line and the band are
    stands above the axes.
    """
    drawn: list[Floats] = []
    for number, measured, fit in fitted(result):
        colour, mark, line = look_of(number, measured)
        points, curve = _points(fit), _curve(fit)
        readings(axes, points[:, 0], points[:, 1], colour, mark, most=40)
        axes.plot(curve[:, 0], curve[:, 1], color=colour, linewidth=0.9, linestyle=line)
        if measured.used or not result.used_drops:
            drawn += [points, curve[len(curve) // 4 :]]
    _limit(axes, np.concatenate(drawn))
    note = _sink_speed(axes, result)
    plain(axes, "Speed on the way down", "mm below its first reading", "cm/s", note=note)


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


def _limit(axes: Axes, drawn: Floats) -> None:
    """Show everything."""
    low, high = float(drawn[:, 1].min()), float(drawn[:, 1].max())
    room = max(0.06 * (high - low), 0.01 * high)
    axes.set_ylim(max(low - room, 0.0), high + room)


def _sink_speed(axes: Axes, result: BenchResult) -> str:
    """Draw the pooled speed with its band, and return what they are and how the fly came to it."""
    if result.sink_speed is None or result.standard_uncertainty is None:
        return "marks: readings; lines: the fitted falls"
    speed, spread = result.sink_speed * 100, COVERAGE_FACTOR * result.standard_uncertainty * 100
    told = rounded(speed, spread)
    axes.axhspan(speed - spread, speed + spread, color=ACCENT, alpha=0.2, linewidth=0)
    axes.axhline(speed, color=ACCENT, linewidth=1.3)
    low, high = axes.get_ylim()
    inside = speed - spread < low and high < speed + spread
    band = "all inside" if inside else "band:"
    return f"{band} {told[0]} ± {told[1]} cm/s; {_approach(_start_share(result))}"


def _approach(share: float) -> str:
    if share > 1.02:
        return f"plunged in, first read at {100 * share:.0f} % of it"
    if share < 0.98:
        return f"first read at {100 * share:.0f} % of it"
    return "at full speed from the start"
