"""The middle of the report page: the path over a still, the residuals, the speed on the way down, the budget.

Each run fills the room that it has: the still takes its own shape at the left, the curves the rest at the right, and the
budget goes below the still where that is wide, below the curves where it is tall. A run without curves has words there.
"""

from __future__ import annotations

from flybench.bench.measure import Measurement
from flybench.bench.verdict.result import BenchResult
from flybench.charts.budget import LABEL_WIDTH, budget_bars
from flybench.charts.fall import NAME_WIDTH, residual_strips, stripped
from flybench.charts.picture import crop_of, path_over_still
from flybench.charts.speed import speed_against_depth
from flybench.charts.style import BODY, SMALL
from flybench.paper.report.below import write_large
from flybench.paper.report.blank import LEFT, RIGHT, Page

_WIDEST = 0.5
"""Largest share of the page's width for the still where curves stand beside it [-] (judgement)."""
_NARROWEST = 110.0
"""Least width of the still [points]: its marks and words would touch below (judgement)."""
_TITLE = 14.0
"""Height of a title above its axes [points]."""
_BETWEEN = 36.0
"""Room for the words under the still, left of the curves' axes [points]."""
_BUDGET = 108.0
"""Least height of the budget with its title and its scale [points]."""
_WORDS_WIDE = 1.25
"""Width over height of the still from which the words of a run without curves go below it [-] (judgement)."""


def draw_pictures(page: Page, run: Measurement, top: float, bottom: float) -> None:
    """Fill the page between two heights [points] with pictures of the run."""
    left, above, right, below = crop_of(run)
    aspect = (right - left) / (below - above)
    if any(drop.fit for drop in run.result.drops):
        _with_curves(page, run, aspect, top, bottom)
    elif aspect > _WORDS_WIDE:
        low = _still(page, run, aspect, LEFT, top, min((RIGHT - LEFT) / aspect, 0.62 * (bottom - top)))[1]
        write_large(page, run.result, LEFT, low + 24, bottom)
    else:
        tall = min(bottom - top - _TITLE - 6, 0.64 * (RIGHT - LEFT) / aspect)
        side = _still(page, run, aspect, LEFT, top, tall)[0]
        write_large(page, run.result, side + 22, top + 2, bottom)


def _still(
    page: Page, run: Measurement, aspect: float, left: float, top: float, tall: float
) -> tuple[float, float]:
    """Draw the still so tall; return its right and lower edge."""
    first = top + _TITLE
    path_over_still(page.axes(left, first, left + tall * aspect, first + tall), run)
    return left + tall * aspect, first + tall


def _with_curves(page: Page, run: Measurement, aspect: float, top: float, bottom: float) -> None:
    """Put the still at the left, the curves at the right, and the budget where there is room."""
    result = run.result
    whole = bottom - top - _TITLE - 6
    wide = max(min(whole * aspect, _WIDEST * (RIGHT - LEFT)), min(_NARROWEST, whole * aspect))
    side, low = _still(page, run, aspect, LEFT, top, wide / aspect)
    start = max(side, LEFT + _NARROWEST) + _BETWEEN
    beside = bottom
    if result.budget and bottom - low > _BUDGET + 30:
        _budget(page, result, LEFT, side, low + 20, bottom)
    elif result.budget:
        beside = bottom - min(max(_BUDGET, 0.27 * (bottom - top)), 150.0)
        _budget(page, result, start - _BETWEEN + 16, RIGHT, beside + 12, bottom)
    _curves(page, result, start, top, beside)


def _budget(page: Page, result: BenchResult, left: float, right: float, top: float, bottom: float) -> None:
    budget_bars(page.axes(left + LABEL_WIDTH + 4, top + _TITLE, right, bottom - 20), result)


def _curves(page: Page, result: BenchResult, left: float, top: float, bottom: float) -> None:
    """Draw the residuals of each drop over the speed on the way down."""
    shown = stripped(result)
    first, right = top + _TITLE + 10, RIGHT - NAME_WIDTH
    middle = first + min(0.4 + 0.035 * len(shown), 0.6) * (bottom - first - 76)
    high = (middle - first) / len(shown)
    strips = [
        page.axes(left, first + high * number, right, first + high * (number + 1) - 3)
        for number in range(len(shown))
    ]
    page.write(left, top + 9, "Depth less the fitted fall, mm", BODY, fontweight="bold")
    page.write(left, top + 20, residual_strips(strips, shown), SMALL)
    speed_against_depth(page.axes(left, middle + 54, RIGHT, bottom - 22), result)
    page.figure.axes[-1].yaxis.set_label_coords(-27 / (RIGHT - left), 0.5)
