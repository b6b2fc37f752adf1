"""The sink speed of a measured fly in other water: another temperature, another salinity."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flybench.hydraulics.water import Water
from flybench.quantity import Floats, inside
from flybench.sinking.drag.published_bodies import prior_exponent
from flybench.sinking.drag.shape import LEAST_REYNOLDS, reference_length, shapes_of, sphere_share
from flybench.sinking.drag.terminal import terminal_speed_of
from flybench.sinking.drag.tied_fly import Sunk
from flybench.sinking.model.shop_fit import SEED, ShopFit

COLDEST, WARMEST = 273.15, 303.15
"""Rivers [K]."""
HIGHEST_REYNOLDS = 4000.0
"""Up to here the drag law of flies holds; above, a sphere's own coefficient rises again."""
_DENSE, _DENSE_DOUBT = 4000.0, 0.4


@dataclass(frozen=True)
class Elsewhere:
    """Speed in other water [m/s]: as measured, there, its standard uncertainty, and that of the change alone.

    reynolds there, on the length of the fly's law; density_assumed where the fly's weight is not known.
    """

    sunk: Sunk
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


def elsewhere(shop: ShopFit | None, sunk: Sunk, water: Water) -> Elsewhere:
    """Return the speed of a measured fly in other water.

    The drag area goes with Reynolds number as its law says: A ~ C(Re)^s, s from the shop's fit of the fly's
    pattern or style, else from the prior; the weight changes with the water's density.

    Parameters: shop, fitted with this fly among its flies (None: the prior alone); sunk; water.
    Raises BadValueError for water below 0 or above 30 degC, and where the fly would float in it.
    """
    inside(
        "water.temperature",
        water.temperature,
        COLDEST,
        WARMEST,
        "K",
        "Give the temperature of a river, 0 to 30 degC.",
    )
    exponent = _exponents(shop, sunk)
    random = np.random.default_rng(SEED + 2)
    there, change = _there(sunk, water, exponent, random.standard_normal((2, len(exponent))))
    length = reference_length(sunk.build)
    return Elsewhere(
        sunk,
        float(np.median(there)),
        float(np.std(there)),
        float(np.median(change)),
        float(np.std(change)),
        float(np.median(there)) * length / water.kinematic_viscosity,
        sunk.weight is None,
    )


def _exponents(shop: ShopFit | None, sunk: Sunk) -> Floats:
    """Return draws of the exponent s of the fly's law."""
    if shop is not None and sunk.build.pattern in shop.data.layout.patterns:
        return shapes_of([sunk.build], shop.data.layout).exponent(shop.beta)[:, 0]
    mean, deviation = prior_exponent()
    drawn: Floats = np.clip(np.random.default_rng(SEED).normal(mean, deviation, 4000), 0.0, 2.0)
    return drawn


def _there(sunk: Sunk, water: Water, exponent: Floats, normal: Floats) -> tuple[Floats, Floats]:
    """Return draws of the speed there [m/s] and of its ratio to the speed here."""
    here, length = Water(sunk.temperature, sunk.salinity), reference_length(sunk.build)
    speed = sunk.speed * np.exp(np.hypot(sunk.own, sunk.shared) / sunk.speed * normal[0])
    share = sphere_share(speed * length / here.kinematic_viscosity)
    area = 2 / (here.density * speed**2) / share**exponent
    heavier = _weight_ratio(sunk, here, water, normal[1])
    there = terminal_speed_of(heavier, lambda re: area * sphere_share(re) ** exponent, length, water)
    return there, there / speed


def _weight_ratio(sunk: Sunk, here: Water, water: Water, normal: Floats) -> Floats:
    """Return draws of the weight there over the weight here: 1 - V g (rho' - rho) / W."""
    if sunk.weight is None:
        density = _DENSE * np.exp(_DENSE_DOUBT * normal)
        ratio = np.maximum(density - here.density, 200.0)
        lighter: Floats = 1 - (water.density - here.density) / ratio
        return lighter
    there, there_here = sunk.weight.in_water(water), sunk.weight.in_water(here)
    return np.full(len(normal), there.weight.value / there_here.weight.value)
