"""The uncertainty budget as bars."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from flybench.bench.verdict.result import BenchResult
from flybench.charts.lettering import balanced
from flybench.charts.style import ACCENT, DROPS, INK, SMALL, plain
from flybench.quantity import COVERAGE_FACTOR
from flybench.statistics.budget import BudgetLine, combined

if TYPE_CHECKING:
    from matplotlib.axes import Axes

LABEL_WIDTH = 88.0
"""Room for the names, left of the axes [points]."""
_SHOWN = 7
"""Most bars with a name [-]: all that matters, at a size that can be read (judgement)."""
_PITCH = 17.0
"""Least height of a bar with a name in two lines [points]."""
_NEGLIGIBLE = 0.06
"""Share of the whole below which a source is put with "everything else" [-]: as a square, 0.4 % of it (judgement)."""


def budget_bars(axes: Axes, result: BenchResult) -> None:
    """Draw expanded uncertainties in percent of the speed, largest first, the small ones together."""
    assert result.sink_speed is not None
    fitting = int(axes.bbox.height / axes.figure.dpi * 72 / _PITCH) - 2
    bars = _bars(result.budget, max(1, min(fitting, _SHOWN)))
    values = COVERAGE_FACTOR * np.array([value for _, value in bars]) / result.sink_speed * 100
    places = np.arange(len(bars))
    drawn = axes.barh(places, values, color=DROPS[0], height=0.6)
    drawn[-1].set(facecolor="white", edgecolor=ACCENT, hatch="/////", linewidth=1.0)
    for place, value in zip(places, values, strict=True):
        axes.text(
            value + 0.02 * values.max(), float(place), f"{value:.2f}", va="center", fontsize=SMALL, color=INK
        )
    names = ["\n".join(balanced(name, LABEL_WIDTH, SMALL)) for name, _ in bars]
    axes.set_yticks(places, names, linespacing=0.95)
    axes.set_xlim(0, values.max() * 1.2)
    axes.invert_yaxis()
    indent = -(LABEL_WIDTH + 4) * axes.figure.dpi / 72 / axes.bbox.width
    plain(axes, "Where the uncertainty comes from", "± in percent of the speed", indent=indent)
    axes.grid(False, axis="y")
    axes.tick_params(axis="y", length=0)


def _bars(budget: list[BudgetLine], most: int) -> list[tuple[str, float]]:
    """Return names and lengths: the ``most`` sources that matter, the rest, and all of them together."""
    lines = sorted(budget, key=lambda line: -line.standard_uncertainty)
    total = combined(lines)
    shown = [line for line in lines[:most] if line.standard_uncertainty > _NEGLIGIBLE * total]
    bars = [(line.source, line.standard_uncertainty) for line in shown]
    if lines[len(shown) :]:
        bars.append(("everything else", combined(lines[len(shown) :])))
    return [*bars, ("all together", total)]
