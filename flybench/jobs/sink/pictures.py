"""Pictures of what is asked about sinking."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flybench.charts.comparison import IntervalRow, intervals, odds_text
from flybench.charts.figure import Picture
from flybench.quantity import COVERAGE_FACTOR
from flybench.shop.next_fly.predicting import Prediction
from flybench.shop.speeds.compared_flies import Compared
from flybench.shop.speeds.one_change import OneChange

if TYPE_CHECKING:
    from flybench.sinking.model.law import Law

_WIDTH = 6.5
"""Width of a picture of rows [inch]: a page of text (judgement)."""
_MOST_MEASURED = 30
"""Measured flies drawn beside predicted ones (judgement)."""
_ROW, _REST, _LEAST = 0.24, 0.9, 2.2
"""Height of a predicted fly, of title and axis, and the least height of the picture [inch] (judgement)."""
_PAIR_ROW, _PAIR_REST = 0.3, 1.0
"""Height of a pair, and of title and axis [inch] (judgement)."""
_LAW_SIZE = 5.5, 4.0
"""Width and height of the picture of a law [inch] (judgement)."""


def prediction_picture(found: Prediction) -> Picture:
    """Return the picture of predicted flies, with the measured flies of their styles beside them."""
    from flybench.charts.prediction import predicted_speeds

    styles = {one.build.style for one in found.flies}
    near = [one for one in found.learned.measured if one.build.style in styles][:_MOST_MEASURED]
    names = [f"{one.build.code} {one.bead or ''}".strip() for one in found.flies]
    height = max(_ROW * (len(near) + len(names)) + _REST, _LEAST)
    forecasts = [one.forecast for one in found.flies]
    return Picture(_WIDTH, height, lambda axes: predicted_speeds(axes, forecasts, names, near))


def law_picture(law: Law) -> Picture:
    """Return the picture of a drag law."""
    from flybench.charts.drag_law import drag_area_against_reynolds
    from flybench.sinking.drag.shape import length_name

    return Picture(*_LAW_SIZE, lambda axes: drag_area_against_reynolds(axes, law, length_name(law.build)))


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
    height = _PAIR_ROW * len(rows) + _PAIR_REST
    return Picture(_WIDTH, height, lambda axes: intervals(axes, rows, alike, title, unit, noted))
