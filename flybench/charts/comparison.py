"""Figure of comparisons: a row for each pair with its interval, the line of "no difference", and means."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from flybench.charts.style import ACCENT, INK, MUTED, SMALL, plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@dataclass(frozen=True)
class IntervalRow:
    """One pair: its name, value and expanded uncertainty (k = 2), and what stands at the right."""

    name: str
    value: float
    expanded: float
    note: str = ""
    is_mean: bool = False


def odds_text(odds: float) -> str:
    """Return odds as a reader takes them: whole percents, never 0 or 100.

    >>> odds_text(0.9999)
    'over 99 %'
    """
    percent = odds * 100
    if percent > 99:
        return "over 99 %"
    return "under 1 %" if percent < 1 else f"{percent:.0f} %"


def intervals(
    axes: Axes, rows: Sequence[IntervalRow], alike: float, title: str, unit: str, noted: str
) -> None:
    """Draw values with k = 2 from top to bottom; hollow where the interval holds ``alike``, means as diamonds.

    Parameters: alike, the value of no difference; title; unit, of the axis below; noted, head of the notes.
    """
    axes.axvline(alike, color=MUTED, linewidth=0.9, zorder=1)
    for place, row in enumerate(rows):
        y = len(rows) - 1 - place
        apart = abs(row.value - alike) > row.expanded
        colour = ACCENT if row.is_mean else INK
        axes.errorbar(
            row.value,
            y,
            xerr=row.expanded,
            fmt="D" if row.is_mean else "o",
            color=colour,
            markerfacecolor=colour if apart else "white",
            markersize=5.5 if row.is_mean else 4.5,
            capsize=2.5,
            linewidth=1.1,
        )
        _beside(axes, y, row.note, INK)
    means = sum(row.is_mean for row in rows)
    if means:
        axes.axhline(means - 0.5, color=MUTED, linewidth=0.6)
    _beside(axes, len(rows) - 0.4, noted, MUTED)
    axes.set_yticks(range(len(rows)), [row.name for row in reversed(rows)], fontsize=SMALL)
    axes.set_ylim(-0.6, len(rows) - 0.4)
    plain(axes, title, unit)
    axes.grid(False, axis="y")


def _beside(axes: Axes, y: float, text: str, colour: str) -> None:
    """Write to the right of the axes at a row's height."""
    axes.annotate(
        text,
        (1.0, y),
        xycoords=axes.get_yaxis_transform(),
        xytext=(6, 0),
        textcoords="offset points",
        va="center",
        fontsize=SMALL,
        color=colour,
        annotation_clip=False,
    )
