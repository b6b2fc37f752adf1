"""The parts of a variant as solids, from what its recipe says; amounts of dressing turned into mass.

What a turn of hackle, a feather or a drop of resin weighs is common practice, no source, and comes with the half of it
as standard uncertainty. Against bead and hook it hardly matters.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from flybench.catalog.shelf.needed import Needed, needed_for
from flybench.catalog.tables.materials import Bead, Hook, Material
from flybench.catalog.tables.patterns import Variant
from flybench.catalog.tables.vocabulary import MaterialKind, Unit
from flybench.catalog.tables.vocabulary import Part as Step
from flybench.quantity import Measured
from flybench.shop.fly.bead_sizes import bead_part
from flybench.sinking.weight.hook_and_ballast import hook_volume, hook_wire_length, usual_hook, wire_volume
from flybench.sinking.weight.parts import (
    DRESSING_DENSITY,
    PartMetal,
    SolidPart,
    density_of,
    metal_part,
    sized_part,
    total,
    weighed_part,
)

_HALF = 0.5
"""Relative standard uncertainty of a mass that comes from a usual amount [-] (judgement)."""
_WEIGHED_DOUBT = 0.02
"""Relative standard uncertainty of a bead or hook weighed without its ± [-]: a scale of 1 mg on 50 mg (judgement)."""
_TYPED_DOUBT = 0.05
"""Relative standard uncertainty of a thickness that was typed [-] (judgement)."""
_LENGTH_DOUBT, _AMOUNT_DOUBT, _DENSITY_DOUBT = 0.1, 0.1, 0.02
"""The same of a hook's wire length, of a mass that the recipe gives, and of a density that was typed [-] (judgement)."""
_WIRE_DOUBT = 0.4 * _TYPED_DOUBT
"""The same of the diameter of a hook's wire [-]: callipers measure it better than a bent length (judgement)."""
_RESIN = Measured(1150.0, 50.0)
"""Density of hardened resin [kg/m3] (common practice, no source)."""
_WIRE = Measured(8700.0, 300.0)
"""Density of wire, between brass and copper [kg/m3] (from memory)."""
_BALLAST = Measured(9300.0, 1500.0)
"""Density of ballast wire, from tin to lead [kg/m3] (judgement: which of them is not known)."""
_TURN, _PIECE, _DROP, _STRAND = 0.3e-6, 0.5e-6, 3e-6, 0.05e-6
"""Mass of a turn of feather, of a piece, of a drop of resin, of a millimetre of anything thin [kg] (common practice, no
source)."""
_THREAD, _THREAD_FILL = 0.06e-3, 0.7
"""Thickness of tying thread [m], and the share of its round section that is fibre [-] (judgement)."""
_SMALLEST_USUAL, _LARGEST_USUAL = 6, 22
"""Even trade sizes for which usual hooks are known (``sinking.weight.hook_and_ballast``)."""
_BODY_CORE = Measured(1.3e-3, 0.4e-3)
"""What a rib is wound over [m] (judgement)."""


@dataclass(frozen=True)
class Solids:
    """Parts of a variant, and what was assumed of them, in words."""

    parts: list[SolidPart]
    assumed: list[str]


def solids_of(variant: Variant) -> Solids:
    """Return the bead, the hook and every step's material of a variant as parts with mass and volume.

    Raises BadValueError for sizes that no bead can have.
    """
    assumed: list[str] = []
    parts = [hook_part(variant.hook, assumed)]
    if variant.bead is not None:
        parts.append(bead_of(variant.bead))
    for need in needed_for(variant):
        if need.material.kind not in (MaterialKind.HOOK, MaterialKind.BEAD):
            parts += _dressing(need, variant.hook, assumed)
    return Solids(parts, assumed)


def bead_of(bead: Bead) -> SolidPart:
    """Return a bead: as weighed where it was, else from its geometry."""
    if bead.weighed_kg is None:
        return bead_part(bead)
    doubt = bead.weighed_u_kg if bead.weighed_u_kg is not None else _WEIGHED_DOUBT * bead.weighed_kg
    return weighed_part("bead", Measured(bead.weighed_kg, doubt), density_of(PartMetal(bead.metal.value)))


def hook_part(hook: Hook, assumed: list[str]) -> SolidPart:
    """Return a hook: as weighed, else from its wire and lengths, else the usual one of its size."""
    if hook.mass_kg is not None:
        mass = Measured(hook.mass_kg, _WEIGHED_DOUBT * hook.mass_kg)
        return weighed_part("hook", mass, density_of(PartMetal.HOOK_STEEL))
    if hook.shank_m and hook.gape_m and hook.wire_diameter_m:
        length = hook_wire_length(hook.shank_m, hook.gape_m, hook.wire_diameter_m)
        wire = Measured(hook.wire_diameter_m, _WIRE_DOUBT * hook.wire_diameter_m)
        return metal_part(
            "hook", hook_volume(wire, Measured(length, _LENGTH_DOUBT * length)), PartMetal.HOOK_STEEL
        )
    assumed.append(
        f"neither the weight nor all sizes of the hook {hook.material.code} are known, so a usual hook of size "
        f"{usual_size(hook)} was taken. Weigh ten together to know better."
    )
    return usual_hook(usual_size(hook)).part


def usual_size(hook: Hook) -> int:
    """Return the even trade size nearest to a hook's, 6 to 22, for the table of usual hooks."""
    return min(max(2 * round(hook.size / 2), _SMALLEST_USUAL), _LARGEST_USUAL)


def _dressing(need: Needed, hook: Hook, assumed: list[str]) -> list[SolidPart]:
    """Return a step's material as one part, nothing where the recipe gives no amount."""
    if need.amount is None or need.unit is None:
        assumed.append(f"the recipe gives no amount of {need.material.code}, so it counts as nothing.")
        return []
    if need.unit in (Unit.GRAM, Unit.MILLIGRAM):
        mass = need.amount * (1e-3 if need.unit is Unit.GRAM else 1e-6)
        return [weighed_part(need.part.value, Measured(mass, _AMOUNT_DOUBT * mass), _density(need.material))]
    volume = _wound(need, hook)
    if volume is not None:
        return [sized_part(need.part.value, volume, _density(need.material))]
    mass = need.amount * _each(need)
    return [weighed_part(need.part.value, Measured(mass, _HALF * mass), _density(need.material))]


def _wound(need: Needed, hook: Hook) -> Measured | None:
    """Return the volume of what has a thickness, by its length or its turns; None for all else."""
    amount, material = need.amount or 0.0, need.material
    thickness = material.diameter_m or (_THREAD if material.kind is MaterialKind.THREAD else None)
    if thickness is None:
        return None
    fill = _THREAD_FILL if material.kind is MaterialKind.THREAD else 1.0
    if need.unit is Unit.MILLIMETRE:
        volume = fill * math.pi / 4 * thickness**2 * amount * 1e-3
        return Measured(volume, 2 * _TYPED_DOUBT * volume)
    if need.unit is Unit.TURN:
        shank = Measured(hook.wire_diameter_m or usual_hook(usual_size(hook)).wire_diameter.value, 0.05e-3)
        core = shank if need.part is Step.BALLAST else _BODY_CORE
        one = wire_volume(amount, core.value, thickness)
        spread = wire_volume(amount, core.value + core.standard_uncertainty, thickness) - one
        return Measured(one, math.hypot(spread, 2 * _TYPED_DOUBT * one))
    return None


def _each(need: Needed) -> float:
    """Return what one turn, piece, drop or millimetre weighs [kg]."""
    if need.unit is Unit.DROP:
        return _DROP
    return {Unit.TURN: _TURN, Unit.MILLIMETRE: _STRAND}.get(need.unit or Unit.PIECE, _PIECE)


def _density(material: Material) -> Measured:
    if material.density_kg_m3 is not None:
        return Measured(material.density_kg_m3, _DENSITY_DOUBT * material.density_kg_m3)
    usual = {MaterialKind.RESIN: _RESIN, MaterialKind.WIRE: _WIRE, MaterialKind.BALLAST: _BALLAST}
    return usual.get(material.kind, DRESSING_DENSITY)


def dressing_volume(solids: Solids) -> Measured:
    """Return the volume of what is neither bead nor hook [m3]: what may hold air."""
    return total([part.volume for part in solids.parts if part.name not in ("bead", "hook")])
