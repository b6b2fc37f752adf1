"""Densities of what flies are weighted with, each with its standard uncertainty and source."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

from flybench.quantity import Measured


class Metal(Enum):
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
_DENSITIES: Final = {
    Metal.TUNGSTEN: MetalDensity(
        Measured(17850.0, 577.0),
        "ASTM B777-15, table 1: classes 1 to 4 run from 16850 to 18850, any of them as likely; that beads "
        "are such alloys is common practice, no source",
    ),
    Metal.PURE_TUNGSTEN: MetalDensity(
        Measured(19300.0, 40.0), f"{_METALS_HANDBOOK}; newer tables have 19250 (from memory)"
    ),
    Metal.BRASS: MetalDensity(
        Measured(8500.0, 50.0), f"{_METALS_HANDBOOK}: free-machining 8500, cartridge brass 8530"
    ),
    Metal.STEEL: MetalDensity(Measured(7850.0, 25.0), "web tables; Metals Handbook has 7860 for low-carbon"),
    Metal.STAINLESS: MetalDensity(
        Measured(7900.0, 70.0), f"{_METALS_HANDBOOK}: 303 and 304 are 7900, 316 is 8000, 17-4PH is 7800"
    ),
    Metal.LEAD: MetalDensity(
        Measured(11340.0, 80.0), f"{_METALS_HANDBOOK}; the doubt is for a little antimony (4 %: 11040)"
    ),
    Metal.TIN: MetalDensity(Measured(7300.0, 20.0), _METALS_HANDBOOK),
    Metal.GLASS: MetalDensity(
        Measured(2500.0, 80.0), "bottle and window glass 2400 to 2800, mostly 2500 (web tables)"
    ),
    Metal.COPPER: MetalDensity(
        Measured(8930.0, 20.0), f"{_METALS_HANDBOOK}: pure 8960; commercial 8890 to 8910 in other handbooks"
    ),
    Metal.HOOK_STEEL: MetalDensity(
        Measured(7850.0, 40.0), "high-carbon wire, as steel; wider for bronzing and plating (from memory)"
    ),
    Metal.LEAD_FREE: MetalDensity(
        Measured(7400.0, 250.0), "tin and its alloys with some bismuth or copper: common practice, no source"
    ),
}


def density_of(metal: Metal) -> Measured:
    """Return the density of a metal near 20 °C [kg/m3] with its standard uncertainty.

    Range: solid metal, no pores. Heat changes it by less than 0.1 % from 0 to 40 °C.

    >>> density_of(Metal.LEAD)
    Measured(value=11340.0, standard_uncertainty=80.0)
    """
    return _DENSITIES[metal].density


def source_of(metal: Metal) -> str:
    """Return where the density of a metal comes from, as one line."""
    return _DENSITIES[metal].source
