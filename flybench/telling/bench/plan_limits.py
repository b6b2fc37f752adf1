"""What keeps a plan from its goal, and what the user's own sizes bring with them, in words."""

from __future__ import annotations

import math
from collections.abc import Callable

from flybench.bench.plan.search import (
    FARTHEST,
    FRAME_RATES,
    MOST_DROPS,
    SETTLED_FRAMES,
    STEP,
    TALLEST_COLUMN,
    WIDEST_RATIO,
)
from flybench.bench.plan.set_up import CARD_HEIGHT, LEAST_SHARE, SIDES, SQUARE_PX, BenchSetUp
from flybench.bench.sheet.settings import BAR_UNCERTAINTY
from flybench.bench.view import card
from flybench.quantity import COVERAGE_FACTOR
from flybench.statistics.budget import BudgetLine
from flybench.telling.bench.plan_advice import given, mm, spread_of
from flybench.telling.wording import counted


def stoppers(plan: BenchSetUp) -> list[str]:
    """Return in whole sentences what keeps the goal from being reached: what cannot be seen, else what is too uncertain."""
    return _unseen(plan) or _uncertain(plan)


def _unseen(plan: BenchSetUp) -> list[str]:
    wide = plan.card_picture * SIDES
    checks = (
        (
            not plan.settles,
            f"Let go at rest, the fly has {given(LEAST_SHARE)} of its speed only after "
            f"{mm(plan.wish.settling_depth(LEAST_SHARE))}, and {mm(plan.seen)} of its fall can be seen.",
        ),
        (
            plan.settles and not math.isfinite(plan.own),
            f"{mm(plan.seen)} of fall at {plan.frame_rate:g} Hz give too few frames to fit.",
        ),
        (
            plan.tank < card.width(),
            f"The card is {mm(card.width())} wide and does not fit into a tank of {mm(plan.tank)}.",
        ),
        (
            plan.card_picture < CARD_HEIGHT or wide < card.width(),
            f"Where the card stands, the picture takes in {mm(wide)} x {mm(plan.card_picture)}, and the card is "
            f"{mm(card.width())} x {mm(CARD_HEIGHT)}.",
        ),
        (
            plan.square_px < SQUARE_PX - 1e-6,
            f"A square of the card is {plan.square_px:.0f} pixels wide in 1080p, and it needs {SQUARE_PX:.0f}.",
        ),
    )
    return [text for holds, text in checks if holds]


def _uncertain(plan: BenchSetUp) -> list[str]:
    """Return every source that alone exceeds the goal, the worst first; where none does, the largest.

    What a taller column would still lower does not count as stopping it.
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
        f"{_SOURCES[line.source](plan)}: {spread_of(COVERAGE_FACTOR * line.standard_uncertainty)}."
        for line in alone or lines[:1]
    ]


def _no_farther(plan: BenchSetUp) -> str:
    """Say why the camera does not stand farther away."""
    if plan.wish.distance:
        return "the distance that you gave"
    if plan.distance >= FARTHEST - STEP / 2:
        return "the farthest that is advised"
    return f"from farther away, a square of the card would be under {SQUARE_PX:.0f} pixels wide in 1080p"


_BOUGHT_BY_HEIGHT = {"reading the track", "history force"}
"""Sources that a taller column lowers."""
_SOURCES: dict[str, Callable[[BenchSetUp], str]] = {
    "drop-to-drop spread": lambda p: (
        f"Drops differ by {given(p.wish.spread)}, and the mean of {p.drops}"
        f"{', the most that is advised,' if p.drops == MOST_DROPS else ''} is only so good"
    ),
    "gap between scale and fall": lambda p: (
        f"The distance from card to fly is known to ±{mm(COVERAGE_FACTOR * p.wish.gap_uncertainty)}, seen from "
        f"{mm(p.distance)} ({_no_farther(p)})"
    ),
    "camera distance": lambda p: f"The camera distance of {mm(p.distance)} is measured with a ruler",
    "fall plane": lambda p: f"The fly falls {mm(p.depth)} behind the tank's front, measured with a ruler",
    "card or camera not square to the fall": lambda p: (
        f"Card and fall are parallel only to ±1 degree, seen from {mm(p.distance)} ({_no_farther(p)})"
    ),
    "print size of the card": lambda _: (
        f"A ruler reads the card's bar, {mm(card.BAR)}, to ±{mm(COVERAGE_FACTOR * BAR_UNCERTAINTY)}"
    ),
    "reading the track": lambda p: f"The track shows {mm(p.seen)} of fall at {p.frame_rate:g} Hz",
    "history force": lambda p: f"Over {mm(p.seen)} of fall the fly is too long on its way to its speed",
    "time base": lambda _: "The phone's clock is only so good",
    "walls": lambda p: f"The published wall formulas differ, even in a tank {mm(p.tank)} wide",
}
"""Each source of the budget in words."""


def _shown(frames: int) -> str:
    """Return a small number of frames in words."""
    return f"Only {counted(frames, 'frame')}" if frames else "No frame"


def _less_blur(plan: BenchSetUp) -> str:
    """Say what helps against a smear: a faster rate, as long as phones have one."""
    faster = plan.frame_rate < FRAME_RATES[-1]
    return (
        "Use a faster frame rate."
        if faster
        else "Bring more light, so that the shutter is open for less long."
    )


def _more_settled(plan: BenchSetUp) -> str:
    """Say what shows the fly settled for longer: more of the fall, and a faster rate only where one is fast enough."""
    taller = "Use a taller column" if plan.seen >= plan.column else "Move the camera farther away"
    settled = plan.seen - plan.approach
    helps = settled > 0 and SETTLED_FRAMES * plan.wish.speed / settled <= FRAME_RATES[-1]
    return f"{taller} or a faster frame rate." if helps else f"{taller}."


def warnings_about(plan: BenchSetUp) -> list[str]:
    """Return in whole sentences what the user's own sizes bring with them, though the goal may be reached."""
    half = plan.wish.fly_width / 2
    checks = (
        (
            plan.blur > half,
            f"The fly smears over {mm(plan.blur)}, more than half its width. {_less_blur(plan)}",
        ),
        (
            plan.settled_frames < SETTLED_FRAMES,
            f"{_shown(round(plan.settled_frames))} will show the fly settled, and {SETTLED_FRAMES} are wanted. "
            f"{_more_settled(plan)}",
        ),
        (
            plan.seen < plan.column,
            f"The picture takes in {mm(plan.seen)} of the column of {mm(plan.column)}, and only that counts.",
        ),
        (
            plan.column < CARD_HEIGHT,
            f"The card's strips are {mm(CARD_HEIGHT)} tall. Cover what stands out of the water.",
        ),
        (
            plan.wish.fly_width > WIDEST_RATIO * plan.tank,
            "The fly is wider than a fifteenth of the tank, and the measurement will carry the flag narrow-tank. A tank "
            f"{mm(plan.wish.fly_width / WIDEST_RATIO)} wide would do.",
        ),
    )
    return [text for holds, text in checks if holds]
