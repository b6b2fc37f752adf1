"""Fields of materials."""

from __future__ import annotations

from typing import Any

from sqlalchemy import SQLColumnExpression, func, select

from flybench.catalog.search.fields import KG_M3, MG, MM, Field, Noun, fields_of
from flybench.catalog.tables.materials import Bead, Hook, Material, MaterialMovement
from flybench.catalog.tables.vocabulary import Bore, MaterialKind, Metal, Unit

_STOCK = (
    select(func.coalesce(func.sum(MaterialMovement.amount), 0.0))
    .where(MaterialMovement.material_id == Material.id)
    .correlate(Material)
    .scalar_subquery()
)


def _mm(name: str, what: str, column: SQLColumnExpression[Any], attribute: str, high: float) -> Field:
    return Field(
        name,
        "quantity",
        what,
        column,
        attribute,
        "m",
        MM,
        low=1e-6,
        high=high,
    )


_GENERAL = (
    Field("code", "text", "Short name, unique", Material.code.expression, "code", needed=True),
    Field(
        "kind", "choice", "What it is", Material.kind.expression, "kind", choices=MaterialKind, needed=True
    ),
    Field("name", "text", "Full name", Material.name.expression, "name", needed=True),
    Field("size", "text", "Size in the trade's units", Material.size.expression, "size"),
    Field("colour", "text", "Colour", Material.colour.expression, "colour"),
    Field(
        "density",
        "quantity",
        "Density",
        Material.density_kg_m3.expression,
        "density_kg_m3",
        "kg/m**3",
        KG_M3,
        low=10.0,
        high=23000.0,
    ),
    _mm("thickness", "Diameter of wire or thread", Material.diameter_m.expression, "diameter_m", 5e-3),
)
_BEAD = (
    _mm("diameter", "Diameter of a bead", Bead.diameter_m.expression, "bead.diameter_m", 12e-3),
    Field("metal", "choice", "Metal of a bead", Bead.metal.expression, "bead.metal", choices=Metal),
    Field("bore", "choice", "Bore of a bead", Bead.bore.expression, "bead.bore", choices=Bore),
    _mm("hole", "Diameter of the bore", Bead.bore_diameter_m.expression, "bead.bore_diameter_m", 6e-3),
    _mm("mouth", "Wide end of the bore", Bead.mouth_diameter_m.expression, "bead.mouth_diameter_m", 10e-3),
    _mm("mouth-depth", "Depth of the mouth", Bead.mouth_depth_m.expression, "bead.mouth_depth_m", 10e-3),
    _mm("slot", "Width of the slot", Bead.slot_width_m.expression, "bead.slot_width_m", 6e-3),
)
_HOOK = (
    Field("hook", "count", "Trade size of a hook", Hook.size.expression, "hook.size", low=1, high=32),
    _mm("gape", "Gape of a hook", Hook.gape_m.expression, "hook.gape_m", 30e-3),
    _mm("shank", "Shank of a hook", Hook.shank_m.expression, "hook.shank_m", 60e-3),
    _mm("wire", "Wire of a hook", Hook.wire_diameter_m.expression, "hook.wire_diameter_m", 3e-3),
)
_MASS = (
    Field(
        "mass",
        "quantity",
        "Mass of a bead or hook as weighed",
        func.coalesce(Bead.weighed_kg, Bead.mass_kg, Hook.mass_kg),
        "mass",
        "kg",
        MG,
        low=1e-7,
        high=5e-3,
        plus_minus="mass-u",
    ),
    Field(
        "mass-u",
        "quantity",
        "Standard uncertainty of the mass",
        func.coalesce(Bead.weighed_u_kg, Bead.mass_u_kg),
        unit="kg",
        display=MG,
        hidden=True,
    ),
)
_TRADE = (
    Field("unit", "choice", "In what it is counted", Material.unit.expression, "unit", choices=Unit),
    Field("pack", "number", "Units in a pack", Material.pack_amount.expression, "pack_amount", low=1e-6),
    Field("price", "money", "Price of a pack", Material.pack_price.expression, "pack_price", low=0),
    Field("stock", "number", "Units on hand", _STOCK),
    Field("notes", "text", "Notes", Material.notes.expression, "notes"),
)

MATERIAL = Noun(
    "material",
    "materials",
    "Hooks, beads, threads and the rest",
    Material,
    fields_of(*_GENERAL, *_BEAD, *_HOOK, *_MASS, *_TRADE),
    select(Material.id)
    .outerjoin(Bead, Bead.material_id == Material.id)
    .outerjoin(Hook, Hook.material_id == Material.id),
    ("code", "kind", "name", "size", "diameter", "metal", "bore", "hook", "mass", "stock", "unit"),
    (
        Material.code.expression,
        Material.name.expression,
        Material.notes.expression,
        Material.colour.expression,
    ),
)
