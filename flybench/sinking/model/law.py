"""The drag law of a fly, a pattern or a style: drag area against Reynolds number, and where it comes from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flybench.quantity import Floats
from flybench.sinking.drag.published_bodies import mean_slope
from flybench.sinking.drag.shape import C0, REFERENCE_REYNOLDS, reference_length, shapes_of, sphere_share
from flybench.sinking.drag.steady_fall import drag_area_of
from flybench.sinking.drag.tied_fly import Build, MeasuredFly
from flybench.sinking.model.own_effect import variant_effect
from flybench.sinking.model.shop_fit import ShopFit, fit_shop
from flybench.sinking.model.viscosity import ViscosityLaw

_ENDS = (0.025, 0.5, 0.975)
"""Shares of the draws below the band's lower end, middle and upper end [-]: 95 % lie between."""
_APART = 1.15
"""Ratio of Reynolds numbers that counts as two conditions [-]: some 6 kelvin of water (judgement)."""
_SEED = 7
"""Seed of the draws of the variant's own effect [-], any number: the same flies give the same answer."""


@dataclass(frozen=True)
class LawParameter:
    """One parameter of the law: mean and standard deviation [-], before (prior) and after the data.

    from_data, 1 - (sd / prior sd)^2, within 0 to 1: the share of what is known that the measurements brought.
    """

    mean: float
    sd: float
    prior_mean: float
    prior_sd: float

    @property
    def from_data(self) -> float:
        """Return that share [-]."""
        return float(np.clip(1 - (self.sd / self.prior_sd) ** 2, 0.0, 1.0))


@dataclass(frozen=True)
class LawPoint:
    """A measured drag area and its standard uncertainty [m2] at a Reynolds number [-], in water of a temperature [K]."""

    fly: str
    reynolds: float
    area: float
    uncertainty: float
    temperature: float


@dataclass(frozen=True)
class Law:
    """A(Re) = area (C(Re) / C(1000))^exponent for one build, C the drag coefficient of a sphere, in one water.

    area, ln of the drag area [m2] at Re 1000, and exponent; thickness, the power of the water's viscosity with which
    drag area goes at Re 1000 and a given speed; length [m] of the Reynolds number; points, what was measured of the
    build; conditions, how many differ clearly in Reynolds number within the pattern; waters, codes of the pattern's
    flies that were dropped in two waters; draws of area and exponent (m) for the band.
    """

    build: Build
    area: LawParameter
    exponent: LawParameter
    thickness: LawParameter
    length: float
    points: list[LawPoint]
    conditions: int
    waters: tuple[str, ...]
    area_draws: Floats
    exponent_draws: Floats

    @property
    def bare_bead(self) -> float | None:
        """Return the drag area of the bare bead at Re 1000 [m2], None without a bead."""
        return None if self.build.bead_diameter is None else C0 * np.pi / 4 * self.build.bead_diameter**2

    def band(self, reynolds: Floats) -> Floats:
        """Return the drag area [m2] at Reynolds numbers (n): 2.5, 50 and 97.5 % of the draws, shape (3, n)."""
        share = np.log(sphere_share(reynolds))
        curves = np.exp(self.area_draws[:, None] + self.exponent_draws[:, None] * share)
        found: Floats = np.quantile(curves, _ENDS, axis=0)
        return found


def law_of(shop: ShopFit, build: Build, flies: Sequence[str] = ()) -> Law:
    """Return the drag law of a build from a fitted shop, and what the prior alone would say.

    Parameters: shop, fitted with the build among its flies or ``more``; flies, whose points are wanted (all of the
    build's variant where empty).
    """
    after, before = _drawn(shop, build), _drawn(fit_shop([], [build]), build)
    parameters = [
        LawParameter(float(a.mean()), float(a.std()), float(b.mean()), float(b.std()))
        for a, b in zip(after, before, strict=True)
    ]
    rows = [
        one for one in shop.data.measured if one.build.code == build.code and (not flies or one.fly in flies)
    ]
    return Law(
        build,
        parameters[0],
        parameters[1],
        _thickness(shop, build, flies[0] if flies else ""),
        reference_length(build),
        [_point(one) for one in rows],
        _conditions([one for one in shop.data.measured if one.build.pattern == build.pattern]),
        tuple(one.fly for one in shop.data.viscosity.seen if one.build.pattern == build.pattern),
        after[0],
        after[1],
    )


def _drawn(shop: ShopFit, build: Build) -> tuple[Floats, Floats]:
    """Return draws of ln(drag area at Re 1000), the variant's own effect in it, and of the exponent."""
    shapes = shapes_of([build], shop.data.layout)
    mean, deviation = variant_effect(shop, build)
    normal = np.random.default_rng(_SEED).standard_normal(len(shop.beta))
    return np.log(shapes.area(shop.beta)[:, 0]) + mean + deviation * normal, shapes.exponent(shop.beta)[:, 0]


def _thickness(shop: ShopFit, build: Build, fly: str) -> LawParameter:
    """Return the power of the viscosity for this fly, for one that is not tied yet where the code is empty."""
    usual = float(mean_slope(np.array(REFERENCE_REYNOLDS)))
    after, before = (law.of(fly, build) for law in (shop.data.viscosity, ViscosityLaw(())))
    return LawParameter(usual + after[0], after[1], usual + before[0], before[1])


def _point(one: MeasuredFly) -> LawPoint:
    assert one.weight is not None
    water = one.water
    area = float(drag_area_of(one.weight.weight.value, one.speed, water))
    doubt = area * float(
        np.hypot(one.weight.relative_uncertainty, 2 * np.hypot(one.own, one.shared) / one.speed)
    )
    reynolds = one.speed * reference_length(one.build) / water.kinematic_viscosity
    return LawPoint(one.fly, reynolds, area, doubt, one.temperature)


def _conditions(rows: Sequence[MeasuredFly]) -> int:
    """Return how many Reynolds numbers at least 15 % apart were measured."""
    found = sorted(_point(one).reynolds for one in rows)
    count, last = 0, 0.0
    for reynolds in found:
        if reynolds > last * _APART:
            count, last = count + 1, reynolds
    return count
