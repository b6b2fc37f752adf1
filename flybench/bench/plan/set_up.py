"""A set-up at the tank: what the camera sees of it, and what it can be expected to measure."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from flybench.bench.clip.clock import CLOCK_UNCERTAINTY
from flybench.bench.plan.terms import (
    PlanGoal,
    drop_shares,
    fit_share,
    history_share,
    place_shares,
    upright_share,
    wall_share,
)
from flybench.bench.sheet.settings import BAR_UNCERTAINTY
from flybench.bench.view import card
from flybench.bench.view.geometry import PHONE_FOCAL
from flybench.quantity import COVERAGE_FACTOR
from flybench.statistics.budget import BudgetLine, combined

PIXELS, SIDES = 1920, 9 / 16
"""Long side of the picture [px], and its short side over it: 1080p, the phone upright."""
MARGIN = 1.1
"""Picture over what it must take in, to keep the ends in it [-]."""
SQUARE_PX = 24.0
"""Side of a card square below which its corners are no longer found for certain [px]."""
CARD_HEIGHT = card.ROWS["a4"] * card.SQUARE
"""Height of the card's strips [m]."""
NEAREST_GAP, FARTHEST_GAP = 0.010, 0.020
"""Card to where the fly falls [m]: near, for a known gap, and not in the fly's way."""
LEAN = 0.01
"""How far a fall strays along the view, rms over its depth (judgement) [-]."""
SHUTTER = 0.5
"""Share of a frame the shutter is open, as in ordinary indoor light [-]."""
LEAST_SHARE = 0.95
"""Share of terminal speed below which the fit would be carried by the form of the fall alone [-]."""


@dataclass(frozen=True)
class BenchSetUp:
    """One sized set-up; lengths [m], rate [Hz]. ``tank`` is its inner width and depth, ``distance`` lens to
    its front; the fly falls down its middle."""

    wish: PlanGoal
    tank: float
    distance: float
    column: float
    frame_rate: float
    drops: int

    @property
    def depth(self) -> float:
        """Tank front to where the fly falls [m]."""
        return self.tank / 2

    @property
    def gap(self) -> float:
        """Card to where the fly falls: its width and what it may stray, in whole millimetres [m]."""
        clear = math.ceil(1000 * (self.wish.fly_width + 2 * LEAN * self.column) - 1e-6) / 1000
        return min(max(clear, NEAREST_GAP), FARTHEST_GAP)

    @property
    def apparent(self) -> float:
        """Lens to where the fly seems to fall, for the water lifts it [m]."""
        return self.distance + self.depth / self.wish.index

    @property
    def picture(self) -> float:
        """How much the picture's long side takes in where the fly falls [m]."""
        return self.apparent / PHONE_FOCAL

    @property
    def card_picture(self) -> float:
        """How much it takes in where the card stands [m]."""
        return (self.apparent + self.gap / self.wish.index) / PHONE_FOCAL

    @property
    def pixel(self) -> float:
        """Size of a pixel where the fly falls [m]."""
        return self.picture / PIXELS

    @property
    def square_px(self) -> float:
        """Side of a card square in the picture [px]."""
        return card.SQUARE * PIXELS / self.card_picture

    @property
    def seen(self) -> float:
        """How much of the column the picture takes in [m]."""
        return min(self.column, self.picture)

    @property
    def blur(self) -> float:
        """How far the fly moves while the shutter is open [m]."""
        return self.wish.speed / self.frame_rate * SHUTTER

    @property
    def approach(self) -> float:
        """Depth in which the fly, let go at rest, settles as near as the wish needs [m]."""
        return self.wish.settling_depth(self.wish.share)

    @property
    def settled_frames(self) -> float:
        """Frames that see the fly settled [-], not rounded."""
        return max(self.seen - self.approach, 0.0) / self.wish.speed * self.frame_rate

    @cached_property
    def own(self) -> float:
        """Standard uncertainty of one drop's speed from reading its track [-]."""
        return fit_share(self.wish, self.seen, self.frame_rate, self.pixel)

    @cached_property
    def card_lines(self) -> list[BudgetLine]:
        """What carrying the card's scale to the fly adds, the gap first [-]."""
        gap, distance, plane = place_shares(self.wish, self.gap, self.distance, self.depth)
        upright = upright_share(self.wish, self.seen, self.frame_rate, self.apparent, self.pixel)
        return [
            BudgetLine("gap between scale and fall", gap),
            BudgetLine("camera distance", distance),
            BudgetLine("fall plane", plane),
            BudgetLine("card or camera not square to the fall", upright),
        ]

    @cached_property
    def budget(self) -> list[BudgetLine]:
        """Standard uncertainties of the speed in the tank, over it, named as a measurement names them [-]."""
        history = history_share(self.wish, self.seen, self.frame_rate)
        if not math.isfinite(self.own):
            return [BudgetLine("reading the track", math.inf)]
        within, between = drop_shares(self.wish.spread, self.own, self.drops)
        return [
            BudgetLine("drop-to-drop spread", between),
            BudgetLine("reading the track", within),
            BudgetLine("history force", history),
            *self.card_lines,
            *fixed_lines(),
        ]

    @property
    def walls(self) -> float:
        """Standard uncertainty that taking the walls and the water's warmth out adds [-]."""
        return wall_share(self.wish, self.tank)

    @property
    def in_tank(self) -> float:
        """Predicted expanded relative uncertainty of the speed in this tank, k = 2 [-]."""
        return COVERAGE_FACTOR * combined(self.budget)

    @property
    def in_free_water(self) -> float:
        """The same for free water, the walls taken out [-]."""
        return math.hypot(self.in_tank, COVERAGE_FACTOR * self.walls)

    @property
    def wanted(self) -> float:
        """The one of the two that the wish is about [-]."""
        return self.in_free_water if self.wish.free_water else self.in_tank

    @property
    def sees_card(self) -> bool:
        """Whether the whole card is in the picture, in squares large enough, and fits in the tank."""
        high, wide = self.card_picture, self.card_picture * SIDES
        whole = high >= CARD_HEIGHT and wide >= card.width() and self.tank >= card.width()
        return whole and self.square_px >= SQUARE_PX - 1e-6

    @property
    def settles(self) -> bool:
        """Whether the fly comes to LEAST_SHARE of its speed where it can be seen."""
        return self.seen >= self.wish.settling_depth(LEAST_SHARE)

    @property
    def meets(self) -> bool:
        """Whether the wish is met, by a fly that settles before a card that can be read."""
        return self.wanted <= self.wish.precision and self.settles and self.sees_card


def fixed_lines() -> list[BudgetLine]:
    """Return what no size of the set-up changes [-]."""
    return [
        BudgetLine("print size of the card", BAR_UNCERTAINTY / card.BAR),
        BudgetLine("time base", CLOCK_UNCERTAINTY),
    ]
