"""Speeds of builds from a fitted shop: draws, with what is known of the variant itself."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from flybench.errors import BadValueError
from flybench.hydraulics.water import Water
from flybench.quantity import Floats
from flybench.sinking.drag.published_bodies import mean_logarithm
from flybench.sinking.drag.shape import LEAST_REYNOLDS, law_share, shapes_of
from flybench.sinking.drag.steady_fall import terminal_speed_of
from flybench.sinking.drag.tied_fly import Build, MeasuredFly
from flybench.sinking.model.own_effect import own_effects
from flybench.sinking.model.shop_fit import SEED, ShopFit
from flybench.sinking.weight.submerged import SubmergedWeight

LEVEL = 0.95
"""Share of tied flies that a stated interval is to hold [-]: what k = 2 is elsewhere (JCGM 100:2008, G.1)."""
_VAGUE = 0.5
"""Relative standard uncertainty of a weight above which no speed is worked out [-]: k = 2 reaches zero (judgement)."""
_MARGIN = 0.05
"""Share beyond the smallest and the largest measured that still counts as measured [-] (judgement)."""
_MEASURES: tuple[tuple[str, Callable[[Build], float], str], ...] = (
    ("bead", lambda build: (build.bead_diameter or 0.0) * 1e3, "mm"),
    ("hook gape", lambda build: build.hook_gape * 1e3, "mm"),
    ("hackle", lambda build: build.hackle_turns, "turns"),
    ("loose dressing", lambda build: build.loose_mass * 1e6, "mg"),
)
"""What of a build is looked at: its name in words, the measure in the unit beside it, and that unit."""


@dataclass(frozen=True)
class Forecast:
    """Sink speed of one fly to be tied: draws [m/s] (m), their median, interval (95 %) and standard deviation."""

    build: Build
    draws: Floats

    @property
    def speed(self) -> float:
        """Return the median [m/s]."""
        return float(np.median(self.draws))

    @property
    def interval(self) -> tuple[float, float]:
        """Return the ends between which 95 % of the draws lie [m/s]."""
        low, high = np.quantile(self.draws, [(1 - LEVEL) / 2, (1 + LEVEL) / 2])
        return float(low), float(high)

    @property
    def uncertainty(self) -> float:
        """Return the standard deviation [m/s]."""
        return float(np.std(self.draws))

    def share_between(self, low: float, high: float) -> float:
        """Return the probability of a speed from ``low`` to ``high`` [m/s]."""
        return float(np.mean((self.draws >= low) & (self.draws < high)))


def forecast(
    shop: ShopFit,
    builds: Sequence[Build],
    weights: Sequence[SubmergedWeight],
    water: Water,
) -> list[Forecast]:
    """Return the sink speed in free water of one fly tied to each build, with all doubt.

    Where the variant was measured, what was found of it counts. Weights of parts are corrected by what weighed flies
    tell of beads of that packet and metal. All builds share the same draws, so that their
    difference is less in doubt than each.

    Parameters: shop, fitted with these builds among its measured flies or ``more``; weights, one a build; water.
    Raises BadValueError where a weight is not above zero by at least two of its standard uncertainties.
    """
    for weight in weights:
        _refuse_vague(weight)
    common = np.random.default_rng(SEED + 1).standard_normal((2, len(shop.beta)))
    mean, deviation = own_effects(shop, builds, weights)
    own = mean + deviation * common[0, :, None] + (shop.spread("fly") * common[1])[:, None]
    return [
        Forecast(build, _speeds(shop, build, own[:, place], weight.weight.value, water))
        for place, (build, weight) in enumerate(zip(builds, weights, strict=True))
    ]


def _refuse_vague(weight: SubmergedWeight) -> None:
    if weight.relative_uncertainty > _VAGUE:
        problem = (
            f"its weight in water is known to {weight.relative_uncertainty:.0%} only, so it may well float"
        )
        raise BadValueError("fly", problem, "Weigh it (flybench fly weigh), or say what it is made of.")


def _speeds(shop: ShopFit, build: Build, own: Floats, heavy: float, water: Water) -> Floats:
    """Return speeds [m/s] for draws of what is the build's own, its weight's error counted as drag; weight [N].

    Where no fly was dropped in two waters, no draw lets drag fall as the water gets thicker.
    """
    shapes = shapes_of([build], shop.data.layout)
    area = shapes.area(shop.beta)[:, 0] * np.exp(own)
    exponent = shapes.exponent(shop.beta)[:, 0]
    length = float(shapes.length[0])
    thicker = water.kinematic_viscosity / shop.data.reference
    mean, deviation = shop.data.viscosity.of("", build)
    falls = mean + deviation * np.random.default_rng(SEED + 3).standard_normal(len(shop.beta))
    never = 0.0 if not shop.data.viscosity.seen else -np.inf

    def area_at(re: Floats) -> Floats:
        """Return the area at the reference viscosity and this speed, and how it grows from there to this water."""
        held = np.maximum(re, LEAST_REYNOLDS)
        more = mean_logarithm(held) - mean_logarithm(held * thicker) + falls * np.log(thicker)
        grown = np.sign(np.log(thicker)) * np.maximum(np.sign(np.log(thicker)) * more, never)
        larger: Floats = area * law_share(re * thicker) ** exponent * np.exp(grown)
        return larger

    return terminal_speed_of(heavy, area_at, length, water)


def outside_measured_range(build: Build, weight: float, measured: Sequence[MeasuredFly]) -> list[str]:
    """Return in words where a build of this weight [N] lies outside what was measured; empty where it does not.

    Looked at: its style and pattern, and bead, hook, hackle, loose dressing and weight against the smallest and
    largest among the measured flies with a known weight (5 % beyond is let pass).
    """
    known = [one for one in measured if one.weight is not None]
    if not known:
        return ["no fly with a known weight was measured, so this rests on physics and usual dressings alone"]
    told = []
    if build.style not in {one.build.style for one in known}:
        told.append(f"no {build.style} fly was measured")
    elif build.pattern not in {one.build.pattern for one in known}:
        told.append(f"no fly of the pattern {build.pattern} was measured")
    for name, measure, unit in _MEASURES:
        told += _beyond(name, measure(build), [measure(one.build) for one in known], unit)
    weights = [one.weight.weight.value * 1e3 for one in known if one.weight is not None]
    return told + _beyond("weight in water", weight * 1e3, weights, "mN")


def _beyond(name: str, value: float, measured: Sequence[float], unit: str) -> list[str]:
    low, high = min(measured), max(measured)
    if low * (1 - _MARGIN) <= value <= high * (1 + _MARGIN):
        return []
    span = f"{low:.3g}" if f"{low:.3g}" == f"{high:.3g}" else f"{low:.3g} to {high:.3g}"
    return [f"{name} {value:.3g} {unit}, while flies measured so far have {span} {unit}"]
