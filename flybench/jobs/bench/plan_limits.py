"""What stops a wish, and what the user's own sizes bring with them, in words."""

from __future__ import annotations

import math
from collections.abc import Callable

from flybench.bench.plan.search import (
    FARTHEST,
    MOST_DROPS,
    SETTLED_FRAMES,
    STEP,
    TALLEST_COLUMN,
    WIDEST_RATIO,
)
from flybench.bench.plan.set_up import CARD_HEIGHT, LEAST_SHARE, SIDES, SQUARE_PX, SetUp
from flybench.bench.sheet.settings import BAR_UNCERTAINTY
from flybench.bench.view import card
from flybench.jobs.bench.plan_reasons import given, mm, spread_of
from flybench.quantity import COVERAGE_FACTOR
from flybench.statistics.budget import BudgetLine


def stoppers(plan: SetUp) -> list[str]:
    """Return what keeps the wish from being met: what cannot be seen, else what is too uncertain."""
    return _unseen(plan) or _uncertain(plan)


def _unseen(plan: SetUp) -> list[str]:
    wide = plan.card_picture * SIDES
    checks = (
        (
            not plan.settles,
            f"let go at rest, the fly has {given(LEAST_SHARE)} of its speed only after "
            f"{mm(plan.wish.settling_depth(LEAST_SHARE))}, and {mm(plan.seen)} of its fall can be seen",
        ),
        (
            plan.settles and not math.isfinite(plan.own),
            f"{mm(plan.seen)} of fall at {plan.frame_rate:g} Hz are too few frames to fit",
        ),
        (
            plan.tank < card.width(),
            f"the card is {mm(card.width())} wide and does not fit in {mm(plan.tank)}",
        ),
        (
            plan.card_picture < CARD_HEIGHT or wide < card.width(),
            f"the picture takes in {mm(wide)} x {mm(plan.card_picture)} at the card, whose strips are "
            f"{mm(card.width())} x {mm(CARD_HEIGHT)}",
        ),
        (
            plan.square_px < SQUARE_PX - 1e-6,
            f"the card's squares are {plan.square_px:.0f} pixels in 1080p, and {SQUARE_PX:.0f} are needed",
        ),
    )
    return [text for holds, text in checks if holds]


def _uncertain(plan: SetUp) -> list[str]:
    """Return every source that alone exceeds the wish, the worst first; where none does, the largest.

    What a taller column would still buy down does not count as stopping it.
    """
    bought = set() if plan.wish.column or plan.column >= TALLEST_COLUMN else _BOUGHT_BY_HEIGHT
    walls = [BudgetLine("walls", plan.walls)] if plan.wish.free_water else []
    lines = sorted([*plan.budget, *walls], key=lambda line: -line.standard_uncertainty)
    alone = [
        line
        for line in lines
        if COVERAGE_FACTOR * line.standard_uncertainty > plan.wish.precision and line.source not in bought
    ]
    return [
        f"{_LIMITS[line.source](plan)}: {spread_of(COVERAGE_FACTOR * line.standard_uncertainty)}"
        for line in alone or lines[:1]
    ]


def _no_farther(plan: SetUp) -> str:
    """Say why the camera does not stand farther away."""
    if plan.wish.distance:
        return "as you gave it"
    if plan.distance >= FARTHEST - STEP / 2:
        return "the farthest advised"
    return f"farther, the card's squares would have under {SQUARE_PX:.0f} pixels in 1080p"


_BOUGHT_BY_HEIGHT = {"reading the track", "history force"}
_LIMITS: dict[str, Callable[[SetUp], str]] = {
    "drop-to-drop spread": lambda p: (
        f"drops differ by {given(p.wish.spread)}, and {p.drops} of them"
        f"{', the most advised,' if p.drops == MOST_DROPS else ''} average that only so far"
    ),
    "gap between scale and fall": lambda p: (
        f"the typed gap is known to ±{mm(COVERAGE_FACTOR * p.wish.gap_uncertainty)}, seen from "
        f"{mm(p.distance)} ({_no_farther(p)})"
    ),
    "camera distance": lambda p: f"the typed camera distance of {mm(p.distance)}",
    "fall plane": lambda p: f"the typed place of the fall, {mm(p.depth)} behind the tank's front",
    "card or camera not square to the fall": lambda p: (
        f"card and fall are parallel only to ±1 degree, seen from {mm(p.distance)} ({_no_farther(p)})"
    ),
    "print size of the card": lambda _: (
        f"a ruler reads the card's bar, {mm(card.BAR)}, to ±{mm(COVERAGE_FACTOR * BAR_UNCERTAINTY)}"
    ),
    "reading the track": lambda p: f"the fit has {mm(p.seen)} of fall at {p.frame_rate:g} Hz",
    "history force": lambda p: f"over {mm(p.seen)} of fall the fly is too long on its way to its speed",
    "time base": lambda _: "the phone's clock",
    "walls": lambda p: f"the published wall formulas differ, even in a tank {mm(p.tank)} wide",
}


def warnings_about(plan: SetUp) -> list[str]:
    """Return what the user's own sizes bring with them, though the wish may be met."""
    half = plan.wish.fly_width / 2
    checks = (
        (
            plan.blur > half,
            f"the fly smears over {mm(plan.blur)}, more than half its width: use a faster frame rate",
        ),
        (
            plan.settled_frames < SETTLED_FRAMES,
            f"only {plan.settled_frames:.0f} settled frames, {SETTLED_FRAMES} wanted: "
            "use a taller column or a faster frame rate",
        ),
        (
            plan.seen < plan.column,
            f"the picture takes in {mm(plan.seen)} of the column of {mm(plan.column)}, and only that counts",
        ),
        (
            plan.column < CARD_HEIGHT,
            f"the card's strips are {mm(CARD_HEIGHT)} tall: cover what stands out of the water",
        ),
        (
            plan.wish.fly_width > WIDEST_RATIO * plan.tank,
            f"the fly is wider than a fifteenth of the tank, and the measurement will be flagged for it: "
            f"{mm(plan.wish.fly_width / WIDEST_RATIO)} would do",
        ),
    )
    return [text for holds, text in checks if holds]
