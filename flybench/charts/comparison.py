"""Figure of comparisons: a row for each pair with its interval, the line of "no difference", and means."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from flybench.charts.figure import Picture
from flybench.charts.style import ACCENT, INK, MUTED, SMALL, plain
from flybench.quantity import COVERAGE_FACTOR
from flybench.shop.speeds.compared_flies import Compared
from flybench.shop.speeds.one_change import OneChange

if TYPE_CHECKING:
    from matplotlib.axes import Axes


_WIDTH = 6.5
"""Width of the picture [inch]: a page of text (judgement)."""
_ROW, _REST = 0.3, 1.0
"""Height of a pair, and of title and axis [inch] (judgement)."""


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


def compared_picture(found: Compared) -> Picture:
    """Return the picture of pairs: by how much the first of each is faster [cm/s], k = 2, and the odds."""
    rows = [
        IntervalRow(
            f"{pair.found.one.code} − {pair.found.other.code}",
            pair.found.difference * 100,
            pair.found.expanded * 100,
            odds_text(pair.found.odds),
        )
        for pair in found.pairs
    ]
    title = "Difference of sink speeds (k = 2); hollow: cannot be told apart"
    return _of_rows(rows, 0.0, title, "cm/s", "first is faster")


def change_picture(found: OneChange) -> Picture:
    """Return the picture of one change: ratio of speeds of each pair, and the mean over them, k = 2."""
    rows = [
        IntervalRow(
            f"{one.pattern}: {one.change}",
            one.pair.found.ratio,
            COVERAGE_FACTOR * one.pair.found.ratio_uncertainty,
            odds_text(one.pair.found.odds),
        )
        for one in found.pairs
    ]
    for mean in (*found.means, *([] if found.mean is None else [found.mean])):
        name = f"mean, {mean.of or 'all pairs'}"
        rows.append(IntervalRow(name, mean.ratio, COVERAGE_FACTOR * mean.uncertainty, "", True))
    title = f"Sink speed where the {found.what} alone is changed (k = 2)"
    return _of_rows(rows, 1.0, title, "times as fast", "it is faster")


def _of_rows(rows: list[IntervalRow], alike: float, title: str, unit: str, noted: str) -> Picture:
    height = _ROW * len(rows) + _REST
    return Picture(_WIDTH, height, lambda axes: intervals(axes, rows, alike, title, unit, noted))


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
