"""The words of a plan: every size with its reason, what stops a wish, and what to mind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from flybench.bench import planning, planning_terms
from flybench.bench.planning import Design
from flybench.bench.settings import BAR_UNCERTAINTY, TYPED_UNCERTAINTY
from flybench.hydraulics.walls import wall_factor
from flybench.quantity import COVERAGE_FACTOR


@dataclass(frozen=True)
class Advice:
    """One size to set up: its SI value, how it is written, why, and the numbers behind the reason."""

    item: str
    value: float
    unit: str
    text: str
    reason: str
    numbers: Mapping[str, float]


def advice_on(design: Design) -> list[Advice]:
    """Return every size with its reason."""
    return [_column(design), _tank(design), _rate(design), _camera(design), _gap(design), _drops(design)]


def _column(design: Design) -> Advice:
    wish = design.wish
    rest = {share: planning_terms.settling_depth(wish, share, 0.0) for share in (0.95, 0.99)}
    plunge = planning_terms.settling_depth(wish, wish.share, planning_terms.plunge_speed())
    reason = (
        f"From rest the fly has 95 % of its speed after {mm(rest[0.95])} and 99 % after {mm(rest[0.99])}; "
        f"dropped in gently it settles within {mm(plunge)}; "
        f"the rest of the column gives {design.settled_frames:.0f} settled frames, "
        f"and a fit good to ±{percent(_expanded(design, 'fit'))}."
    )
    numbers = {
        "depth_95_m": rest[0.95],
        "depth_99_m": rest[0.99],
        "plunge_depth_m": plunge,
        "response_time_s": wish.response_time,
        "settled_frames": design.settled_frames,
    }
    return Advice("visible column", design.column, "m", mm(design.column), reason, numbers)


def _tank(design: Design) -> Advice:
    wish = design.wish
    ratio = wish.fly_width / design.tank
    factor = wall_factor(ratio, wish.reynolds)
    reason = (
        f"A fly {mm(wish.fly_width)} wide takes up {ratio:.3f} of it (advised: up to "
        f"{planning.WIDEST_RATIO:g}), which slows it by {percent(1 - factor.value)} at Reynolds number "
        f"{wish.reynolds:.0f}; putting that right leaves ±{percent(_expanded(design, 'walls'))}."
    )
    numbers = {"ratio": ratio, "wall_factor": factor.value, "reynolds": wish.reynolds}
    return Advice("tank, inner width and depth", design.tank, "m", mm(design.tank), reason, numbers)


def _rate(design: Design) -> Advice:
    half = design.wish.fly_width / 2
    sharp = (
        f"under half its width ({mm(half)})" if design.blur <= half else f"over half its width ({mm(half)})"
    )
    reason = (
        f"The fly moves {mm(design.blur)} while the shutter is open (half a frame), {sharp}; "
        f"it moves {mm(design.wish.speed / design.frame_rate)} from frame to frame."
    )
    text = f"{design.frame_rate:g} Hz"
    return Advice("frame rate", design.frame_rate, "Hz", text, reason, {"blur_m": design.blur})


def _camera(design: Design) -> Advice:
    height = design.pixel * design.wish.pixels
    reason = (
        f"The picture then takes in {mm(height)} where the fly falls ({mm(design.pixel)} a pixel, "
        f"card squares {design.square_px:.0f} pixels); the typed distance leaves "
        f"±{percent(_expanded(design, 'distance'))} and a fall that leans along the view "
        f"±{percent(_expanded(design, 'perspective'))}."
    )
    numbers = {
        "picture_height_m": height,
        "pixel_m": design.pixel,
        "square_px": design.square_px,
        "lens_to_fall_plane_m": design.distance + design.depth,
    }
    return Advice("lens to tank front", design.distance, "m", mm(design.distance), reason, numbers)


def _gap(design: Design) -> Advice:
    fly = design.distance + design.depth / design.wish.index
    correction = design.gap / design.wish.index / fly
    clear = (
        f", {planning.CARD_WIDTHS:g} fly widths before the card so that it does not brush it"
        if _card_is_clear(design)
        else ""
    )
    reason = (
        f"Drop the fly {mm(design.depth)} behind the tank's front, {mm(design.distance + design.depth)} "
        f"from the lens{clear}; the fly then looks {percent(correction)} larger than the card, and with that "
        f"put right a gap known to ±{mm(COVERAGE_FACTOR * TYPED_UNCERTAINTY)} leaves "
        f"±{percent(_expanded(design, 'gap'))}."
    )
    numbers = {"fall_plane_m": design.depth, "magnification_less_1": correction}
    return Advice("fly to card (gap)", design.gap, "m", mm(design.gap), reason, numbers)


def _drops(design: Design) -> Advice:
    wider = planning_terms.small_sample(design.drops)
    reason = (
        f"Drops that differ by {percent(design.wish.spread)} leave "
        f"±{percent(_expanded(design, 'spread'))} in their mean, widened {wider:.2f} times because "
        f"so few drops show their spread only roughly."
    )
    numbers = {"spread": design.wish.spread, "widened": wider}
    return Advice("drops", design.drops, "1", str(design.drops), reason, numbers)


def stoppers(design: Design) -> list[str]:
    """Return what alone exceeds the wish, the worst first; where nothing does, the largest."""
    if not design.settles:
        needed = planning_terms.settling_depth(design.wish, planning.LEAST_SHARE, 0.0)
        return [f"from rest the fly has {percent(planning.LEAST_SHARE)} of its speed only after {mm(needed)}"]
    lines = sorted(design.budget, key=lambda line: -line.standard_uncertainty)
    alone = [
        line for line in lines if COVERAGE_FACTOR * line.standard_uncertainty > design.wish.precision
    ] or lines[:1]
    return [f"{_LIMITS[line.source](design)}: ±{percent(_expanded(design, line.source))}" for line in alone]


_LIMITS = {
    "spread": lambda d: (
        f"drops differ by {percent(d.wish.spread)}, and {d.drops} of them average that only so far"
    ),
    "walls": lambda d: f"the wall formulas differ, even in a tank {mm(d.tank)} wide",
    "gap": lambda d: (
        f"the gap is known to ±{mm(COVERAGE_FACTOR * TYPED_UNCERTAINTY)}, seen from {mm(d.distance)}, "
        f"where the card's squares are {d.square_px:.0f} pixels"
    ),
    "distance": lambda d: f"the distance is typed to ±{mm(COVERAGE_FACTOR * TYPED_UNCERTAINTY)}",
    "perspective": lambda d: f"falls lean along the view, seen from {mm(d.distance)}",
    "bar": lambda d: f"the ruler reads the card's bar to ±{mm(COVERAGE_FACTOR * BAR_UNCERTAINTY)}",
    "fit": lambda d: f"the fit has {mm(d.column)} of fall at {d.frame_rate:g} Hz",
}


def warnings_about(design: Design) -> list[str]:
    """Return what the user's own sizes bring with them."""
    wish = design.wish
    checks = (
        (
            design.blur > wish.fly_width / 2,
            "The fly smears over more than half its width: use a faster frame rate.",
        ),
        (
            design.settled_frames < planning.SETTLED_FRAMES,
            f"Only {design.settled_frames:.0f} settled frames, {planning.SETTLED_FRAMES} wanted: "
            "use a taller column or a faster frame rate.",
        ),
        (
            design.square_px < planning.SQUARE_PX,
            f"The card's squares are {design.square_px:.0f} pixels, {planning.SQUARE_PX:.0f} wanted: "
            "film with more pixels or a shorter column.",
        ),
        (
            wish.fly_width > planning.WIDEST_RATIO * design.tank,
            f"The fly is wider than {planning.WIDEST_RATIO:g} of any tank up to {mm(planning.WIDEST_TANK)}.",
        ),
        (
            not _card_is_clear(design),
            "The card is so near that the fly may brush it and is slowed by it: "
            f"move it to {mm(planning.CARD_WIDTHS * wish.fly_width)} behind the fly if there is room.",
        ),
    )
    return [text for holds, text in checks if holds]


def _card_is_clear(design: Design) -> bool:
    """Return whether the card keeps its advised distance from the fly."""
    return design.gap >= planning.CARD_WIDTHS * design.wish.fly_width - 1e-12


def _expanded(design: Design, source: str) -> float:
    """Return one source's expanded relative uncertainty, k = 2 [-]."""
    return COVERAGE_FACTOR * next(
        line.standard_uncertainty for line in design.budget if line.source == source
    )


def percent(share: float) -> str:
    """Write a share as percent, to two digits."""
    return f"{100 * share:.2g} %"


def mm(length: float) -> str:
    """Write a length [m] in whole millimetres, small ones to two digits."""
    return f"{1000 * length:.0f} mm" if length >= 0.01 else f"{1000 * length:.2g} mm"
