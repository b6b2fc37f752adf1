"""What a plan advises: every size to set up, with its reason in words and the numbers behind it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from flybench.bench.plan.search import FEWEST_DROPS
from flybench.bench.plan.set_up import CARD_HEIGHT, LEAN, SQUARE_PX, BenchSetUp
from flybench.bench.plan.terms import ASSURANCE
from flybench.bench.view import card
from flybench.quantity import COVERAGE_FACTOR

RUNS_AS_GOOD = f"{10 * ASSURANCE:.0f} of 10"
"""Share of runs that come out as good as planned, in words."""


@dataclass(frozen=True)
class Advice:
    """One size to set up: its SI value, how it is written, why, and the numbers behind the reason."""

    item: str
    value: float
    unit: str
    text: str
    reason: str
    numbers: Mapping[str, float]


def advice_on(plan: BenchSetUp) -> list[Advice]:
    """Return every size with its reason."""
    return [_column(plan), _tank(plan), _rate(plan), _distance(plan), _card(plan), _drops(plan)]


def _column(plan: BenchSetUp) -> Advice:
    read = f"from which one drop is read to {spread_of(COVERAGE_FACTOR * plan.own)}"
    if not math.isfinite(plan.own):
        read = "too few to read a drop from"
    under = f", and keeps the card's strips, {mm(CARD_HEIGHT)} tall, under water"
    reason = (
        f"Let go at rest, the fly has {given(plan.wish.share)} of its speed after {mm(plan.approach)} of fall. "
        f"The rest of the column shows it settled in {plan.settled_frames:.0f} frames, {read}"
        f"{under if plan.column >= CARD_HEIGHT else ''}."
    )
    numbers = {"approach_m": plan.approach, "settled_frames": plan.settled_frames, "seen_m": plan.seen}
    return Advice("column", plan.column, "m", mm(plan.column), reason, numbers)


def _tank(plan: BenchSetUp) -> Advice:
    ratio = plan.wish.fly_width / plan.tank
    free = "too wide for its speed in free water to be worked out"
    if math.isfinite(plan.walls):
        doubt = spread_of(COVERAGE_FACTOR * plan.walls)
        free = f"and working out its speed in free water adds {doubt}"
    room = plan.tank - card.width()
    fits = f"leaves {mm(room)} beside it" if room >= 0 else f"is {mm(-room)} too wide for it"
    reason = (
        f"Inner width and depth. The card, {mm(card.width())} wide, {fits}. A fly {mm(plan.wish.fly_width)} wide is "
        f"1/{1 / ratio:.0f} of the tank, {free}."
    )
    return Advice("tank width", plan.tank, "m", mm(plan.tank), reason, {"ratio": ratio})


def _rate(plan: BenchSetUp) -> Advice:
    half = plan.wish.fly_width / 2
    sharp = "less than" if plan.blur <= half else "more than"
    reason = (
        f"The fly moves {mm(plan.wish.speed / plan.frame_rate)} from frame to frame. While the shutter is open, about "
        f"half of that time, it smears over {mm(plan.blur)}: {sharp} half its width, {mm(half)}."
    )
    text = f"{plan.frame_rate:g} Hz"
    return Advice("frame rate", plan.frame_rate, "Hz", text, reason, {"blur_m": plan.blur})


def _distance(plan: BenchSetUp) -> Advice:
    typed = COVERAGE_FACTOR * plan.wish.gap_uncertainty
    doubt = COVERAGE_FACTOR * plan.card_lines[0].standard_uncertainty
    reason = (
        f"From the lens to the front of the tank. From there, a distance from card to fly known to ±{mm(typed)} "
        f"leaves {spread_of(doubt)}. The picture takes in {mm(plan.picture)} of height, and a square of the card is "
        f"{plan.square_px:.0f} pixels wide in 1080p; it needs {SQUARE_PX:.0f}."
    )
    numbers = {"apparent_m": plan.apparent, "picture_m": plan.picture, "square_px": plan.square_px}
    return Advice("camera distance", plan.distance, "m", mm(plan.distance), reason, numbers)


def _card(plan: BenchSetUp) -> Advice:
    larger = plan.gap / plan.wish.index / plan.apparent
    reason = (
        f"Stand the card behind the fly, which falls {mm(plan.depth)} behind the front of the tank: "
        f"{mm(plan.wish.fly_width)} for the width of the fly, and the rest for straying, about {given(LEAN)} of its "
        f"fall. The fly then looks {percent(larger)} larger than the card, which is corrected for. The sheet calls "
        "this distance gap."
    )
    numbers = {"fall_plane_m": plan.depth, "looks_larger": larger}
    return Advice("card (gap)", plan.gap, "m", mm(plan.gap), reason, numbers)


def _drops(plan: BenchSetUp) -> Advice:
    mean = spread_of(COVERAGE_FACTOR * plan.budget[0].standard_uncertainty)
    reason = f"Drops that differ by {given(plan.wish.spread)} leave {mean} or less in their mean in {RUNS_AS_GOOD} runs"
    if not math.isfinite(plan.wanted):
        reason = "Where a drop cannot be read, no number of them helps."
    elif plan.drops > FEWEST_DROPS:
        fewer = spread_of(replace(plan, drops=plan.drops - 1).wanted, plan.wish.precision)
        reason += f". With {plan.drops - 1} drops the speed would be good to {fewer} only."
    else:
        reason += ". Fewer would not show how far they differ."
    return Advice("drops", plan.drops, "1", str(plan.drops), reason, {"spread": plan.wish.spread})


def percent(share: float) -> str:
    """Write a computed share as percent, to two digits, its zeros kept."""
    return f"{100 * share:#.2g}".rstrip(".") + " %" if share < 0.995 else f"{100 * share:.0f} %"


def given(share: float) -> str:
    """Write a share as percent, as it was given."""
    return f"{100 * share:.6g} %"


def spread_of(share: float, wished: float | None = None) -> str:
    """Write an expanded relative uncertainty, with as many digits as tell it from the wished one."""
    if not math.isfinite(share):
        return "unknown"
    text = percent(share)
    if wished is not None and float(text[:-2]) == round(100 * wished, 9):
        text = f"{100 * share:.3g} %"
    return f"±{text}"


def mm(length: float) -> str:
    """Write a length [m] in whole millimetres, small ones to two digits."""
    return f"{1000 * length:.0f} mm" if length >= 0.00995 else f"{1000 * length:.2g} mm"
