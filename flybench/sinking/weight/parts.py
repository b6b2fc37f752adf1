"""A part of a fly: its mass and its volume, and how far one was worked out from the other."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flybench.errors import BadValueError
from flybench.quantity import Measured
from flybench.sinking.weight.metals import Metal, density_of

DRESSING_DENSITY = Measured(1300.0, 120.0)
"""Density of dressing without water or air [kg/m3]: hair and feather about 1300, nylon 1140, polyester
1380, varnish 1150, cotton 1540 (from memory); the mixture is common practice, no source."""


@dataclass(frozen=True)
class Part:
    """Mass [kg] and solid volume [m3] of one part, and the correlation of their errors.

    Parts count as independent of each other: give two beads of one metal as one part.
    """

    name: str
    mass: Measured
    volume: Measured
    correlation: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a mass, volume or correlation that cannot be."""
        for what, measured in (("mass", self.mass), ("volume", self.volume)):
            if not 0 <= measured.value < math.inf:
                problem = f"the {what} of a part cannot be {measured.value:g}"
                raise BadValueError(self.name, problem, "Give a finite value, zero or more.")
        if not -1 <= self.correlation <= 1:
            problem = f"{self.correlation:g} is not a correlation"
            raise BadValueError(self.name, problem, "Give a value from -1 to 1.")

    def apparent_mass(self, fluid_density: float) -> Measured:
        """Return mass less displaced fluid [kg]: m - rho V, its uncertainty with the correlation.

        Parameters: fluid_density [kg/m3]. Negative where the part floats.
        """
        displaced = fluid_density * self.volume.value
        u_mass, u_displaced = (
            self.mass.standard_uncertainty,
            fluid_density * self.volume.standard_uncertainty,
        )
        variance = u_mass**2 + u_displaced**2 - 2 * self.correlation * u_mass * u_displaced
        return Measured(self.mass.value - displaced, math.sqrt(max(variance, 0.0)))


def sized_part(name: str, volume: Measured, density: Measured) -> Part:
    """Return the part of a known volume [m3] and density [kg/m3]: m = rho V."""
    mass = times(volume, density)
    shared = density.value * volume.standard_uncertainty
    return Part(name, mass, volume, _share(shared, mass.standard_uncertainty))


def weighed_part(name: str, mass: Measured, density: Measured) -> Part:
    """Return the part of a known mass [kg] and density [kg/m3]: V = m / rho.

    Raises BadValueError where the density is not above zero.
    """
    if not density.value > 0:
        raise BadValueError(name, f"a density of {density.value:g} kg/m3 cannot be", "Give more than zero.")
    volume = mass.value / density.value
    shared = mass.standard_uncertainty / density.value
    u_volume = math.hypot(shared, volume * density.standard_uncertainty / density.value)
    return Part(name, mass, Measured(volume, u_volume), _share(shared, u_volume))


def metal_part(name: str, volume: Measured, metal: Metal) -> Part:
    """Return the part of a known volume [m3] and metal."""
    return sized_part(name, volume, density_of(metal))


def dressing(mass: Measured, density: Measured = DRESSING_DENSITY) -> Part:
    """Return the dressing (fur, feather, thread, varnish) of a known dry mass [kg].

    Its volume is that of the fibres alone: water soaked up and air held back are told apart, where the
    weight is worked out.
    """
    return weighed_part("dressing", mass, density)


def times(one: Measured, other: Measured) -> Measured:
    """Return the product of two independent measured values (JCGM 100:2008, 5.1.2).

    >>> times(Measured(2.0, 0.1), Measured(3.0, 0.0))
    Measured(value=6.0, standard_uncertainty=0.30000000000000004)
    """
    doubt = math.hypot(one.standard_uncertainty * other.value, one.value * other.standard_uncertainty)
    return Measured(one.value * other.value, doubt)


def total(values: list[Measured]) -> Measured:
    """Return the sum of independent measured values."""
    doubt = math.hypot(*(each.standard_uncertainty for each in values))
    return Measured(sum(each.value for each in values), doubt)


def _share(shared: float, whole: float) -> float:
    """Return the correlation of two errors, one of which is part of the other."""
    return min(shared / whole, 1.0) if whole > 0 else 0.0
