"""Weighing on a scale: what its readings in air and in water say, how finely, and what a better one would gain."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flybench.errors import BadValueError
from flybench.hydraulics.sphere import GRAVITY
from flybench.quantity import Measured

AIR_DENSITY = 1.2
"""Density of air about a scale [kg/m3]: the conventional value of weighing (OIML D 28, from memory)."""
COUNTERWEIGHT_DENSITY = 8000.0
"""Density of the weights a scale is adjusted with [kg/m3]: conventional too (OIML D 28, from memory)."""
AIR_FACTOR = 1 - AIR_DENSITY / COUNTERWEIGHT_DENSITY
"""Mass over what a scale shows of something without volume [-]: its own weights float in air too."""
LAST_DIGIT = 0.015
"""Share of a weight that a scale's last digit alone may make as standard uncertainty [-]: 3 % at k = 2, which moves
a predicted speed by 1.5 %, as much as drops usually differ (judgement)."""
RECTANGLE = math.sqrt(12)
"""Step of a scale's last digit over the standard uncertainty it leaves [-]: every value within the step is as likely
(JCGM 100:2008, F.2.2.1)."""
_SPEED_PER_WEIGHT = 0.5
"""Relative doubt of a speed over that of the weight [-]: W = rho v^2 A / 2 at a drag area that does not change."""
_STEPS = (5, 2, 1)
"""Last digits that scales count in [-], the coarsest first (OIML R 76-1, from memory)."""
_TENS = 10
"""Like flies weighed together are counted in this many [-]: nobody counts off 37 (judgement)."""


@dataclass(frozen=True)
class ScaleCheck:
    """Whether a scale is fine enough for what is to be weighed.

    resolution [kg]; count, how many like flies lie on it together; relative_uncertainty [-], that of one fly's weight
    by the last digit alone; needed_resolution [kg], the coarsest step that keeps one fly weighed alone within
    ``LAST_DIGIT``.
    """

    resolution: float
    count: int
    relative_uncertainty: float
    needed_resolution: float

    @property
    def too_coarse(self) -> bool:
        """Whether to warn: the last digit alone makes more than ``LAST_DIGIT`` of the weight."""
        return self.relative_uncertainty > LAST_DIGIT

    @property
    def fine_enough(self) -> float:
        """Coarsest step of 1, 2 or 5 [kg] that is fine enough for one fly alone."""
        decade = 10.0 ** math.floor(math.log10(self.needed_resolution))
        return next(step * decade for step in _STEPS if step * decade <= self.needed_resolution)

    def enough_together(self, most: int) -> int | None:
        """Return how many like flies, in tens, this scale is fine enough for; None where more than ``most``."""
        tens = math.ceil(self.count * self.relative_uncertainty / LAST_DIGIT / _TENS)
        return _TENS * tens if _TENS * tens <= most else None


@dataclass(frozen=True)
class WeightDoubt:
    """Relative standard uncertainties that one weight leaves behind, all else known exactly.

    Drag area 2 W / (rho v^2) goes with the weight. A predicted speed goes with its square root where the drag
    coefficient hardly changes (Newton's range); slow flies come to 0.6 of the weight's, not half.
    """

    weight: float

    @property
    def drag_area(self) -> float:
        """That of the drag area."""
        return self.weight

    @property
    def speed(self) -> float:
        """That of a predicted sink speed."""
        return _SPEED_PER_WEIGHT * self.weight


@dataclass(frozen=True)
class WeighingGain:
    """What weighing would leave of the doubt: as it is now, weighed dry only, weighed dry and in water."""

    now: WeightDoubt
    weighed_dry: WeightDoubt
    weighed_twice: WeightDoubt
    check: ScaleCheck

    @property
    def factor(self) -> float:
        """How many times smaller the doubt gets at best; 1 where weighing gains nothing."""
        best = min(self.weighed_dry.weight, self.weighed_twice.weight)
        return max(self.now.weight / best, 1.0)


def reading(shown: float, resolution: float, repeatability: float = 0.0) -> Measured:
    """Return what a scale shows with its standard uncertainty.

    u = hypot(resolution / sqrt(12), s).

    Parameters: shown [kg]; resolution, one step of the last digit [kg]; repeatability s, the standard deviation of
    weighing the same thing again [kg]. The scale's own calibration is not in it.
    Returns: the reading [kg].
    Range: resolution above zero, repeatability zero or more; BadValueError else.
    Reference: JCGM 100:2008, F.2.2.1.

    >>> round(reading(0.2e-3, 1e-5).standard_uncertainty * 1e6, 4)
    2.8868
    """
    if not 0 < resolution < math.inf:
        problem = f"{resolution * 1e6:g} mg cannot be the step of a scale's last digit"
        raise BadValueError("scale.resolution", problem, "Give a step above zero, such as 1 mg.")
    if not 0 <= repeatability < math.inf:
        problem = f"{repeatability * 1e6:g} mg cannot be a standard deviation"
        raise BadValueError("scale.repeatability", problem, "Give zero or more, such as 0.5 mg.")
    return Measured(shown, math.hypot(resolution / RECTANGLE, repeatability))


def true_mass(shown: Measured, volume: Measured) -> Measured:
    """Return the mass of what a scale shows in air.

    m = r (1 - 1.2/8000) + 1.2 V.

    Parameters: shown r, the reading of a scale adjusted with weights of 8000 kg/m3 [kg]; volume V [m3]. The two count
    as independent.
    Returns: mass with its standard uncertainty [kg]. Range: air near the ground; nothing is checked here.
    Reference: conventional mass, OIML D 28 (from memory).

    >>> round(true_mass(Measured(1.0, 0.0), Measured(1e-3, 0.0)).value, 5)
    1.00105
    """
    doubt = math.hypot(AIR_FACTOR * shown.standard_uncertainty, AIR_DENSITY * volume.standard_uncertainty)
    return Measured(AIR_FACTOR * shown.value + AIR_DENSITY * volume.value, doubt)


def weight_of_reading(in_water: Measured, air_density: float = AIR_DENSITY) -> Measured:
    """Return the weight of a fly from what a scale shows with the fly hanging in water.

    W = g (1 - rho_a / 8000) r.

    Parameters: in_water r, the reading, the hanger's own tared [kg]; air_density rho_a [kg/m3], 0 for a reading that
    is taken as a mass.
    Returns: weight with its standard uncertainty [N]. Range: none is checked here.
    Reference: hydrostatic weighing as in the manuals of density kits.

    >>> round(weight_of_reading(Measured(0.2e-3, 0.0)).value * 1e3, 4)
    1.961
    """
    factor = (1 - air_density / COUNTERWEIGHT_DENSITY) * GRAVITY
    return Measured(factor * in_water.value, factor * in_water.standard_uncertainty)


def hydrostatic(
    dry: Measured, in_water: Measured, water_density: float, air_density: float = AIR_DENSITY
) -> tuple[Measured, Measured, Measured]:
    """Return mass, volume and density from a reading in air and one hanging in water.

    k = 1 - rho_a / 8000, V = k (r1 - r2) / (rho - rho_a), m = k r1 + rho_a V,
    density = r1 / (r1 - r2) (rho - rho_a) + rho_a.

    Parameters: dry r1 and in_water r2, both readings [kg], independent, the hanger's own tared;
    water_density rho and air_density rho_a [kg/m3], 0 for readings that are taken as masses.
    Returns: mass [kg], volume [m3], density [kg/m3].
    Range: r2 less than r1; BadValueError else. The water's density counts as exact: a doubt of 1 K makes
    0.02 % of the volume.
    Reference: hydrostatic weighing as in the manuals of density kits; JCGM 100:2008, 5.1.2.

    >>> found = hydrostatic(Measured(8e-3, 0.0), Measured(7e-3, 0.0), 1000.0, 0.0)
    >>> [round(one.value, 9) for one in found]
    [0.008, 1e-06, 8000.0]
    """
    refuse_without_lift(dry.value, in_water.value)
    lost = dry.value - in_water.value
    k = 1 - air_density / COUNTERWEIGHT_DENSITY
    lift = water_density - air_density
    u1, u2 = dry.standard_uncertainty, in_water.standard_uncertainty
    volume = Measured(k * lost / lift, k * math.hypot(u1, u2) / lift)
    slope = air_density / lift
    mass = Measured(k * dry.value + air_density * volume.value, k * math.hypot((1 + slope) * u1, slope * u2))
    doubt = lift * math.hypot(in_water.value * u1, dry.value * u2) / lost**2
    return mass, volume, Measured(dry.value / lost * lift + air_density, doubt)


def refuse_without_lift(dry: float, in_water: float) -> None:
    """Refuse a reading in water that is not less than the dry one [kg]; raises BadValueError."""
    if not dry > in_water:
        problem = f"{in_water * 1e3:.4g} g in water is not less than {dry * 1e3:.4g} g dry"
        cure = "Weigh both again, the hanger tared in the water: water bears part of the weight."
        raise BadValueError("fly.mass_in_water", problem, cure)


def check_scale(resolution: float, mass: float, count: int = 1) -> ScaleCheck:
    """Return how fine a scale is for a reading of one fly's mass, in air or in water.

    u = resolution / sqrt(12) / (mass count); it is too coarse where u is above ``LAST_DIGIT``.

    Parameters: resolution, one step of the last digit [kg]; mass of one fly [kg]; count, how many like flies lie on
    the scale together [-].
    Returns: the check, see ``ScaleCheck``. Range: all above zero; BadValueError else.
    Reference: JCGM 100:2008, F.2.2.1.

    >>> check = check_scale(1e-6, 0.05e-3)
    >>> round(check.relative_uncertainty, 4), check.too_coarse, round(check.needed_resolution * 1e6, 2)
    (0.0058, False, 2.6)
    """
    if not 0 < mass < math.inf:
        problem = f"a mass of {mass * 1e3:g} g cannot be weighed"
        raise BadValueError("scale.mass", problem, "Give a mass above zero.")
    step = reading(mass, resolution)
    needed = LAST_DIGIT * mass * RECTANGLE
    return ScaleCheck(resolution, count, step.standard_uncertainty / mass / count, needed)


def weighing_gain(
    weight: Measured,
    displaced: Measured,
    water_density: float,
    resolution: float,
    repeatability: tuple[float, float] = (0.0, 0.0),
    gain: float = 0.0,
) -> WeighingGain:
    """Return what one reading dry, or one dry and one in water, on such a scale would make of a fly's submerged weight.

    Weighed dry: the volume's doubt stays, u = g hypot(r, c m, (rho - 1.2) u(V)); weighed twice: u = g hypot(r', c W / g),
    with r = hypot(resolution / sqrt(12), s), m = W / g + rho V.

    Parameters: weight W [N] and displaced volume V [m3] as known now; water_density rho [kg/m3]; resolution [kg];
    repeatability s in air and s' in water [kg], standard deviations; gain c [-], its standard uncertainty.
    Returns: relative standard uncertainties of the weight [-], now and for either way.
    Range: weight above zero; BadValueError else. Reference: JCGM 100:2008, 5.1.2.
    """
    apparent = weight.value / GRAVITY
    mass = apparent + water_density * displaced.value
    check = check_scale(resolution, apparent)
    lift = (water_density - AIR_DENSITY) * displaced.standard_uncertainty
    dry, wet = (reading(apparent, resolution, each).standard_uncertainty for each in repeatability)
    return WeighingGain(
        WeightDoubt(weight.standard_uncertainty / weight.value),
        WeightDoubt(math.hypot(dry, gain * mass, lift) / apparent),
        WeightDoubt(math.hypot(wet / apparent, gain)),
        check,
    )
