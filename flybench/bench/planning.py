"""What a run needs for a wanted precision: column, tank, frame rate, camera distance, card, drops.

Every part is sized from the formulas the measurement itself uses. The fit, the card's place and the
walls are each allowed a third of the wanted precision; the drops must do with what is left. Where
that fails, smaller shares are tried, and the design with the least uncertainty is kept.

Relative uncertainties throughout, of the sink speed in free water. Left out as small beside a
percent: the camera's clock (some 0.01 %), reading the card's corners (0.02 %) and the history force,
which the four-parameter fit leaves as 0.1 to 0.2 %.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from flybench.bench import card
from flybench.bench.planning_terms import (
    FOCAL,
    Wish,
    card_place,
    fit_share,
    lean_share,
    picture_height,
    settling_depth,
    small_sample,
    wall_share,
)
from flybench.bench.settings import BAR_UNCERTAINTY
from flybench.quantity import COVERAGE_FACTOR
from flybench.uncertainty import BudgetLine, combined

FRAME_RATES = (30.0, 60.0, 120.0, 240.0)
"""What phones offer [Hz]."""
FEWEST_DROPS, MOST_DROPS = 3, 12
WIDEST_RATIO = 0.03
"""Advised limit of fly over tank width [-]; above it the wall formulas differ by percents."""
WIDEST_TANK, TALLEST_COLUMN = 0.6, 1.0
"""What fits on a bench and can still be carried when empty [m]."""
NEAREST, FARTHEST = 0.30, 2.0
"""Lens to tank: where a phone takes in the whole card, and where its picture is still steady and lit [m]."""
SHORTEST_COLUMN = 0.10
"""Visible height below which a let-go is hardly out of the picture before the bottom comes [m]."""
CARD_WIDTHS = 3.0
"""Gap between card and fall over the fly's width: near for the scale, clear of the fly (judgement) [-]."""
LEAST_GAP = 0.012
"""Nearest that the card is put behind the fall [m]."""
SETTLED_FRAMES = 20
"""Frames wanted after the fly has settled: enough to see whether it has."""
LEAST_SHARE = 0.95
"""Share of terminal speed below which the fit would be carried by the form of the fall alone [-]."""
SQUARE_PX = 30.0
"""Side of a card square at which nearly all its corners are found in an ordinary clip [px]."""
MARGIN = 1.1
"""Picture height over the visible column, to keep both ends in the picture [-]."""
SHUTTER = 0.5
"""Share of a frame the shutter is open, as in ordinary indoor light [-]."""
TALLER = 1.25
"""How much taller a column a slower frame rate may ask for than the fastest [-]."""
STEP = 0.01
"""Sizes are advised to the next full centimetre [m]."""

_SHARE = 1 / 3
_SMALLER = (1.0, 0.7, 0.5, 0.35, 0.25)
_ANY_ALLOWANCE = np.geomspace(0.0005, 0.05, 8)


@dataclass(frozen=True)
class Design:
    """One sized set-up; lengths [m], rate [Hz]. ``distance`` is lens to tank, ``depth`` tank front to fly."""

    wish: Wish
    allowance: float
    tank: float
    gap: float
    distance: float
    column: float
    frame_rate: float
    drops: int

    @property
    def depth(self) -> float:
        """Tank front to where the fly falls, down the middle of a square tank [m]."""
        return self.tank / 2

    @property
    def pixel(self) -> float:
        """Size of a pixel where the fly falls [m]."""
        return picture_height(self.wish, self.distance, self.depth) / self.wish.pixels

    @property
    def square_px(self) -> float:
        """Side of a card square in the picture [px]."""
        far = picture_height(self.wish, self.distance, self.depth + self.gap)
        return card.SQUARE * self.wish.pixels / far

    @property
    def blur(self) -> float:
        """How far the fly moves while the shutter is open [m]."""
        return self.wish.speed / self.frame_rate * SHUTTER

    @property
    def settled_frames(self) -> float:
        """Frames that see the fly settled."""
        return max(self.column - self.wish.approach, 0.0) / self.wish.speed * self.frame_rate

    @property
    def budget(self) -> list[BudgetLine]:
        """Standard uncertainties over the sink speed [-]."""
        gap, distance = card_place(self.wish, self.gap, self.distance, self.depth)
        lean = lean_share(self.wish, self.column, self.distance, self.depth)
        root = math.sqrt(self.drops)
        return [
            BudgetLine("spread", small_sample(self.drops) * self.wish.spread / root),
            BudgetLine("walls", wall_share(self.wish, self.tank)),
            BudgetLine("gap", gap),
            BudgetLine("bar", BAR_UNCERTAINTY / card.BAR),
            BudgetLine("distance", distance),
            BudgetLine("perspective", lean / root),
            BudgetLine("fit", fit_share(self.wish, self.column, self.frame_rate, self.pixel) / root),
        ]

    @property
    def expanded(self) -> float:
        """Predicted expanded relative uncertainty of the free-water sink speed, k = 2 [-]."""
        return COVERAGE_FACTOR * combined(self.budget)

    @property
    def expanded_in_tank(self) -> float:
        """The same for the speed in this tank, walls left in: what counts between flies of one tank [-]."""
        return COVERAGE_FACTOR * combined([line for line in self.budget if line.source != "walls"])

    @property
    def meets(self) -> bool:
        """Whether the wish is met, by a fly that settles within the column."""
        return self.expanded <= self.wish.precision and self.settles

    @property
    def settles(self) -> bool:
        """Whether the fly, let go at rest, comes to LEAST_SHARE of its speed within the column."""
        return self.column >= settling_depth(self.wish, LEAST_SHARE, 0.0)


def plan(wish: Wish) -> Design:
    """Return the first design that meets the wish, or else the one with the least uncertainty."""
    tried = []
    for smaller in _SMALLER:
        tried.append(design(wish, _SHARE * smaller * wish.precision))
        if tried[-1].meets:
            return tried[-1]
    tried += [design(wish, float(allowance)) for allowance in _ANY_ALLOWANCE]
    return min(tried, key=lambda one: one.expanded)


def design(wish: Wish, allowance: float) -> Design:
    """Return the set-up whose fit, card place and walls each stay under ``allowance`` (k = 2) if they can."""
    tank = smallest(
        lambda width: (
            wish.fly_width <= WIDEST_RATIO * width and COVERAGE_FACTOR * wall_share(wish, width) <= allowance
        ),
        card.width() + 2 * STEP,
        WIDEST_TANK,
    )
    gap = wish.gap if wish.gap is not None else _card_gap(wish, tank)
    stand = _Stand(wish, allowance, tank / 2, gap)
    rate = wish.frame_rate or _frame_rate(wish, stand)
    tall = wish.column or stand.column(rate)
    return _with_drops(Design(wish, allowance, tank, gap, stand.distance(tall), tall, rate, MOST_DROPS))


@dataclass(frozen=True)
class _Stand:
    """Where the camera stands for a column, and how tall a column must be, which depend on each other."""

    wish: Wish
    allowance: float
    depth: float
    gap: float

    @property
    def reach(self) -> float:
        """The farthest the camera may stand: its squares still large enough [m]."""
        squares = FOCAL * card.SQUARE * self.wish.pixels / SQUARE_PX
        return max(NEAREST, min(FARTHEST, squares - (self.depth + self.gap) / self.wish.index))

    def distance(self, column: float) -> float:
        """Return the least distance that takes in the column and keeps the scale sure [m]."""
        filled = FOCAL * MARGIN * column - self.depth / self.wish.index
        return max(smallest(lambda far: self.sure(far, column), NEAREST, self.reach), _up(filled))

    def sure(self, far: float, column: float) -> bool:
        """Return whether the card's place and the lean of the fall stay under the allowance."""
        lean = lean_share(self.wish, column, far, self.depth) / math.sqrt(FEWEST_DROPS)
        place = card_place(self.wish, self.gap, far, self.depth)
        return COVERAGE_FACTOR * math.hypot(*place, lean) <= self.allowance

    def column(self, rate: float) -> float:
        """Return the least visible column: to settle, for the frames after it, and for the fit [m]."""
        least = self.wish.approach + SETTLED_FRAMES * self.wish.speed / rate
        tallest = min(TALLEST_COLUMN, (self.reach + self.depth / self.wish.index) / FOCAL / MARGIN)
        return smallest(lambda tall: tall >= least and self.sharp(tall, rate), SHORTEST_COLUMN, tallest)

    def sharp(self, column: float, rate: float) -> bool:
        """Return whether the fit stays under the allowance."""
        pixel = picture_height(self.wish, self.distance(column), self.depth) / self.wish.pixels
        fit = fit_share(self.wish, column, rate, pixel)
        return COVERAGE_FACTOR * fit / math.sqrt(FEWEST_DROPS) <= self.allowance


def smallest(enough: Callable[[float], bool], low: float, high: float) -> float:
    """Return the least whole centimetre from ``low`` to ``high`` [m] that is enough, or the largest."""
    first, last = math.ceil(low / STEP - 1e-9), math.floor(high / STEP + 1e-9)
    while first < last:
        middle = (first + last) // 2
        first, last = (first, middle) if enough(middle * STEP) else (middle + 1, last)
    return round(last * STEP, 9)


def _up(length: float) -> float:
    """Return the next whole centimetre [m]."""
    return round(math.ceil(length / STEP - 1e-9) * STEP, 9)


def _card_gap(wish: Wish, tank: float) -> float:
    """Return a gap that keeps the fly clear of the card and the card near the fall [m]."""
    return min(tank / 2, max(CARD_WIDTHS * wish.fly_width, LEAST_GAP))


def _frame_rate(wish: Wish, stand: _Stand) -> float:
    """Return the lowest rate that neither smears the fly nor asks for a much taller column [Hz]."""
    fastest = FRAME_RATES[-1]
    limit = wish.column or TALLER * stand.column(fastest)
    for rate in FRAME_RATES:
        sharp = wish.speed / rate * SHUTTER <= wish.fly_width / 2
        if sharp and stand.column(rate) <= limit:
            return rate
    return fastest


def _with_drops(done: Design) -> Design:
    """Return the design with the fewest drops that meet the wish, or the most."""
    fewer = (replace(done, drops=drops) for drops in range(FEWEST_DROPS, MOST_DROPS))
    return next((one for one in fewer if one.meets), done)
