"""Figure of predicted flies: the interval of each, and the measured flies beside them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from flybench.charts.figure import Picture
from flybench.charts.style import ACCENT, INK, MUTED, SMALL, plain
from flybench.quantity import COVERAGE_FACTOR
from flybench.shop.next_fly.predicting import Prediction
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.model.forecast import Forecast

if TYPE_CHECKING:
    from matplotlib.axes import Axes


_WIDTH = 6.5
"""Width of the picture [inch]: a page of text (judgement)."""
_ROW, _REST, _LEAST = 0.24, 0.9, 2.2
"""Height of a fly, of title and axis, and the least height of the picture [inch] (judgement)."""
_MOST_MEASURED = 30
"""Measured flies drawn beside predicted ones [-] (judgement)."""


def prediction_picture(found: Prediction) -> Picture:
    """Return the picture of predicted flies, with the measured flies of their styles beside them."""
    styles = {one.build.style for one in found.flies}
    near = [one for one in found.learned.measured if one.build.style in styles][:_MOST_MEASURED]
    names = [f"{one.build.code} {one.bead or ''}".strip() for one in found.flies]
    height = max(_ROW * (len(near) + len(names)) + _REST, _LEAST)
    forecasts = [one.forecast for one in found.flies]
    return Picture(_WIDTH, height, lambda axes: predicted_speeds(axes, forecasts, names, near))


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
