"""The words of a plan: every size with its reason."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from flybench.bench.plan.search import FEWEST_DROPS
from flybench.bench.plan.set_up import CARD_HEIGHT, LEAN, SQUARE_PX, SetUp
from flybench.bench.plan.terms import ASSURANCE
from flybench.bench.view import card
from flybench.quantity import COVERAGE_FACTOR

RUNS_AS_GOOD = f"{10 * ASSURANCE:.0f} of 10"


@dataclass(frozen=True)
class Advice:
    """One size to set up: its SI value, how it is written, why, and the numbers behind the reason."""

    item: str
    value: float
    unit: str
    text: str
    reason: str
    numbers: Mapping[str, float]


def advice_on(plan: SetUp) -> list[Advice]:
    """Return every size with its reason."""
    return [_column(plan), _tank(plan), _rate(plan), _distance(plan), _card(plan), _drops(plan)]


def _column(plan: SetUp) -> Advice:
    drop = f"a drop is read to {spread_of(COVERAGE_FACTOR * plan.own)}"
    if not math.isfinite(plan.own):
        drop = "too few to read a drop from"
    under = f", and the card's strips, {mm(CARD_HEIGHT)} tall, stand under water"
    reason = (
        f"Let go at rest, the fly has {given(plan.wish.share)} of its speed after {mm(plan.approach)}; "
        f"the rest gives {plan.settled_frames:.0f} settled frames, {drop}"
        f"{under if plan.column >= CARD_HEIGHT else ''}."
    )
    numbers = {"approach_m": plan.approach, "settled_frames": plan.settled_frames, "seen_m": plan.seen}
    return Advice("column", plan.column, "m", mm(plan.column), reason, numbers)


def _tank(plan: SetUp) -> Advice:
    ratio = plan.wish.fly_width / plan.tank
    walls = "is too wide for its walls to be taken out"
    if math.isfinite(plan.walls):
        walls = f"can have its walls taken out to {spread_of(COVERAGE_FACTOR * plan.walls)} for free water"
    room = plan.tank - card.width()
    fits = f"leaves {mm(room)} beside it" if room >= 0 else f"is {mm(-room)} too wide for it"
    reason = (
        f"Inner width and depth: the card, {mm(card.width())} wide, {fits}, and a fly "
        f"{mm(plan.wish.fly_width)} wide, 1/{1 / ratio:.0f} of the tank, {walls}."
    )
    return Advice("tank width", plan.tank, "m", mm(plan.tank), reason, {"ratio": ratio})


def _rate(plan: SetUp) -> Advice:
    half = plan.wish.fly_width / 2
    sharp = "under" if plan.blur <= half else "over"
    reason = (
        f"The fly moves {mm(plan.wish.speed / plan.frame_rate)} from frame to frame and smears over "
        f"{mm(plan.blur)} while the shutter is open (half a frame), {sharp} half its width ({mm(half)})."
    )
    text = f"{plan.frame_rate:g} Hz"
    return Advice("frame rate", plan.frame_rate, "Hz", text, reason, {"blur_m": plan.blur})


def _distance(plan: SetUp) -> Advice:
    typed = COVERAGE_FACTOR * plan.wish.gap_uncertainty
    doubt = COVERAGE_FACTOR * plan.card_lines[0].standard_uncertainty
    reason = (
        f"Lens to tank front: a gap known to ±{mm(typed)} leaves {spread_of(doubt)} from "
        f"there, the picture takes in {mm(plan.picture)} of height, and the card's squares are "
        f"{plan.square_px:.0f} pixels in 1080p ({SQUARE_PX:.0f} needed)."
    )
    numbers = {"apparent_m": plan.apparent, "picture_m": plan.picture, "square_px": plan.square_px}
    return Advice("camera distance", plan.distance, "m", mm(plan.distance), reason, numbers)


def _card(plan: SetUp) -> Advice:
    larger = plan.gap / plan.wish.index / plan.apparent
    reason = (
        f"Behind the fly, which falls {mm(plan.depth)} behind the tank's front: {mm(plan.wish.fly_width)} "
        f"for its width and the rest for straying (about {given(LEAN)} of the fall); "
        f"the fly then looks {percent(larger)} larger than the card, which is put right."
    )
    numbers = {"fall_plane_m": plan.depth, "looks_larger": larger}
    return Advice("card (gap)", plan.gap, "m", mm(plan.gap), reason, numbers)


def _drops(plan: SetUp) -> Advice:
    mean = spread_of(COVERAGE_FACTOR * plan.budget[0].standard_uncertainty)
    reason = (
        f"Drops that differ by {given(plan.wish.spread)} leave {mean} in their mean or less in "
        f"{RUNS_AS_GOOD} runs"
    )
    if not math.isfinite(plan.wanted):
        reason = "Where a drop cannot be read, no number of them helps."
    elif plan.drops > FEWEST_DROPS:
        fewer = replace(plan, drops=plan.drops - 1).wanted
        reason += f"; with {plan.drops - 1} the speed would be good to {spread_of(fewer, plan.wish.precision)} only."
    else:
        reason += ", and fewer would not show how far they differ."
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
