"""The kinds of thing in the catalog and their fields: patterns, variants, tied flies, bench runs, and all by name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from sqlalchemy import ColumnElement, ScalarSelect, Select, SQLColumnExpression, func, select
from sqlalchemy.orm import aliased

from flybench.catalog.search.fields import (
    BEAD_STEP,
    CM_S,
    MG,
    MM,
    Field,
    Noun,
    fields_of,
    quantity,
    with_doubt,
)
from flybench.catalog.search.materials import MATERIAL
from flybench.catalog.tables.base import Base
from flybench.catalog.tables.flies import SAME_CLIP, BenchRun, Fly, FlySpeed, VariantSpeed
from flybench.catalog.tables.materials import Bead, Hook, Material
from flybench.catalog.tables.patterns import FlyMovement, Pattern, Step, Variant
from flybench.catalog.tables.vocabulary import Bore, Metal, Style, Verdict

_HOOK_NAME = aliased(Material, name="hook_material")
_BEAD_NAME = aliased(Material, name="bead_material")
_BASE = aliased(Variant, name="base")


def _with_parts(rows: Select[Any]) -> Select[Any]:
    """Join to rows that have their variant its pattern, its hook and its bead."""
    return (
        rows.join(Pattern, Pattern.id == Variant.pattern_id)
        .join(Hook, Hook.material_id == Variant.hook_id)
        .join(_HOOK_NAME, _HOOK_NAME.id == Variant.hook_id)
        .outerjoin(Bead, Bead.material_id == Variant.bead_id)
        .outerjoin(_BEAD_NAME, _BEAD_NAME.id == Variant.bead_id)
    )


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
        Field("retired", "date", "Day it was retired", Pattern.retired_on.expression, "retired_on"),
        Field("notes", "text", "Notes", Pattern.notes.expression, "notes"),
    ),
    select(Pattern.id),
    ("code", "name", "style", "retired", "steps", "variants"),
    (Pattern.code.expression,),
)

_OF_VARIANT = (
    Field("pattern", "code", "Pattern", Pattern.code.expression, "pattern", target="pattern", needed=True),
    Field("name", "text", "Name of the pattern", Pattern.name.expression),
    Field("style", "choice", "Style of body", Pattern.style.expression, choices=Style),
    Field("hook", "count", "Trade size of the hook", Hook.size.expression),
    Field("hook-code", "code", "Hook", _HOOK_NAME.code, "hook", target="material", needed=True),
    quantity("bead", "Diameter of the bead", Bead.diameter_m.expression, MM, step=BEAD_STEP),
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
        Field(
            "reorder",
            "count",
            "Flies below which to tie more",
            Variant.reorder_level.expression,
            "reorder_level",
            low=0,
        ),
        Field("bin", "text", "Where its flies lie", Variant.bin.expression, "bin"),
        Field("retired", "date", "Day it was retired", Variant.retired_on.expression, "retired_on"),
        Field("notes", "text", "Notes", Variant.notes.expression, "notes"),
    ),
    _with_parts(select(Variant.id))
    .outerjoin(_BASE, _BASE.id == Variant.based_on_id)
    .outerjoin(VariantSpeed, VariantSpeed.variant_id == Variant.id),
    (
        "code",
        "name",
        "style",
        "retired",
        "hook",
        "bead",
        "metal",
        "bore",
        "sink",
        "measured",
        "stock",
        "price",
    ),
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
    _with_parts(select(Fly.id).join(Variant, Variant.id == Fly.variant_id)).outerjoin(
        FlySpeed, FlySpeed.fly_id == Fly.id
    ),
    ("code", "variant", "name", "retired", "style", "hook", "bead", "mass", "sink", "runs", "drops"),
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
        Field("set-up", "text", "Set-up at the tank", BenchRun.set_up.expression),
        Field("filmed", "date", "Day it was filmed", BenchRun.filmed_on.expression),
        Field("when", "time", "Measured at", BenchRun.measured_at.expression),
        Field("verdict", "choice", "Verdict of the bench", BenchRun.verdict.expression, choices=Verdict),
        Field("accepted", "flag", "Counts towards the fly's speed", BenchRun.accepted.expression),
        Field("why", "text", "Why it was set aside", BenchRun.set_aside_why.expression),
        Field(
            "same-clip",
            "text",
            "Why its clip counts for two flies",
            func.coalesce(BenchRun.result[SAME_CLIP].as_string(), ""),
        ),
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
