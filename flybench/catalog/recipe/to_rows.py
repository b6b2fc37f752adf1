"""Recipes put on the shelf: all of them or none, and nothing changed that was not asked for."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy.orm import Session

from flybench.catalog.recipe.difference import Difference, in_short, material_differences, recipe_differences
from flybench.catalog.recipe.from_rows import material_of, recipe_of
from flybench.catalog.recipe.material_values import Quantity, Weighed
from flybench.catalog.recipe.records import (
    Recipe,
    RecipeHead,
    RecipeMaterial,
    RecipeStep,
    joined_notes,
    plain_fields,
    values_of,
)
from flybench.catalog.recipe.variants_to_rows import put_variants
from flybench.catalog.search.materials import MATERIAL
from flybench.catalog.shelf import rows as shelf
from flybench.catalog.shelf.pictures import kept_picture
from flybench.catalog.tables.materials import Bead, Material
from flybench.catalog.tables.patterns import Pattern, Step
from flybench.catalog.tables.photos import Photo
from flybench.errors import FlybenchError

MassOf = Callable[[Bead], tuple[float, float]]
"""Works out the mass of a bead and its standard uncertainty [kg]."""
ContentOf = Callable[[str, Recipe, str], bytes]
"""Returns the content of a photo: of which file, of its recipe, by the photo's name."""
_CURE = "Nothing was changed. Add --replace to take what the file says, or correct the file"


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


def planned(session: Session, recipes: Mapping[str, Recipe]) -> list[str]:
    """Return every field of the catalog that ``store`` would change, what it is and what it would be, one a line."""
    lines: list[str] = []
    for _, material in _materials(recipes):
        row = shelf.named(session, Material, material.code)
        if row is not None:
            lines += _told(f"material {row.code}", material_differences(material, material_of(row)))
    for recipe in recipes.values():
        row = shelf.named(session, Pattern, recipe.code)
        if row is not None:
            lines += _told(f"pattern {row.code}", recipe_differences(recipe, recipe_of(row)))
    return lines


def _told(what: str, found: Sequence[Difference]) -> list[str]:
    return [f"{what}: {one.place}: {one.old} -> {one.new}" for one in found]


def store(
    session: Session,
    recipes: Mapping[str, Recipe],
    mass_of: MassOf,
    content_of: ContentOf,
    replace: bool = False,
) -> Stored:
    """Put recipes, by the file they came from, on the shelf within the session's transaction.

    What is there already with the same content stays untouched; other content is refused, or with ``replace``
    put in its place, variants keeping their flies, runs and stock. Raises FlybenchError for that, for recipes
    that contradict each other, and for removing what is still used; the caller's transaction then keeps nothing.
    """
    _check_together(recipes)
    stored = Stored()
    for file, material in _materials(recipes):
        _put_material(session, file, material, mass_of, replace, stored.materials)
    for file, recipe in recipes.items():
        _put_pattern(session, file, recipe, content_of, replace, stored.patterns)
    return stored


def _check_together(recipes: Mapping[str, Recipe]) -> None:
    """Refuse codes of patterns and variants that stand in two files."""
    for noun in ("pattern", "variant"):
        seen: dict[str, str] = {}
        for file, recipe in recipes.items():
            for code in [recipe.code] if noun == "pattern" else [one.code for one in recipe.variants]:
                other = seen.setdefault(code.casefold(), file)
                if other != file:
                    raise FlybenchError(
                        f"{file}: {noun} {code} is in {other} too. "
                        "Choose another code, or import one of the two."
                    )


def _materials(recipes: Mapping[str, Recipe]) -> list[tuple[str, RecipeMaterial]]:
    """Return each material once, with its file; refuse one that two recipes describe otherwise."""
    seen: dict[str, tuple[str, RecipeMaterial]] = {}
    for file, recipe in recipes.items():
        for material in recipe.materials:
            other, same = seen.setdefault(material.code.casefold(), (file, material))
            found = material_differences(material, same)
            if found:
                raise FlybenchError(
                    f"{file}: material {material.code} differs from the one in {other}: "
                    f"{in_short(found)}. Make the two alike, or give one of them another code."
                )
    return list(seen.values())


def _put_material(
    session: Session,
    file: str,
    material: RecipeMaterial,
    mass_of: MassOf,
    replace: bool,
    counts: Counts,
) -> None:
    row = shelf.named(session, Material, material.code)
    found = [] if row is None else material_differences(material, material_of(row))
    if row is not None and not found:
        counts.unchanged += 1
        return
    where = f"{file}: material {material.code}"
    if row is not None and row.kind is not material.kind:
        raise FlybenchError(
            f"{where}: is a {row.kind.value} in the catalog, not a {material.kind.value}. "
            "Give it another code; nothing was changed."
        )
    if row is not None and not replace:
        raise FlybenchError(f"{where}: differs from the catalog in {in_short(found)}. {_CURE}.")
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
    for key, how in values_of(RecipeMaterial).items():
        value = getattr(material, key)
        if key == "mass" and material.kind not in how.kinds:
            continue
        if isinstance(how, Quantity) and not isinstance(how, Weighed) and value is not None:
            value = (value, None)
        values[key.replace("_", "-")] = value
    return values


def _put_pattern(
    session: Session, file: str, recipe: Recipe, content_of: ContentOf, replace: bool, counts: Counts
) -> None:
    row = shelf.named(session, Pattern, recipe.code)
    if row is not None:
        found = recipe_differences(recipe, recipe_of(row))
        if not found:
            counts.unchanged += 1
            return
        if not replace:
            where = f"{file}: pattern {recipe.code}"
            raise FlybenchError(f"{where}: differs from the catalog in {in_short(found)}. {_CURE}.")
        counts.changed += 1
    else:
        row = Pattern()
        counts.added += 1
    for name in plain_fields(RecipeHead):
        setattr(row, name, getattr(recipe.pattern, name))
    row.notes = joined_notes(recipe.about, recipe.pattern.notes)
    session.add(row)
    session.flush()
    materials = _rows_by_code(session, recipe)
    _put_steps(session, row, recipe, materials)
    _put_photos(session, row, file, recipe, content_of)
    put_variants(session, row, file, recipe, materials)


def _rows_by_code(session: Session, recipe: Recipe) -> dict[str, Material]:
    return {one.code: shelf.named(session, Material, one.code) for one in recipe.materials}


def _put_steps(session: Session, row: Pattern, recipe: Recipe, materials: Mapping[str, Material]) -> None:
    row.steps.clear()
    session.flush()  # a position must be free before it is taken again
    row.steps = [
        Step(
            position=number,
            material=None if step.material is None else materials[step.material],
            **{name: getattr(step, name) for name in plain_fields(RecipeStep)},
        )
        for number, step in enumerate(recipe.steps, 1)
    ]
    session.flush()


def _put_photos(session: Session, row: Pattern, file: str, recipe: Recipe, content_of: ContentOf) -> None:
    """Keep the photos that are the same, and take in the others."""
    kept = {(photo.name, photo.sha256): photo for photo in row.photos}
    wanted = [(photo.name, photo.sha256) for photo in recipe.pattern.photos]
    row.photos = [kept[key] for key in wanted if key in kept]
    session.flush()
    for position, (name, sha256) in enumerate(wanted, 1):
        if (name, sha256) in kept:
            kept[name, sha256].position = position
        else:
            content = content_of(file, recipe, name)
            picture = kept_picture(session, content)
            row.photos.append(Photo(position=position, name=name, picture=picture))
            session.flush()
            session.expire(picture, ["content"])
    session.flush()
    session.expire(row, ["photos"])
