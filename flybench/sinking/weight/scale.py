"""Weighing on a scale: what it reads, how finely, and what a better one would gain."""

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
COARSEST = 0.03
"""Relative standard uncertainty of a weight above which a record warns."""
_SPEED_PER_WEIGHT = 0.5


@dataclass(frozen=True)
class ScaleCheck:
    """Whether a scale is fine enough for what is to be weighed.

    ``relative_uncertainty`` is that of one reading by its last digit alone; ``needed_resolution`` [kg] is the
    coarsest step that keeps it within the limit.
    """

    resolution: float
    relative_uncertainty: float
    needed_resolution: float

    @property
    def too_coarse(self) -> bool:
        """Whether to warn: the last digit alone makes more than 3 %."""
        return self.relative_uncertainty > COARSEST


@dataclass(frozen=True)
class Doubt:
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
class Gain:
    """What weighing would leave of the doubt: as it is now, weighed dry only, weighed dry and in water."""

    now: Doubt
    weighed_dry: Doubt
    weighed_twice: Doubt
    check: ScaleCheck

    @property
    def factor(self) -> float:
        """How many times smaller the doubt gets at best; 1 where weighing gains nothing."""
        best = min(self.weighed_dry.weight, self.weighed_twice.weight)
        return max(self.now.weight / best, 1.0)


def reading(shown: float, resolution: float, repeatability: float = 0.0) -> Measured:
    """Return what a scale shows [kg] with its standard uncertainty: hypot(resolution / sqrt(12), s).

    Parameters: shown; resolution, one step of the last digit; repeatability s, the standard deviation of
    weighing the same thing again [kg]. The scale's own calibration is not in it.
    Range: resolution above zero, repeatability zero or more; BadValueError else.
    Reference: JCGM 100:2008, F.2.2.1.

    >>> round(reading(0.2e-3, 1e-5).standard_uncertainty * 1e6, 4)
    2.8868
    """
    if not 0 < resolution < math.inf:
        raise BadValueError(
            "scale.resolution", f"{resolution:g} kg is no step", "Give the last digit's step."
        )
    if not 0 <= repeatability < math.inf:
        problem = f"{repeatability:g} kg is no standard deviation"
        raise BadValueError("scale.repeatability", problem, "Give zero or more.")
    return Measured(shown, math.hypot(resolution / math.sqrt(12), repeatability))


def true_mass(shown: Measured, volume: Measured) -> Measured:
    """Return the mass [kg] of what shows as ``shown`` [kg] in air: m = r (1 - 1.2/8000) + 1.2 V.

    Parameters: shown, the reading of a scale adjusted with weights of 8000 kg/m3; volume [m3].
    Range: air near the ground. The two count as independent.
    """
    factor = 1 - AIR_DENSITY / COUNTERWEIGHT_DENSITY
    doubt = math.hypot(factor * shown.standard_uncertainty, AIR_DENSITY * volume.standard_uncertainty)
    return Measured(factor * shown.value + AIR_DENSITY * volume.value, doubt)


def check_scale(resolution: float, mass: float) -> ScaleCheck:
    """Return how fine a scale is for a reading of ``mass`` [kg], in air or in water.

    Relative uncertainty (resolution / sqrt(12)) / mass; it warns above 3 %.
    Range: both above zero; BadValueError else.
    """
    if not 0 < mass < math.inf:
        raise BadValueError("scale.mass", f"{mass:g} kg cannot be weighed", "Give more than zero.")
    step = reading(mass, resolution)
    needed = COARSEST * mass * math.sqrt(12)
    return ScaleCheck(resolution, step.standard_uncertainty / mass, needed)


def weighing_gain(weight: Measured, displaced: Measured, water_density: float, resolution: float) -> Gain:
    """Return what a scale of this resolution [kg] would make of a fly's submerged weight.

    Weighed dry: the volume's doubt stays, u = g hypot(r, (rho - 1.2) u(V)); weighed twice: u = g r, with
    r = resolution / sqrt(12). The best case: by the last digit alone, without repeatability or meniscus.

    Parameters: weight [N] and displaced volume [m3] as known now; water_density [kg/m3]; resolution [kg].
    Range: weight above zero; BadValueError else.
    """
    apparent = weight.value / GRAVITY
    check = check_scale(resolution, apparent)
    lift = (water_density - AIR_DENSITY) * displaced.standard_uncertainty
    step = check.relative_uncertainty
    return Gain(
        Doubt(weight.standard_uncertainty / weight.value),
        Doubt(math.hypot(step, lift / apparent)),
        Doubt(step),
        check,
    )
