"""What a run needs for a wanted precision: column, tank, frame rate, camera distance and drops.

Every size follows from the formulas the measurement itself uses. What no size changes (the bar read with a
ruler, the clock) is taken off the wished variance first. Of the rest a quarter each goes to the card's place
and to the fit (and to the walls, where free water is wanted), and the drops must do with what is left. Where
that fails, smaller parts are tried; where all fail, a set-up about as good as can be is returned.

Relative uncertainties throughout. Left out as small beside these: the card's corners (some 0.01 %), and a
rolling shutter, for the phone stands upright.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from flybench.bench.plan.set_up import CARD_HEIGHT, MARGIN, SIDES, SQUARE_PX, BenchSetUp, fixed_lines
from flybench.bench.plan.terms import PlanGoal, fit_share, history_share, wall_share
from flybench.bench.view import card
from flybench.bench.view.geometry import PHONE_FOCAL
from flybench.quantity import COVERAGE_FACTOR
from flybench.statistics.budget import combined

FRAME_RATES = (30.0, 60.0, 120.0, 240.0)
"""What phones offer [Hz]."""
FEWEST_DROPS, MOST_DROPS = 3, 12
"""Drops planned for [-]: from three on their spread can be seen at all; twelve are an hour at the tank (judgement)."""
NARROWEST_TANK = card.width() + 0.02
"""A tank that the card still fits in [m]."""
WIDEST_TANK, WIDEST_TANK_FOR_FREE_WATER = 0.3, 0.6
"""What can be carried when empty, and what fits on a bench at all [m]."""
WIDEST_RATIO = 1 / 15
"""Advised limit of fly over tank width [-]: above it a measurement is flagged."""
LOWEST_COLUMN, TALLEST_COLUMN = CARD_HEIGHT, 1.0
"""The card's strips under water, and what can still be filled and reached into [m]."""
NEAREST, FARTHEST = 0.3, 1.5
"""Lens to tank [m]: where a phone's picture is still true at its edges, and still sharp and well lit."""
SETTLED_FRAMES = 20
"""Frames wanted after the fly has settled: enough to see whether it has."""
TALLER = 1.25
"""How much taller a column a slower frame rate may ask for than the fastest [-]."""
STEP = 0.01
"""Sizes are advised to the next full centimetre [m]."""

_PARTS = (1 / 4, 1 / 8, 1 / 16, 1 / 32, 1 / 64)
"""Shares of the free variance tried for the card's place and for the fit each [-]: a quarter leaves half of it to the
drops; each next one asks half as much of them and more of the tank (judgement)."""
_ANY_ALLOWANCE = np.geomspace(0.02, 0.0005, 9)
"""Allowances tried where no share of the wish works (relative, k = 2) [-]: from what a hasty set-up gives to what no phone
reaches (judgement)."""
_AS_GOOD = 1.01
"""How much worse than the best a smaller set-up may be and still be advised [-]: one per cent of an uncertainty, which
is rounded to two digits anyway (judgement)."""


def plan(wish: PlanGoal) -> BenchSetUp:
    """Return the first set-up that meets the wish, or else the least one that is as good as the best."""
    rest = wish.precision**2 - (COVERAGE_FACTOR * combined(fixed_lines())) ** 2
    for part in _PARTS if rest > 0 else ():
        done = set_up(wish, math.sqrt(part * rest))
        if done.meets:
            return done
    tried = [set_up(wish, float(allowance)) for allowance in _ANY_ALLOWANCE]
    met = [one for one in tried if one.meets]
    best = min(one.wanted for one in tried)
    return met[0] if met else next(one for one in tried if one.wanted <= _AS_GOOD * best)


def set_up(wish: PlanGoal, allowance: float) -> BenchSetUp:
    """Return the set-up whose card place and fit each stay under ``allowance`` [share of the speed, k = 2] if they can."""
    stand = _Stand(wish, allowance, wish.tank_width or _tank(wish, allowance))
    rate = wish.frame_rate or stand.frame_rate
    column = wish.column or stand.column(rate)
    done = stand.at(column, rate, MOST_DROPS)
    fewer = (replace(done, drops=drops) for drops in range(FEWEST_DROPS, MOST_DROPS))
    return next((one for one in fewer if one.meets), done)


def _tank(wish: PlanGoal, allowance: float) -> float:
    """Return the least width that keeps the walls' doubt small [m].

    Where free water is wanted it gets the same part as the others; else it may be as large as the wish
    itself, which the speed in the tank does not feel.
    """
    limit, widest = (
        (allowance, WIDEST_TANK_FOR_FREE_WATER) if wish.free_water else (wish.precision, WIDEST_TANK)
    )

    def enough(width: float) -> bool:
        roomy = wish.fly_width <= WIDEST_RATIO * width
        return roomy and COVERAGE_FACTOR * wall_share(wish, width) <= limit

    return smallest(enough, NARROWEST_TANK, widest)


@dataclass(frozen=True)
class _Stand:
    """Where the camera stands for a column, and how tall a column must be, which depend on each other."""

    wish: PlanGoal
    allowance: float
    tank: float

    def at(self, column: float, rate: float, drops: int = FEWEST_DROPS) -> BenchSetUp:
        """Return the set-up with this column, the camera where it should stand."""
        return BenchSetUp(self.wish, self.tank, self.distance(column, rate), column, rate, drops)

    @property
    def behind(self) -> float:
        """How far behind the tank's front the fly seems to fall [m]."""
        return self.tank / 2 / self.wish.index

    @property
    def reach(self) -> float:
        """The farthest the camera may stand: card squares still large enough [m]."""
        at = BenchSetUp(self.wish, self.tank, FARTHEST, TALLEST_COLUMN, FRAME_RATES[0], FEWEST_DROPS)
        behind = self.behind + at.gap / self.wish.index
        squares = PHONE_FOCAL * card.SQUARE / SQUARE_PX * at.picture / at.pixel
        return max(NEAREST, min(FARTHEST, _down(squares - behind)))

    def distance(self, column: float, rate: float) -> float:
        """Return the least distance that takes in column and card and keeps the card's place sure [m]."""
        if self.wish.distance:
            return self.wish.distance
        high = MARGIN * max(column, CARD_HEIGHT, card.width() / SIDES)
        sees = max(NEAREST, PHONE_FOCAL * high - self.behind)

        def sure(far: float) -> bool:
            one = BenchSetUp(self.wish, self.tank, far, column, rate, FEWEST_DROPS)
            return COVERAGE_FACTOR * combined(one.card_lines) <= self.allowance

        return smallest(sure, min(sees, self.reach), self.reach)

    @property
    def frame_rate(self) -> float:
        """The lowest rate that neither smears the fly nor asks for a much taller column [Hz]."""
        limit = self.wish.column or TALLER * self.column(FRAME_RATES[-1])
        for rate in FRAME_RATES:
            sharp = self.at(LOWEST_COLUMN, rate).blur <= self.wish.fly_width / 2
            if sharp and self.column(rate) <= limit:
                return rate
        return FRAME_RATES[-1]

    def column(self, rate: float) -> float:
        """Return the least visible column: to settle, for the frames after it, and for the fit [m]."""
        shown = ((self.wish.distance or self.reach) + self.behind) / PHONE_FOCAL / MARGIN
        tallest = max(min(TALLEST_COLUMN, _down(shown)), STEP)
        return smallest(lambda tall: self.tall_enough(tall, rate), min(LOWEST_COLUMN, tallest), tallest)

    def tall_enough(self, column: float, rate: float) -> bool:
        """Return whether the fly settles and is then seen long enough, the fit under the allowance."""
        one = self.at(column, rate)
        if one.seen < one.approach or one.settled_frames < SETTLED_FRAMES:
            return False
        fit = fit_share(self.wish, column, rate, one.pixel) / math.sqrt(FEWEST_DROPS)
        return COVERAGE_FACTOR * math.hypot(fit, history_share(self.wish, column, rate)) <= self.allowance


def smallest(enough: Callable[[float], bool], low: float, high: float) -> float:
    """Return the least whole centimetre from ``low`` to ``high`` [m] that is enough, or the largest."""
    first, last = math.ceil(low / STEP - 1e-9), math.floor(high / STEP + 1e-9)
    while first < last:
        middle = (first + last) // 2
        first, last = (first, middle) if enough(middle * STEP) else (middle + 1, last)
    return round(last * STEP, 9)


def _down(length: float) -> float:
    """Return the whole centimetre below [m]."""
    return round(math.floor(length / STEP + 1e-9) * STEP, 9)
