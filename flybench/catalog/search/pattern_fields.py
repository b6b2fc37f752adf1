"""Fields of patterns and variants."""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, ScalarSelect, SQLColumnExpression, func, select
from sqlalchemy.orm import aliased

from flybench.catalog.search.fields import CM_S, MM, Field, Noun, fields_of, speed_fields
from flybench.catalog.tables.base import Base
from flybench.catalog.tables.flies import Fly, VariantSpeed
from flybench.catalog.tables.materials import Bead, Hook, Material
from flybench.catalog.tables.patterns import FlyMovement, Pattern, Step, Variant
from flybench.catalog.tables.vocabulary import Bore, Metal, Style

HOOK_NAME = aliased(Material, name="hook_material")
BEAD_NAME = aliased(Material, name="bead_material")
BASE = aliased(Variant, name="base")


def count_of(
    column: SQLColumnExpression[Any], condition: ColumnElement[bool], owner: type[Base]
) -> ScalarSelect[int]:
    """Return the number of rows that belong to the row at hand."""
    return select(func.count(column)).where(condition).correlate(owner).scalar_subquery()


STOCK = (
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
        Field("code", "text", "Short name, unique", Pattern.code.expression, "code", needed=True),
        Field("name", "text", "Full name", Pattern.name.expression, "name", needed=True),
        Field(
            "style", "choice", "Style of body", Pattern.style.expression, "style", choices=Style, needed=True
        ),
        Field(
            "steps",
            "count",
            "Steps of the recipe",
            count_of(Step.id, Step.pattern_id == Pattern.id, Pattern),
        ),
        Field(
            "variants",
            "count",
            "Variants by bead and hook",
            count_of(Variant.id, Variant.pattern_id == Pattern.id, Pattern),
        ),
        Field("notes", "text", "Notes", Pattern.notes.expression, "notes"),
    ),
    select(Pattern.id),
    ("code", "name", "style", "steps", "variants"),
    (Pattern.code.expression,),
)

OF_VARIANT = (
    Field("pattern", "code", "Pattern", Pattern.code.expression, "pattern", target="pattern", needed=True),
    Field("name", "text", "Name of the pattern", Pattern.name.expression),
    Field("style", "choice", "Style of body", Pattern.style.expression, choices=Style),
    Field("hook", "count", "Trade size of the hook", Hook.size.expression),
    Field("hook-code", "code", "Hook", HOOK_NAME.code, "hook", target="material", needed=True),
    Field("bead", "quantity", "Diameter of the bead", Bead.diameter_m.expression, unit="m", display=MM),
    Field("bead-code", "code", "Bead", BEAD_NAME.code, "bead", target="material"),
    Field("metal", "choice", "Metal of the bead", Bead.metal.expression, choices=Metal),
    Field("bore", "choice", "Bore of the bead", Bead.bore.expression, choices=Bore),
    Field("price", "money", "Price of a fly", Variant.price.expression, "price", low=0),
    Field("stock", "count", "Finished flies on hand", STOCK),
)

VARIANT = Noun(
    "variant",
    "variants",
    "Patterns on one hook with one bead",
    Variant,
    fields_of(
        Field("code", "text", "Short name, unique", Variant.code.expression, "code", needed=True),
        *OF_VARIANT,
        Field("based-on", "code", "Variant it follows", BASE.code, "based_on", target="variant"),
        Field(
            "flies",
            "count",
            "Tied specimens",
            count_of(Fly.id, Fly.variant_id == Variant.id, Variant),
        ),
        *speed_fields(
            "sink",
            "Free-water sink speed over its flies",
            VariantSpeed.free_speed_m_s.expression,
            VariantSpeed.free_uncertainty_m_s.expression,
        ),
        Field(
            "spread",
            "quantity",
            "Standard deviation between its flies",
            VariantSpeed.between_flies_m_s.expression,
            unit="m/s",
            display=CM_S,
        ),
        Field(
            "measured",
            "count",
            "Flies measured",
            func.coalesce(VariantSpeed.flies, 0),
        ),
        Field("notes", "text", "Notes", Variant.notes.expression, "notes"),
    ),
    select(Variant.id)
    .join(Pattern, Pattern.id == Variant.pattern_id)
    .join(Hook, Hook.material_id == Variant.hook_id)
    .join(HOOK_NAME, HOOK_NAME.id == Variant.hook_id)
    .outerjoin(Bead, Bead.material_id == Variant.bead_id)
    .outerjoin(BEAD_NAME, BEAD_NAME.id == Variant.bead_id)
    .outerjoin(BASE, BASE.id == Variant.based_on_id)
    .outerjoin(VariantSpeed, VariantSpeed.variant_id == Variant.id),
    ("code", "name", "style", "hook", "bead", "metal", "bore", "sink", "measured", "stock", "price"),
    (Variant.code.expression, Variant.notes.expression),
)
