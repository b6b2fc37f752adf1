"""Beads of the catalog as solid parts: what a size and a metal say of the mass."""

from __future__ import annotations

from dataclasses import replace

from flybench.catalog.tables.materials import Bead
from flybench.quantity import Measured
from flybench.sinking.weight.bead import Bore, default_bores, trade_diameter, volume_of
from flybench.sinking.weight.parts import PartMetal, SolidPart, metal_part

_TYPED = 0.05e-3
"""Standard uncertainty of a size of a bead that was typed [m]: callipers on a small hole (judgement)."""


def bead_mass_of(bead: Bead) -> tuple[float, float]:
    """Return the mass of a bead with its standard uncertainty [kg], from its sizes, metal and bore."""
    mass = bead_part(bead).mass
    return mass.value, mass.standard_uncertainty


def bead_part(bead: Bead) -> SolidPart:
    """Return a bead as a part of a fly, from its sizes, metal and bore.

    Sizes of the bore that were not given are the usual ones of the trade, with their spread. Raises
    BadValueError for sizes that no bead can have.
    """
    usual = default_bores(trade_diameter(bead.diameter_m), Bore(bead.bore.value))
    sizes = replace(
        usual,
        bore_diameter=_typed(bead.bore_diameter_m) or usual.bore_diameter,
        mouth_diameter=_typed(bead.mouth_diameter_m) or usual.mouth_diameter,
        mouth_depth=_typed(bead.mouth_depth_m) or usual.mouth_depth,
        slot_width=_typed(bead.slot_width_m) or usual.slot_width,
    )
    return metal_part("bead", volume_of(sizes), PartMetal(bead.metal.value))


def _typed(size: float | None) -> Measured | None:
    return None if size is None else Measured(size, min(_TYPED, size / 4))
