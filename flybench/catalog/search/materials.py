"""The fields of materials: what belongs to all, to beads, to hooks, and what each kind cannot do without."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from sqlalchemy import SQLColumnExpression, case, func, select

from flybench.catalog.search.fields import (
    BEAD_STEP,
    KG_M3,
    MG,
    MM,
    Field,
    Noun,
    fields_of,
    of_kinds,
    quantity,
    with_doubt,
)
from flybench.catalog.tables.materials import Bead, Hook, Material, MaterialMovement
from flybench.catalog.tables.vocabulary import Bore, MaterialKind, Metal, Unit

_ON_HAND = (
    select(func.coalesce(func.sum(MaterialMovement.amount), 0.0))
    .where(MaterialMovement.material_id == Material.id)
    .correlate(Material)
    .scalar_subquery()
)
_TENTH = 0.1
"""Step between amounts [units] (judgement: whoever looks for 0 or for 2 of something does not mean 0.4 or 2.4)."""


def _mm(
    name: str,
    what: str,
    column: SQLColumnExpression[Any],
    attribute: str,
    high: float,
    step: float | None = None,
) -> Field:
    return quantity(name, what, column, MM, attribute, 1e-6, high, step)


_GENERAL = (
    Field("code", "text", "Code, no two alike", Material.code.expression, "code", needed=True),
    Field(
        "kind",
        "choice",
        "Kind of material",
        Material.kind.expression,
        "kind",
        choices=MaterialKind,
        needed=True,
    ),
    Field("name", "text", "Full name", Material.name.expression, "name", needed=True),
    Field("size", "text", "Size as the trade writes it", Material.size.expression, "size"),
    Field("colour", "text", "Colour", Material.colour.expression, "colour"),
    quantity("density", "Density", Material.density_kg_m3.expression, KG_M3, "density_kg_m3", 10.0, 23000.0),
    _mm("thickness", "Diameter of wire or thread", Material.diameter_m.expression, "diameter_m", 5e-3),
)
_BEAD = of_kinds(
    (MaterialKind.BEAD,),
    ("diameter", "metal", "bore"),
    _mm("diameter", "Diameter of a bead", Bead.diameter_m.expression, "bead.diameter_m", 12e-3, BEAD_STEP),
    Field("metal", "choice", "Metal of a bead", Bead.metal.expression, "bead.metal", choices=Metal),
    Field("bore", "choice", "How a bead is drilled", Bead.bore.expression, "bead.bore", choices=Bore),
    _mm("hole", "Diameter of a bead's bore", Bead.bore_diameter_m.expression, "bead.bore_diameter_m", 6e-3),
    _mm(
        "mouth", "Wide end of a bead's bore", Bead.mouth_diameter_m.expression, "bead.mouth_diameter_m", 10e-3
    ),
    _mm(
        "mouth-depth",
        "Depth of a bead's wide end",
        Bead.mouth_depth_m.expression,
        "bead.mouth_depth_m",
        10e-3,
    ),
    _mm("slot", "Width of a bead's slot", Bead.slot_width_m.expression, "bead.slot_width_m", 6e-3),
)
_HOOK = of_kinds(
    (MaterialKind.HOOK,),
    ("hook",),
    Field("hook", "count", "Trade size of a hook", Hook.size.expression, "hook.size", low=1, high=32),
    _mm("gape", "Gape of a hook", Hook.gape_m.expression, "hook.gape_m", 30e-3),
    _mm("shank", "Length of a hook's shank", Hook.shank_m.expression, "hook.shank_m", 60e-3),
    _mm("wire", "Diameter of a hook's wire", Hook.wire_diameter_m.expression, "hook.wire_diameter_m", 3e-3),
)
_WEIGHED = with_doubt(
    quantity(
        "weighed",
        "Mass of one bead or hook as weighed, and nothing else",
        func.coalesce(Bead.weighed_kg, Hook.mass_kg),
        MG,
    ),
    Bead.weighed_u_kg.expression,
)
_BY_SIZE = with_doubt(
    quantity(
        "mass-by-size",
        "Mass of one bead worked out from its size, shape and metal",
        Bead.mass_kg.expression,
        MG,
    ),
    Bead.mass_u_kg.expression,
)
_SHOWN_MASS, _MASS_DOUBT = with_doubt(
    quantity(
        "mass",
        "Mass of one bead or hook as weighed",
        func.coalesce(Bead.weighed_kg, Bead.mass_kg, Hook.mass_kg),
        MG,
        "mass",
        1e-7,
        5e-3,
    ),
    case((Bead.weighed_kg.is_(None), Bead.mass_u_kg), else_=Bead.weighed_u_kg),
)
_MASS = (replace(_SHOWN_MASS, given_as="weighed"), _MASS_DOUBT)
_TRADE = (
    Field(
        "unit", "choice", "In what it is counted and bought", Material.unit.expression, "unit", choices=Unit
    ),
    Field(
        "pack",
        "number",
        "Units in a pack",
        Material.pack_amount.expression,
        "pack_amount",
        low=1e-6,
        step=_TENTH,
    ),
    Field("price", "money", "Price of a pack", Material.pack_price.expression, "pack_price", low=0),
    Field("stock", "number", "Units on hand", _ON_HAND, step=_TENTH),
    Field(
        "reorder",
        "number",
        "Units below which to buy more",
        Material.reorder_level.expression,
        "reorder_level",
        low=0,
        step=_TENTH,
    ),
    Field("supplier", "text", "Whom it is bought from", Material.supplier.expression, "supplier"),
    Field("bin", "text", "Where it lies", Material.bin.expression, "bin"),
    Field("retired", "date", "Day it was retired", Material.retired_on.expression, "retired_on"),
    Field("notes", "text", "Notes", Material.notes.expression, "notes"),
)

MATERIAL = Noun(
    "material",
    "materials",
    "Hooks, beads, threads and the rest",
    Material,
    fields_of(
        *_GENERAL,
        *_BEAD,
        *_HOOK,
        *of_kinds((MaterialKind.BEAD, MaterialKind.HOOK), (), *_MASS),
        *_BY_SIZE,
        *(replace(field, hidden=True) for field in _WEIGHED),
        *_TRADE,
    ),
    select(Material.id)
    .outerjoin(Bead, Bead.material_id == Material.id)
    .outerjoin(Hook, Hook.material_id == Material.id),
    (
        "code",
        "kind",
        "name",
        "retired",
        "price",
        "pack",
        "unit",
        "stock",
        "size",
        "diameter",
        "metal",
        "bore",
        "hook",
        "mass",
    ),
    (
        Material.code.expression,
        Material.name.expression,
        Material.notes.expression,
        Material.colour.expression,
    ),
)
