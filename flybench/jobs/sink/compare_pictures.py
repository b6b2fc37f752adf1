"""Pictures of comparisons, written whole or not at all."""

from __future__ import annotations

from pathlib import Path

from flybench.charts.comparison import Row, intervals
from flybench.jobs.sink.compare import Compared
from flybench.jobs.sink.one_change import OneChange
from flybench.jobs.sink.pictures import save_picture
from flybench.quantity import COVERAGE_FACTOR

_WIDTH, _ROW, _REST = 6.5, 0.3, 1.0


def odds_text(odds: float) -> str:
    """Return odds as a reader takes them: whole percents, never 0 or 100.

    >>> odds_text(0.9999)
    'over 99 %'
    """
    percent = odds * 100
    if percent > 99:
        return "over 99 %"
    return "under 1 %" if percent < 1 else f"{percent:.0f} %"


def plot_compared(found: Compared, path: Path) -> None:
    """Write the picture of pairs: by how much the first of each is faster [cm/s], k = 2, and the odds."""
    rows = [
        Row(
            f"{pair.found.one.code} − {pair.found.other.code}",
            pair.found.difference * 100,
            pair.found.expanded * 100,
            odds_text(pair.found.odds),
        )
        for pair in found.pairs
    ]
    title = "Difference of sink speeds (k = 2); hollow: not told apart"
    _save(path, rows, 0.0, title, "cm/s", "first is faster")


def plot_change(found: OneChange, path: Path) -> None:
    """Write the picture of one change: ratio of speeds of each pair, and the mean over them, k = 2."""
    rows = [
        Row(
            f"{one.pattern}: {one.change}",
            one.pair.found.ratio,
            COVERAGE_FACTOR * one.pair.found.ratio_uncertainty,
            odds_text(one.pair.found.odds),
        )
        for one in found.pairs
    ]
    for mean in (*found.means, *([] if found.mean is None else [found.mean])):
        name = f"mean, {mean.of or 'all pairs'}"
        rows.append(Row(name, mean.ratio, COVERAGE_FACTOR * mean.uncertainty, "", True))
    title = f"Sink speed when the {found.what} alone is changed (k = 2)"
    _save(path, rows, 1.0, title, "times as fast", "it is faster")


def _save(path: Path, rows: list[Row], alike: float, title: str, unit: str, noted: str) -> None:
    height = _ROW * len(rows) + _REST
    save_picture(path, _WIDTH, height, lambda axes: intervals(axes, rows, alike, title, unit, noted))
