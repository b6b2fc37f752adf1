"""Variants of a recipe put on the shelf; those that are there keep their flies, runs and stock."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy.orm import Session

from flybench.catalog.recipe.records import Recipe, RecipeVariant, plain_fields
from flybench.catalog.shelf import rows as shelf
from flybench.catalog.tables.materials import Material
from flybench.catalog.tables.patterns import Pattern, Variant, VariantChange
from flybench.errors import FlybenchError


def put_variants(
    session: Session, pattern: Pattern, file: str, recipe: Recipe, materials: Mapping[str, Material]
) -> None:
    """Make the pattern's variants those of the recipe; the steps are there already, and all variants that the catalog has
    of the pattern are in the recipe.

    Raises FlybenchError for a code that another pattern has.
    """
    rows: dict[str, Variant] = {}
    for variant in recipe.variants:
        rows[variant.code] = _row(session, pattern, file, variant)
        _put(session, rows[variant.code], variant, materials)
    for variant in recipe.variants:
        rows[variant.code].based_on = None if variant.based_on is None else rows[variant.based_on]
    session.flush()
    session.expire(pattern, ["variants"])


def _row(session: Session, pattern: Pattern, file: str, variant: RecipeVariant) -> Variant:
    """Return the row of a variant, a new one where there is none."""
    row: Variant | None = shelf.named(session, Variant, variant.code)
    if row is None:
        return Variant(pattern_id=pattern.id)
    if row.pattern_id != pattern.id:
        raise FlybenchError(
            f"{file}: variant {variant.code} belongs to pattern {row.pattern.code} in the catalog. "
            "Give it another code; nothing was changed."
        )
    return row


def _put(session: Session, row: Variant, variant: RecipeVariant, materials: Mapping[str, Material]) -> None:
    for name in plain_fields(RecipeVariant):
        setattr(row, name, getattr(variant, name))
    row.hook_id = materials[variant.hook].id
    row.bead_id = None if variant.bead is None else materials[variant.bead].id
    row.based_on = None
    row.changes.clear()
    session.add(row)
    session.flush()  # a step must be free before it is changed again
    row.changes = [
        VariantChange(
            position=change.step,
            material=None if change.material is None else materials[change.material],
            amount=change.amount,
        )
        for change in variant.changes
    ]
    session.flush()
    session.expire(row, ["hook", "bead"])
