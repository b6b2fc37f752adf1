"""The sink speed of a measured fly in other water: another temperature, another salinity."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flybench.hydraulics.water import FREEZING, Water
from flybench.quantity import Floats, celsius, inside
from flybench.sinking.drag.published_bodies import STEEPEST, prior_exponent
from flybench.sinking.drag.shape import LEAST_REYNOLDS, reference_length, shapes_of, sphere_share
from flybench.sinking.drag.steady_fall import terminal_speed_of
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.model.shop_fit import SEED, ShopFit

COLDEST, WARMEST = FREEZING, 303.15
"""Temperatures of rivers with fish in them [K]: 0 to 30 degrees Celsius (common practice, no source)."""
HIGHEST_REYNOLDS = 4000.0
"""Reynolds number up to which the drag law of flies holds [-]: above, a sphere's own coefficient rises again
(Brown & Lawler 2003)."""
_DENSE, _DENSE_DOUBT = 4000.0, 0.4
"""Density of a fly whose weight is not known [kg/m3], and the standard deviation of its logarithm [-] (judgement)."""
_LEAST_EXCESS = 200.0
"""Least density above the water's of such a fly [kg/m3]: it was seen to sink (judgement)."""
_PLACES = 6
"""Decimal places of a temperature in Celsius that count [-]: the rest is rounding."""
_PRIOR_DRAWS = 4000
"""Draws of the exponent where no shop tells it [-]: as many as a shop's fit has."""


@dataclass(frozen=True)
class SpeedInOtherWater:
    """Speed of a measured fly in other water and its standard uncertainty [m/s].

    change, speed there over speed here, and its standard uncertainty [-]; reynolds there [-], on the length of the
    fly's law; density_assumed where the fly's weight is not known.
    """

    measured: MeasuredFly
    speed: float
    uncertainty: float
    change: float
    change_uncertainty: float
    reynolds: float
    density_assumed: bool

    @property
    def out_of_range(self) -> bool:
        """Tell whether the drag law is stretched beyond its range."""
        return not LEAST_REYNOLDS <= self.reynolds <= HIGHEST_REYNOLDS


def speed_in_other_water(shop: ShopFit | None, measured: MeasuredFly, water: Water) -> SpeedInOtherWater:
    """Return the speed of a measured fly in other water.

    W' = rho' / 2 v'^2 A (C(Re') / C(Re))^s. The drag area goes with Reynolds number as its law says: A ~ C(Re)^s, s
    from the shop's fit of the fly's pattern or style, else from the prior; the weight changes with the water's density.

    Parameters: shop, fitted with this fly among its flies (None: the prior alone); measured, speed [m/s]; water.
    Returns: speed there and its change, with standard uncertainties [m/s, -].
    Raises BadValueError for water below 0 or above 30 degC, and where the fly would float in it.
    """
    low, high = celsius(COLDEST), celsius(WARMEST)
    warmth = round(celsius(water.temperature), _PLACES)
    inside("temperature", warmth, low, high, "degC", "Give the temperature of a river.")
    exponent = _exponents(shop, measured)
    random = np.random.default_rng(SEED + 2)
    there, change = _there(measured, water, exponent, random.standard_normal((2, len(exponent))))
    length = reference_length(measured.build)
    return SpeedInOtherWater(
        measured,
        float(np.median(there)),
        float(np.std(there)),
        float(np.median(change)),
        float(np.std(change)),
        float(np.median(there)) * length / water.kinematic_viscosity,
        measured.weight is None,
    )


def _exponents(shop: ShopFit | None, measured: MeasuredFly) -> Floats:
    """Return draws of the exponent s of the fly's law."""
    if shop is not None and measured.build.pattern in shop.data.layout.patterns:
        return shapes_of([measured.build], shop.data.layout).exponent(shop.beta)[:, 0]
    mean, deviation = prior_exponent()
    drawn: Floats = np.clip(np.random.default_rng(SEED).normal(mean, deviation, _PRIOR_DRAWS), 0.0, STEEPEST)
    return drawn


def _there(measured: MeasuredFly, water: Water, exponent: Floats, normal: Floats) -> tuple[Floats, Floats]:
    """Return draws of the speed there [m/s] and of its ratio to the speed here."""
    here, length = measured.water, reference_length(measured.build)
    speed = measured.speed * np.exp(np.hypot(measured.own, measured.shared) / measured.speed * normal[0])
    share = sphere_share(speed * length / here.kinematic_viscosity)
    area = 2 / (here.density * speed**2) / share**exponent
    heavier = _weight_ratio(measured, here, water, normal[1])
    there = terminal_speed_of(heavier, lambda re: area * sphere_share(re) ** exponent, length, water)
    return there, there / speed


def _weight_ratio(measured: MeasuredFly, here: Water, water: Water, normal: Floats) -> Floats:
    """Return draws of the weight there over the weight here: 1 - V g (rho' - rho) / W."""
    if measured.weight is None:
        density = _DENSE * np.exp(_DENSE_DOUBT * normal)
        ratio = np.maximum(density - here.density, _LEAST_EXCESS)
        lighter: Floats = 1 - (water.density - here.density) / ratio
        return lighter
    there, there_here = measured.weight.in_water(water), measured.weight.in_water(here)
    return np.full(len(normal), there.weight.value / there_here.weight.value)
