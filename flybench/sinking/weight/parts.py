"""What a fly is made of: the mass and the solid volume of each part, and the densities of the metals."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from typing import Final

from flybench.errors import BadValueError
from flybench.quantity import Measured


class PartMetal(Enum):
    """What a bead, a hook or a ballast wire is made of; glass counts in."""

    TUNGSTEN = "tungsten"
    """What is sold as tungsten beads: a heavy alloy, class unknown."""
    PURE_TUNGSTEN = "pure-tungsten"
    BRASS = "brass"
    STEEL = "steel"
    STAINLESS = "stainless"
    LEAD = "lead"
    TIN = "tin"
    GLASS = "glass"
    COPPER = "copper"
    HOOK_STEEL = "hook-steel"
    LEAD_FREE = "lead-free"
    """Ballast wire sold as free of lead: as a rule tin or an alloy of it."""


@dataclass(frozen=True)
class MetalDensity:
    """A density [kg/m3] with its standard uncertainty, and where it comes from."""

    density: Measured
    source: str


_METALS_HANDBOOK = "Metals Handbook, vol. 1, 8th ed., p. 52"
"""Source of most densities below."""
_DENSITIES: Final = {
    PartMetal.TUNGSTEN: MetalDensity(
        Measured(17850.0, 577.0),
        "ASTM B777-15, table 1: classes 1 to 4 run from 16850 to 18850, any of them as likely; that beads "
        "are such alloys is common practice, no source",
    ),
    PartMetal.PURE_TUNGSTEN: MetalDensity(
        Measured(19300.0, 40.0), f"{_METALS_HANDBOOK}; newer tables have 19250 (from memory)"
    ),
    PartMetal.BRASS: MetalDensity(
        Measured(8500.0, 50.0), f"{_METALS_HANDBOOK}: free-machining 8500, cartridge brass 8530"
    ),
    PartMetal.STEEL: MetalDensity(
        Measured(7850.0, 25.0), "web tables; Metals Handbook has 7860 for low-carbon"
    ),
    PartMetal.STAINLESS: MetalDensity(
        Measured(7900.0, 70.0), f"{_METALS_HANDBOOK}: 303 and 304 are 7900, 316 is 8000, 17-4PH is 7800"
    ),
    PartMetal.LEAD: MetalDensity(
        Measured(11340.0, 80.0), f"{_METALS_HANDBOOK}; the doubt is for a little antimony (4 %: 11040)"
    ),
    PartMetal.TIN: MetalDensity(Measured(7300.0, 20.0), _METALS_HANDBOOK),
    PartMetal.GLASS: MetalDensity(
        Measured(2500.0, 80.0), "bottle and window glass 2400 to 2800, mostly 2500 (web tables)"
    ),
    PartMetal.COPPER: MetalDensity(
        Measured(8930.0, 20.0), f"{_METALS_HANDBOOK}: pure 8960; commercial 8890 to 8910 in other handbooks"
    ),
    PartMetal.HOOK_STEEL: MetalDensity(
        Measured(7850.0, 40.0), "high-carbon wire, as steel; wider for bronzing and plating (from memory)"
    ),
    PartMetal.LEAD_FREE: MetalDensity(
        Measured(7400.0, 250.0), "tin and its alloys with some bismuth or copper: common practice, no source"
    ),
}
"""Density [kg/m3] near 20 degrees Celsius and source of each metal; a rectangle of alloys counts a / sqrt(3) (JCGM
100:2008, 4.3.7), other doubts are judgement."""


def density_of(metal: PartMetal) -> Measured:
    """Return the density of a metal near 20 °C [kg/m3] with its standard uncertainty.

    Range: solid metal, no pores. Heat changes it by less than 0.1 % from 0 to 40 °C.

    >>> density_of(PartMetal.LEAD)
    Measured(value=11340.0, standard_uncertainty=80.0)
    """
    return _DENSITIES[metal].density


def source_of(metal: PartMetal) -> str:
    """Return where the density of a metal comes from, as one line."""
    return _DENSITIES[metal].source


DRESSING_DENSITY = Measured(1300.0, 120.0)
"""Density of dressing without water or air, with its standard uncertainty [kg/m3]: hair and feather about 1300,
nylon 1140, polyester 1380, varnish 1150, cotton 1540 (from memory); the mixture is common practice, no source."""


_SHOWN: Final = {"mass": (1e3, "g"), "volume": (1e9, "mm3")}
"""How mass [kg] and volume [m3] are shown in an error: factor and unit."""


@dataclass(frozen=True)
class SolidPart:
    """Mass [kg] and solid volume [m3] of one part, and the correlation of their errors [-].

    Raises BadValueError for a mass or volume below zero, and a correlation outside -1 to 1.
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
                shown = measured.value * _SHOWN[what][0]
                problem = f"the {what} of a part cannot be {shown:g} {_SHOWN[what][1]}"
                raise BadValueError(self.name, problem, "Give a finite value, zero or more.")
        if not -1 <= self.correlation <= 1:
            problem = f"a correlation of {self.correlation:g} cannot be"
            raise BadValueError(self.name, problem, "Give a value from -1 to 1.")

    def apparent_mass(self, fluid_density: float) -> Measured:
        """Return mass less displaced fluid: m - rho V, its uncertainty with the correlation.

        u^2 = u(m)^2 + (rho u(V))^2 - 2 r u(m) rho u(V).

        Parameters: fluid_density rho [kg/m3]. Returns: apparent mass [kg], negative where the part floats.
        Reference: Archimedes' principle; JCGM 100:2008, 5.2.2.

        >>> found = SolidPart("bead", Measured(2e-4, 3e-6), Measured(2e-8, 3e-10), 1.0).apparent_mass(1000.0)
        >>> round(found.value * 1e6, 3), round(found.standard_uncertainty * 1e6, 3)
        (180.0, 2.7)
        """
        displaced = fluid_density * self.volume.value
        u_mass, u_displaced = (
            self.mass.standard_uncertainty,
            fluid_density * self.volume.standard_uncertainty,
        )
        variance = u_mass**2 + u_displaced**2 - 2 * self.correlation * u_mass * u_displaced
        return Measured(self.mass.value - displaced, math.sqrt(max(variance, 0.0)))


def sized_part(name: str, volume: Measured, density: Measured) -> SolidPart:
    """Return the part of a known volume [m3] and density [kg/m3]: m = rho V [kg]; JCGM 100:2008, 5.1.2.

    >>> sized_part("ball", Measured(1e-8, 0.0), Measured(8000.0, 0.0)).mass.value
    8e-05
    """
    mass = times(volume, density)
    shared = density.value * volume.standard_uncertainty
    return SolidPart(name, mass, volume, _share(shared, mass.standard_uncertainty))


def weighed_part(name: str, mass: Measured, density: Measured) -> SolidPart:
    """Return the part of a known mass [kg] and density [kg/m3]: V = m / rho [m3]; JCGM 100:2008, 5.1.2.

    Raises BadValueError where the density is not above zero.

    >>> round(weighed_part("ball", Measured(8e-5, 0.0), Measured(8000.0, 0.0)).volume.value * 1e9, 6)
    10.0
    """
    if not density.value > 0:
        raise BadValueError(
            name, f"a density of {density.value:g} kg/m3 cannot be", "Give a density above zero."
        )
    volume = mass.value / density.value
    shared = mass.standard_uncertainty / density.value
    u_volume = math.hypot(shared, volume * density.standard_uncertainty / density.value)
    return SolidPart(name, mass, Measured(volume, u_volume), _share(shared, u_volume))


def metal_part(name: str, volume: Measured, metal: PartMetal) -> SolidPart:
    """Return the part of a known volume [m3] and metal: m = rho V [kg]; densities, ``source_of``."""
    return sized_part(name, volume, density_of(metal))


def dressing(mass: Measured, density: Measured = DRESSING_DENSITY) -> SolidPart:
    """Return the dressing (fur, feather, thread, varnish) of a known dry mass [kg].

    Its volume is that of the fibres alone: water soaked up and air held back are told apart, where the
    weight is worked out.
    """
    return weighed_part("dressing", mass, density)


def times(one: Measured, other: Measured) -> Measured:
    """Return the product of two independent measured values, in the product of their units (JCGM 100:2008, 5.1.2).

    >>> times(Measured(2.0, 0.1), Measured(3.0, 0.0))
    Measured(value=6.0, standard_uncertainty=0.30000000000000004)
    """
    doubt = math.hypot(one.standard_uncertainty * other.value, one.value * other.standard_uncertainty)
    return Measured(one.value * other.value, doubt)


def total(values: list[Measured]) -> Measured:
    """Return the sum of independent measured values, in their unit (JCGM 100:2008, 5.1.2)."""
    doubt = math.hypot(*(each.standard_uncertainty for each in values))
    return Measured(sum(each.value for each in values), doubt)


def _share(shared: float, whole: float) -> float:
    """Return the correlation of two errors, one of which is part of the other."""
    return min(shared / whole, 1.0) if whole > 0 else 0.0
