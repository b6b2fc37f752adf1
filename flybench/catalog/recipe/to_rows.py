"""Recipes put on the shelf: all of them or none, and nothing changed that was not asked for."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy.orm import Session

from flybench.catalog.recipe.difference import in_short, material_differences, recipe_differences
from flybench.catalog.recipe.from_rows import load, material_of, recipe_of
from flybench.catalog.recipe.read import MATERIAL_KEYS
from flybench.catalog.recipe.records import Recipe, RecipeMaterial, joined_notes
from flybench.catalog.recipe.variants_to_rows import put_variants
from flybench.catalog.search.material_fields import MATERIAL
from flybench.catalog.shelf import rows as shelf
from flybench.catalog.tables.materials import Bead, Material
from flybench.catalog.tables.patterns import Pattern, Photo, Step
from flybench.catalog.tables.vocabulary import MaterialKind
from flybench.errors import FlybenchError

__all__ = ["Counts", "Stored", "load", "store"]

MassOf = Callable[[Bead], tuple[float, float]]
"""Works out the mass of a bead and its standard uncertainty [kg]."""
ContentOf = Callable[[Recipe, str], bytes]
"""Returns the content of a recipe's photo by its name."""
_CURE = "Nothing was changed. Give --replace to take what the file says, or mend the file"


@dataclass
class Counts:
    """How many things were added, changed, and already there as they are."""

    added: int = 0
    changed: int = 0
    unchanged: int = 0


@dataclass
class Stored:
    """What an import did."""

    patterns: Counts = field(default_factory=Counts)
    materials: Counts = field(default_factory=Counts)


def store(
    session: Session, recipes: Sequence[Recipe], mass_of: MassOf, content_of: ContentOf, replace: bool = False
) -> Stored:
    """Put recipes on the shelf within the session's transaction.

    What is there already with the same content stays untouched; other content is refused, or with ``replace``
    put in its place, variants keeping their flies, runs and stock. Raises FlybenchError for that, for recipes
    that contradict each other, and for removing what is still used; the caller's transaction then keeps nothing.
    """
    _check_together(recipes)
    stored = Stored()
    for recipe, material in _materials(recipes):
        _put_material(session, recipe, material, mass_of, replace, stored.materials)
    for recipe in recipes:
        _put_pattern(session, recipe, content_of, replace, stored.patterns)
    return stored


def _check_together(recipes: Sequence[Recipe]) -> None:
    """Refuse codes of patterns and variants that stand in two files."""
    for noun in ("pattern", "variant"):
        seen: dict[str, Recipe] = {}
        for recipe in recipes:
            for code in [recipe.code] if noun == "pattern" else [one.code for one in recipe.variants]:
                other = seen.setdefault(code.casefold(), recipe)
                if other is not recipe:
                    raise FlybenchError(
                        f"{recipe.where}: {noun} {code} stands in {other.where} too. "
                        "Choose another code, or import one of the two."
                    )


def _materials(recipes: Sequence[Recipe]) -> list[tuple[Recipe, RecipeMaterial]]:
    """Return each material once; refuse one that two recipes describe otherwise."""
    seen: dict[str, tuple[Recipe, RecipeMaterial]] = {}
    for recipe in recipes:
        for material in recipe.materials:
            other, same = seen.setdefault(material.code.casefold(), (recipe, material))
            lines = material_differences(material, same)
            if lines:
                raise FlybenchError(
                    f"{recipe.where}: material {material.code} is another in {other.where}: "
                    f"{in_short(lines)}. Make the two alike, or give one another code."
                )
    return list(seen.values())


def _put_material(
    session: Session,
    recipe: Recipe,
    material: RecipeMaterial,
    mass_of: MassOf,
    replace: bool,
    counts: Counts,
) -> None:
    row = shelf.named(session, Material, material.code)
    lines = [] if row is None else material_differences(material, material_of(row))
    if row is not None and not lines:
        counts.unchanged += 1
        return
    where = f"{recipe.where}: material {material.code}"
    if row is not None and row.kind is not material.kind:
        raise FlybenchError(
            f"{where}: is a {row.kind.value} in the catalog, not a {material.kind.value}. "
            "Give it another code; nothing was changed."
        )
    if row is not None and not replace:
        raise FlybenchError(f"{where}: differs from the catalog in {in_short(lines)}. {_CURE}.")
    try:
        values = _values_of(material)
        if row is None:
            row = shelf.add(session, MATERIAL, values)
            counts.added += 1
        else:
            shelf.change(session, MATERIAL, row.code, values)
            counts.changed += 1
        if row.bead is not None:
            row.bead.mass_kg, row.bead.mass_u_kg = mass_of(row.bead)
            session.flush()
    except FlybenchError as error:
        raise FlybenchError(f"{where}: {error}") from error


def _values_of(material: RecipeMaterial) -> Mapping[str, Any]:
    """Return the material as the shelf takes it: stored values by name of field."""
    values: dict[str, Any] = {}
    for key in MATERIAL_KEYS:
        name = key.replace("_", "-")
        value = getattr(material, key)
        if key == "mass":
            if material.kind not in (MaterialKind.BEAD, MaterialKind.HOOK):
                continue
            value = None if value is None else (value, material.mass_u)
        elif MATERIAL.fields[name].kind == "quantity" and value is not None:
            value = (value, None)
        values[name] = value
    return values


def _put_pattern(
    session: Session, recipe: Recipe, content_of: ContentOf, replace: bool, counts: Counts
) -> None:
    row = shelf.named(session, Pattern, recipe.code)
    if row is not None:
        lines = recipe_differences(recipe, recipe_of(row))
        if not lines:
            counts.unchanged += 1
            return
        if not replace:
            where = f"{recipe.where}: pattern {recipe.code}"
            raise FlybenchError(f"{where}: differs from the catalog in {in_short(lines)}. {_CURE}.")
        counts.changed += 1
    else:
        row = Pattern()
        counts.added += 1
    row.code, row.name, row.style = recipe.code, recipe.name, recipe.style
    row.notes = joined_notes(recipe.about, recipe.notes)
    session.add(row)
    session.flush()
    materials = _rows_by_code(session, recipe)
    _put_steps(session, row, recipe, materials)
    _put_photos(session, row, recipe, content_of)
    put_variants(session, row, recipe, materials)


def _rows_by_code(session: Session, recipe: Recipe) -> dict[str, Material]:
    return {one.code: shelf.named(session, Material, one.code) for one in recipe.materials}


def _put_steps(session: Session, row: Pattern, recipe: Recipe, materials: Mapping[str, Material]) -> None:
    row.steps.clear()
    session.flush()  # a position must be free before it is taken again
    row.steps = [
        Step(
            position=number,
            part=step.part,
            material=None if step.material is None else materials[step.material],
            amount=step.amount,
            unit=step.unit,
            text=step.text,
        )
        for number, step in enumerate(recipe.steps, 1)
    ]
    session.flush()


def _put_photos(session: Session, row: Pattern, recipe: Recipe, content_of: ContentOf) -> None:
    """Keep the photos that are the same, take the others in anew."""
    kept = {(photo.name, photo.sha256): photo for photo in row.photos}
    wanted = [(photo.name, photo.sha256) for photo in recipe.photos]
    row.photos = [kept[key] for key in wanted if key in kept]
    session.flush()
    for position, (name, sha256) in enumerate(wanted, 1):
        if (name, sha256) in kept:
            kept[name, sha256].position = position
        else:
            content = content_of(recipe, name)
            row.photos.append(Photo(position=position, name=name, sha256=sha256, content=content))
            session.flush()
            session.expire(row.photos[-1], ["content"])
    session.flush()
    session.expire(row, ["photos"])
