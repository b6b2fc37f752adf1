"""The sink speed of a measured fly in other water: another temperature, another salinity."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from flybench.hydraulics.sphere import GRAVITY
from flybench.hydraulics.water import FREEZING, Water
from flybench.quantity import Floats, celsius, inside
from flybench.sinking.drag.published_bodies import mean_logarithm
from flybench.sinking.drag.shape import LEAST_REYNOLDS, reference_length
from flybench.sinking.drag.steady_fall import terminal_speed_of
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.model.viscosity import (
    BEND,
    BEND_SPREAD,
    DENSE,
    ViscosityLaw,
    weight_ratio,
)

COLDEST, WARMEST = FREEZING, 303.15
"""Temperatures of rivers with fish in them [K]: 0 to 30 degrees Celsius (common practice, no source)."""
HIGHEST_REYNOLDS = 4000.0
"""Reynolds number up to which the drag law of flies holds [-]: above, a sphere's own coefficient rises again
(Brown & Lawler 2003)."""
_DENSE_DOUBT = 0.4
"""Standard deviation of the logarithm of the density of a fly whose weight is not known [-] (judgement)."""
_LEAST_EXCESS = 200.0
"""Least density above the water's of such a fly [kg/m3]: it was seen to sink (judgement)."""
_PLACES = 6
"""Decimal places of a temperature in Celsius that count [-]: the rest is rounding."""
_STEEPEST = 1.0
"""Most by which a draw of d may lie off zero [-]: drag must rise with speed (far outside anything published)."""

_NODES, _NODE_WEIGHTS = (
    part / norm
    for part, norm in zip(np.polynomial.hermite_e.hermegauss(9), (1.0, (2 * np.pi) ** 0.5), strict=True)
)
"""Nodes of a normal law, in its deviations, the middle one at 0, and their weights [-] (Gauss and Hermite)."""


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


def speed_in_other_water(law: ViscosityLaw, measured: MeasuredFly, water: Water) -> SpeedInOtherWater:
    """Return the speed of a measured fly in other water.

    W' = rho' / 2 v'^2 A', ln (A' / A) = g(Re') - g(Re) - d ln(Re' / Re) - b ln(v' / v): as ``viscosity`` has it, d from
    the flies that the shop dropped in two waters, else from the prior; the weight changes with the water's density.

    Parameters: law, how drag goes with viscosity (of no flies: the prior alone); measured, speed [m/s]; water.
    Returns: speed there and its change, with standard uncertainties [m/s, -].
    Raises BadValueError for water below 0 or above 30 degC, and where the fly would float in it.
    """
    low, high = celsius(COLDEST), celsius(WARMEST)
    warmth = round(celsius(water.temperature), _PLACES)
    inside("temperature", warmth, low, high, "degC", "Give the temperature of a river.")
    if water == measured.water:
        return _as_measured(measured)
    change, doubt = change_to_other_water(law, measured, water)
    there = measured.speed * change
    own = float(np.hypot(measured.own, measured.shared)) / measured.speed
    return SpeedInOtherWater(
        measured,
        there,
        there * float(np.hypot(own, doubt)),
        change,
        change * abs(doubt),
        there * reference_length(measured.build) / water.kinematic_viscosity,
        measured.weight is None,
    )


def _as_measured(measured: MeasuredFly) -> SpeedInOtherWater:
    """Return a fly in its own water: as it was measured, to the last digit."""
    reynolds = measured.speed * reference_length(measured.build) / measured.water.kinematic_viscosity
    doubt = float(np.hypot(measured.own, measured.shared))
    return SpeedInOtherWater(measured, measured.speed, doubt, 1.0, 0.0, reynolds, measured.weight is None)


def change_to_other_water(law: ViscosityLaw, measured: MeasuredFly, water: Water) -> tuple[float, float]:
    """Return speed there over speed here, and the relative standard uncertainty of that step [-].

    As ``speed_in_other_water``, and fast: nine nodes for d and for an unknown density (those of Gauss and Hermite, from
    memory), first order for the rest (JCGM 100:2008, 5.1.2), weight and volume too. The uncertainty has the sign of what d
    does: above zero where the water there is the thicker. Raises BadValueError where the fly would float there.
    """
    mean, deviation = law.of(measured.fly, measured.build)
    count = len(_NODES)
    falls = np.clip(mean + deviation * np.array([*_NODES, 0, 0, 0, 0]), -_STEEPEST, _STEEPEST)
    bends = BEND + BEND_SPREAD * np.array([0] * count + [1, -1, 0, 0])
    off = _ratio_doubt(measured, water) * np.array([0] * count + [0, 0, 1, -1])
    heavy = _weight_ratio(measured, water, np.zeros(count + 4)) * np.exp(off)
    change = _speed_there(measured, water, heavy, falls, bends) / measured.speed
    middle = float(change[count // 2])
    bend, density = (float(np.log(change[at] / change[at + 1])) / 2 for at in (count, count + 2))
    size = float(np.sqrt((_spread(change[:count]) / middle) ** 2 + bend**2 + density**2))
    thicker = water.kinematic_viscosity > measured.water.kinematic_viscosity
    return middle, size if thicker else -size


def _ratio_doubt(measured: MeasuredFly, water: Water) -> float:
    """Return the relative standard uncertainty of the weight there over the weight here.

    Of a known weight W and volume V it is that of r = 1 - (rho' - rho) g V / W, V and W as if apart, as
    ``SubmergedWeight.in_water`` has them.
    """
    known = measured.weight
    if known is None:
        ratios = _weight_ratio(measured, water, np.array(_NODES))
        return _spread(ratios) / float(ratios[len(_NODES) // 2])
    lost = (water.density - measured.water.density) * GRAVITY / known.weight.value
    doubt = lost * math.hypot(
        known.displaced.standard_uncertainty, known.displaced.value * known.relative_uncertainty
    )
    return abs(doubt) / weight_ratio(measured, water)


def _spread(values: Floats) -> float:
    """Return the standard deviation of what has these values at the nodes."""
    return float(np.sqrt(_NODE_WEIGHTS @ (values - _NODE_WEIGHTS @ values) ** 2))


def _speed_there(measured: MeasuredFly, water: Water, heavy: Floats, falls: Floats, bends: Floats) -> Floats:
    """Return speeds there [m/s] for weights there over here, d and b (n each)."""
    here, length, speed = measured.water, reference_length(measured.build), measured.speed
    reynolds = speed * length / here.kinematic_viscosity
    area, level = 2 / (here.density * speed**2), mean_logarithm(np.array(reynolds))

    def area_at(re: Floats) -> Floats:
        faster = np.log(re * water.kinematic_viscosity / (length * speed))
        grown = mean_logarithm(re) - level - falls * np.log(re / reynolds) - bends * faster
        larger: Floats = area * np.exp(grown)
        return larger

    return terminal_speed_of(heavy, area_at, length, water)


def _weight_ratio(measured: MeasuredFly, water: Water, normal: Floats) -> Floats:
    """Return draws of the weight there over the weight here: 1 - V g (rho' - rho) / W."""
    if measured.weight is not None:
        return np.full(len(normal), weight_ratio(measured, water))
    here = measured.water.density
    excess = np.maximum(DENSE * np.exp(_DENSE_DOUBT * normal) - here, _LEAST_EXCESS)
    lighter: Floats = 1 - (water.density - here) / excess
    return lighter
