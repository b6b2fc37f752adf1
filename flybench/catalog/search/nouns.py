"""The kinds of thing in the catalog and their fields: materials, patterns, variants, tied flies, bench runs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from sqlalchemy import ColumnElement, ScalarSelect, SQLColumnExpression, func, select
from sqlalchemy.orm import aliased

from flybench.catalog.search.fields import CM_S, KG_M3, MG, MM, Field, Noun, fields_of, quantity, with_doubt
from flybench.catalog.tables.base import Base
from flybench.catalog.tables.flies import BenchRun, Fly, FlySpeed, VariantSpeed
from flybench.catalog.tables.materials import Bead, Hook, Material, MaterialMovement
from flybench.catalog.tables.patterns import FlyMovement, Pattern, Step, Variant
from flybench.catalog.tables.vocabulary import Bore, MaterialKind, Metal, Style, Unit, Verdict

_ON_HAND = (
    select(func.coalesce(func.sum(MaterialMovement.amount), 0.0))
    .where(MaterialMovement.material_id == Material.id)
    .correlate(Material)
    .scalar_subquery()
)


def _mm(name: str, what: str, column: SQLColumnExpression[Any], attribute: str, high: float) -> Field:
    return quantity(name, what, column, MM, attribute, 1e-6, high)


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
    Field("size", "text", "Size in the trade's units", Material.size.expression, "size"),
    Field("colour", "text", "Colour", Material.colour.expression, "colour"),
    quantity("density", "Density", Material.density_kg_m3.expression, KG_M3, "density_kg_m3", 10.0, 23000.0),
    _mm("thickness", "Diameter of wire or thread", Material.diameter_m.expression, "diameter_m", 5e-3),
)
_BEAD = (
    _mm("diameter", "Diameter of a bead", Bead.diameter_m.expression, "bead.diameter_m", 12e-3),
    Field("metal", "choice", "Metal of a bead", Bead.metal.expression, "bead.metal", choices=Metal),
    Field("bore", "choice", "Bore of a bead", Bead.bore.expression, "bead.bore", choices=Bore),
    _mm("hole", "Diameter of the bore", Bead.bore_diameter_m.expression, "bead.bore_diameter_m", 6e-3),
    _mm("mouth", "Wide end of the bore", Bead.mouth_diameter_m.expression, "bead.mouth_diameter_m", 10e-3),
    _mm("mouth-depth", "Depth of the wide end", Bead.mouth_depth_m.expression, "bead.mouth_depth_m", 10e-3),
    _mm("slot", "Width of the slot", Bead.slot_width_m.expression, "bead.slot_width_m", 6e-3),
)
_HOOK = (
    Field("hook", "count", "Trade size of a hook", Hook.size.expression, "hook.size", low=1, high=32),
    _mm("gape", "Gape of a hook", Hook.gape_m.expression, "hook.gape_m", 30e-3),
    _mm("shank", "Length of the shank of a hook", Hook.shank_m.expression, "hook.shank_m", 60e-3),
    _mm(
        "wire",
        "Thickness of a hook's wire",
        Hook.wire_diameter_m.expression,
        "hook.wire_diameter_m",
        3e-3,
    ),
)
_MASS = with_doubt(
    quantity(
        "mass",
        "Mass of a bead or hook as weighed",
        func.coalesce(Bead.weighed_kg, Bead.mass_kg, Hook.mass_kg),
        MG,
        "mass",
        1e-7,
        5e-3,
    ),
    func.coalesce(Bead.weighed_u_kg, Bead.mass_u_kg),
)
_TRADE = (
    Field(
        "unit",
        "choice",
        "Unit of stock and packs",
        Material.unit.expression,
        "unit",
        choices=Unit,
    ),
    Field("pack", "number", "Units in a pack", Material.pack_amount.expression, "pack_amount", low=1e-6),
    Field("price", "money", "Price of a pack", Material.pack_price.expression, "pack_price", low=0),
    Field("stock", "number", "Units on hand", _ON_HAND),
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

_HOOK_NAME = aliased(Material, name="hook_material")
_BEAD_NAME = aliased(Material, name="bead_material")
_BASE = aliased(Variant, name="base")


def _count_of(
    column: SQLColumnExpression[Any], condition: ColumnElement[bool], owner: type[Base]
) -> ScalarSelect[int]:
    """Return the number of rows that belong to the row at hand."""
    return select(func.count(column)).where(condition).correlate(owner).scalar_subquery()


def _speed(name: str, what: str, value: Any, doubt: Any) -> tuple[Field, Field]:
    return with_doubt(quantity(name, what, value.expression, CM_S), doubt.expression)


_FLIES_ON_HAND = (
    select(func.coalesce(func.sum(FlyMovement.amount), 0))
    .where(FlyMovement.variant_id == Variant.id)
    .correlate(Variant)
    .scalar_subquery()
)

PATTERN = Noun(
    "pattern",
    "patterns",
    "Recipes",
    Pattern,
    fields_of(
        Field("code", "text", "Code, no two alike", Pattern.code.expression, "code", needed=True),
        Field("name", "text", "Full name", Pattern.name.expression, "name", needed=True),
        Field(
            "style", "choice", "Style of body", Pattern.style.expression, "style", choices=Style, needed=True
        ),
        Field(
            "steps",
            "count",
            "Steps of the recipe",
            _count_of(Step.id, Step.pattern_id == Pattern.id, Pattern),
        ),
        Field(
            "variants",
            "count",
            "Variants by bead and hook",
            _count_of(Variant.id, Variant.pattern_id == Pattern.id, Pattern),
        ),
        Field("notes", "text", "Notes", Pattern.notes.expression, "notes"),
    ),
    select(Pattern.id),
    ("code", "name", "style", "steps", "variants"),
    (Pattern.code.expression,),
)

_OF_VARIANT = (
    Field("pattern", "code", "Pattern", Pattern.code.expression, "pattern", target="pattern", needed=True),
    Field("name", "text", "Name of the pattern", Pattern.name.expression),
    Field("style", "choice", "Style of body", Pattern.style.expression, choices=Style),
    Field("hook", "count", "Trade size of the hook", Hook.size.expression),
    Field("hook-code", "code", "Hook", _HOOK_NAME.code, "hook", target="material", needed=True),
    quantity("bead", "Diameter of the bead", Bead.diameter_m.expression, MM),
    Field("bead-code", "code", "Bead", _BEAD_NAME.code, "bead", target="material"),
    Field("metal", "choice", "Metal of the bead", Bead.metal.expression, choices=Metal),
    Field("bore", "choice", "Bore of the bead", Bead.bore.expression, choices=Bore),
    Field("price", "money", "Price of a fly", Variant.price.expression, "price", low=0),
    Field("stock", "count", "Finished flies on hand", _FLIES_ON_HAND),
)

VARIANT = Noun(
    "variant",
    "variants",
    "Patterns on one hook with one bead",
    Variant,
    fields_of(
        Field("code", "text", "Code, no two alike", Variant.code.expression, "code", needed=True),
        *_OF_VARIANT,
        Field("based-on", "code", "Variant it is based on", _BASE.code, "based_on", target="variant"),
        Field("flies", "count", "Tied specimens", _count_of(Fly.id, Fly.variant_id == Variant.id, Variant)),
        *_speed(
            "sink",
            "Free-water sink speed over its flies",
            VariantSpeed.free_speed_m_s,
            VariantSpeed.free_uncertainty_m_s,
        ),
        quantity(
            "spread", "Standard deviation between its flies", VariantSpeed.between_flies_m_s.expression, CM_S
        ),
        Field("measured", "count", "Flies measured", func.coalesce(VariantSpeed.flies, 0)),
        Field("notes", "text", "Notes", Variant.notes.expression, "notes"),
    ),
    select(Variant.id)
    .join(Pattern, Pattern.id == Variant.pattern_id)
    .join(Hook, Hook.material_id == Variant.hook_id)
    .join(_HOOK_NAME, _HOOK_NAME.id == Variant.hook_id)
    .outerjoin(Bead, Bead.material_id == Variant.bead_id)
    .outerjoin(_BEAD_NAME, _BEAD_NAME.id == Variant.bead_id)
    .outerjoin(_BASE, _BASE.id == Variant.based_on_id)
    .outerjoin(VariantSpeed, VariantSpeed.variant_id == Variant.id),
    ("code", "name", "style", "hook", "bead", "metal", "bore", "sink", "measured", "stock", "price"),
    (Variant.code.expression, Variant.notes.expression),
)

_VARIANT = Field(
    "variant", "code", "Variant", Variant.code.expression, "variant", target="variant", needed=True
)
_PATTERN = Field("pattern", "code", "Pattern", Pattern.code.expression, target="pattern")


def _mass(name: str, what: str, column: str) -> tuple[Field, Field]:
    value, doubt = getattr(Fly, f"{column}_kg"), getattr(Fly, f"{column}_u_kg")
    return with_doubt(
        quantity(name, what, value.expression, MG, f"{column}_kg", 1e-6, 0.02), doubt.expression
    )


def _seen_from_a_fly(field: Field) -> Field:
    """Return a field of the variant as it is shown, but not set, with a fly of it."""
    return replace(field, attribute="", target="", needed=False, low=None)


FLY = Noun(
    "fly",
    "flies",
    "Tied specimens",
    Fly,
    fields_of(
        Field("code", "text", "Code, no two alike", Fly.code.expression, "code", needed=True),
        _VARIANT,
        _PATTERN,
        *(_seen_from_a_fly(field) for field in _OF_VARIANT if field.name != "pattern"),
        Field("tied", "date", "Day it was tied", Fly.tied_on.expression, "tied_on"),
        *_mass("mass", "Mass of the dry fly", "mass"),
        *_mass("mass-in-water", "What a scale shows with the fly hanging in water", "mass_in_water"),
        quantity("length", "Length, bead to tail", Fly.length_m.expression, MM, "length_m", 1e-3, 0.15),
        *_speed("sink", "Free-water sink speed", FlySpeed.free_speed_m_s, FlySpeed.free_uncertainty_m_s),
        Field("runs", "count", "Accepted bench runs", func.coalesce(FlySpeed.runs, 0)),
        Field("drops", "count", "Drops in those runs", func.coalesce(FlySpeed.drops, 0)),
        Field("retired", "date", "Day it was retired", Fly.retired_on.expression, "retired_on"),
        Field("notes", "text", "Notes", Fly.notes.expression, "notes"),
    ),
    select(Fly.id)
    .join(Variant, Variant.id == Fly.variant_id)
    .join(Pattern, Pattern.id == Variant.pattern_id)
    .join(Hook, Hook.material_id == Variant.hook_id)
    .join(_HOOK_NAME, _HOOK_NAME.id == Variant.hook_id)
    .outerjoin(Bead, Bead.material_id == Variant.bead_id)
    .outerjoin(_BEAD_NAME, _BEAD_NAME.id == Variant.bead_id)
    .outerjoin(FlySpeed, FlySpeed.fly_id == Fly.id),
    ("code", "variant", "name", "style", "hook", "bead", "mass", "sink", "runs", "drops"),
    (Fly.code.expression, Fly.notes.expression),
)


RUN = Noun(
    "run",
    "runs",
    "Bench runs",
    BenchRun,
    fields_of(
        Field("number", "count", "Number of the run", BenchRun.id.expression),
        Field("fly", "code", "Fly", Fly.code.expression, target="fly"),
        Field("variant", "code", "Variant", Variant.code.expression, target="variant"),
        Field("pattern", "code", "Pattern", Pattern.code.expression, target="pattern"),
        Field("clip", "text", "Name of the clip", BenchRun.clip_name.expression),
        Field("when", "time", "Measured at", BenchRun.measured_at.expression),
        Field("verdict", "choice", "Verdict of the bench", BenchRun.verdict.expression, choices=Verdict),
        Field("accepted", "flag", "Counts towards the fly's speed", BenchRun.accepted.expression),
        Field("why", "text", "Why it was set aside", BenchRun.set_aside_why.expression),
        *_speed("tank", "Sink speed in the tank", BenchRun.sink_speed_m_s, BenchRun.uncertainty_m_s),
        *_speed("sink", "Free-water sink speed", BenchRun.free_speed_m_s, BenchRun.free_uncertainty_m_s),
        Field("drops", "count", "Drops used", BenchRun.drops_used.expression),
        Field("software", "text", "Version of flybench that measured", BenchRun.software.expression),
        Field("flags", "words", "Flags", BenchRun.flags.expression),
        Field("sha256", "text", "SHA-256 of the clip", BenchRun.clip_sha256.expression, hidden=True),
    ),
    select(BenchRun.id)
    .join(Fly, Fly.id == BenchRun.fly_id)
    .join(Variant, Variant.id == Fly.variant_id)
    .join(Pattern, Pattern.id == Variant.pattern_id),
    ("number", "fly", "clip", "when", "verdict", "accepted", "tank", "sink", "drops"),
    (Fly.code.expression, BenchRun.clip_name.expression, BenchRun.set_aside_why.expression),
    sort="number",
    key="number",
)

NOUNS: Mapping[str, Noun] = {noun.name: noun for noun in (MATERIAL, PATTERN, VARIANT, FLY, RUN)}
"""Every kind of thing by its name."""
