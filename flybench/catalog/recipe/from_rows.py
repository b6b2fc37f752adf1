"""Rows of the catalog as plain recipe records."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy.orm import Session

from flybench.catalog.recipe.photos import RecipePhoto
from flybench.catalog.recipe.records import (
    Recipe,
    RecipeChange,
    RecipeHead,
    RecipeMaterial,
    RecipeStep,
    RecipeVariant,
    plain_fields,
    split_notes,
    values_of,
)
from flybench.catalog.search.materials import MATERIAL
from flybench.catalog.search.nouns import PATTERN
from flybench.catalog.shelf import rows as shelf
from flybench.catalog.tables.materials import Material
from flybench.catalog.tables.patterns import Pattern, Variant
from flybench.errors import FlybenchError


def load(session: Session, code: str) -> Recipe:
    """Return the recipe of a pattern in the catalog.

    Raises BadValueError where there is no such pattern, FlybenchError for one that no file can hold: a variant
    based on another pattern's, a change of a step that is not there.
    """
    return recipe_of(shelf.get(session, PATTERN, code))


def recipe_of(pattern: Pattern) -> Recipe:
    """Return the recipe of a row; steps are counted from 1 again. Raises FlybenchError as ``load`` does."""
    about, notes = split_notes(pattern.notes)
    places = {step.position: number for number, step in enumerate(pattern.steps, 1)}
    used = {material.code: material for material in _used(pattern)}
    head = RecipeHead(
        **{**_plain(RecipeHead, pattern), "notes": notes},
        photos=tuple(RecipePhoto(photo.name, photo.sha256) for photo in pattern.photos),
    )
    return Recipe(
        about=about,
        pattern=head,
        steps=tuple(
            RecipeStep(**_plain(RecipeStep, step), material=_code(step.material)) for step in pattern.steps
        ),
        variants=tuple(_variant(one, places) for one in sorted(pattern.variants, key=lambda one: one.code)),
        materials=tuple(material_of(used[code]) for code in sorted(used)),
    )


def _plain(record: type[Any], row: Any) -> dict[str, Any]:
    """Return the values that a row has under the names of the record."""
    return {name: getattr(row, name) for name in plain_fields(record)}


def _code(material: Material | None) -> str | None:
    return None if material is None else material.code


def _used(pattern: Pattern) -> Iterable[Material]:
    for step in pattern.steps:
        if step.material is not None:
            yield step.material
    for variant in pattern.variants:
        yield variant.hook.material
        if variant.bead is not None:
            yield variant.bead.material
        for change in variant.changes:
            if change.material is not None:
                yield change.material


def _variant(variant: Variant, places: Mapping[int, int]) -> RecipeVariant:
    base = variant.based_on
    if base is not None and base.pattern_id != variant.pattern_id:
        raise FlybenchError(
            f"variant {variant.code}: is based on {base.code} of another pattern, which a recipe cannot say. "
            "Base it on a variant of its own pattern, or on none."
        )
    for change in variant.changes:
        if change.position not in places:
            raise FlybenchError(
                f"variant {variant.code}: changes step {change.position}, which its pattern does not have. "
                "See what else is wrong with: flybench catalog check."
            )
    return RecipeVariant(
        **_plain(RecipeVariant, variant),
        hook=variant.hook.material.code,
        bead=None if variant.bead is None else variant.bead.material.code,
        based_on=None if base is None else base.code,
        changes=tuple(
            RecipeChange(places[change.position], _code(change.material), change.amount)
            for change in variant.changes
        ),
    )


def material_of(row: Material) -> RecipeMaterial:
    """Return a material with the sizes of its hook or bead, and the mass as weighed."""
    values: dict[str, Any] = {}
    for name in values_of(RecipeMaterial):
        owner, _, attribute = MATERIAL.fields[name.replace("_", "-")].attribute.rpartition(".")
        part = getattr(row, owner) if owner else row
        values[name] = getattr(part, attribute, None) if name != "mass" else _mass(row)
    return RecipeMaterial(**values)


def _mass(row: Material) -> tuple[float, float | None] | None:
    """Return the mass as weighed with its standard uncertainty [kg]."""
    if row.bead is not None and row.bead.weighed_kg is not None:
        return row.bead.weighed_kg, row.bead.weighed_u_kg
    if row.hook is not None and row.hook.mass_kg is not None:
        return row.hook.mass_kg, None
    return None
