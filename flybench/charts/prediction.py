"""Figure of predicted flies: the interval of each, and the measured flies beside them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from flybench.charts.style import ACCENT, INK, MUTED, SMALL, plain
from flybench.quantity import COVERAGE_FACTOR
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.model.forecast import Forecast

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def predicted_speeds(
    axes: Axes, forecasts: Sequence[Forecast], names: Sequence[str], measured: Sequence[MeasuredFly]
) -> None:
    """Draw predicted speeds [cm/s] with the interval of 95 of 100 flies, and measured ones (k = 2) below them."""
    rows = len(forecasts) + len(measured)
    for place, one in enumerate(forecasts):
        y = rows - 1 - place
        low, high = (end * 100 for end in one.interval)
        axes.plot([low, high], [y, y], color=ACCENT, linewidth=1.2, linestyle=(0, (3, 1.5)))
        axes.plot(one.speed * 100, y, "D", color=ACCENT, markersize=4.5, markerfacecolor="white")
    for place, fly in enumerate(sorted(measured, key=lambda one: -one.speed)):
        y = len(measured) - 1 - place
        doubt = COVERAGE_FACTOR * (fly.own**2 + fly.shared**2) ** 0.5 * 100
        axes.errorbar(
            fly.speed * 100, y, xerr=doubt, fmt="o", color=INK, markersize=3.5, capsize=2, linewidth=0.9
        )
    if measured and forecasts:
        axes.axhline(len(measured) - 0.5, color=MUTED, linewidth=0.6)
    labels = [fly.fly for fly in sorted(measured, key=lambda one: one.speed)]
    axes.set_yticks(range(rows), [*labels, *reversed(names)], fontsize=SMALL)
    axes.set_ylim(-0.7, rows - 0.3)
    axes.set_xlim(left=0)
    plain(axes, "Predicted (95 of 100 flies) and measured (k = 2)", "cm/s")
    axes.grid(False, axis="y")
