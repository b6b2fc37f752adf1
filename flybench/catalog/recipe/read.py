"""Recipe files read: text to records, everything checked that can be without the catalog."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import fields as parts_of
from enum import Enum
from typing import Any

from flybench.catalog.recipe.check import check_material, check_references
from flybench.catalog.recipe.file_names import photo_problem
from flybench.catalog.recipe.records import (
    Recipe,
    RecipeChange,
    RecipeMaterial,
    RecipePhoto,
    RecipeStep,
    RecipeVariant,
    joined_notes,
    split_notes,
)
from flybench.catalog.recipe.table import Table, shown
from flybench.catalog.search.material_fields import MATERIAL
from flybench.catalog.search.pattern_fields import PATTERN, VARIANT
from flybench.catalog.tables.base import NOTE_LENGTH
from flybench.catalog.tables.vocabulary import Bore, MaterialKind, Metal, Part, Style, Unit
from flybench.errors import FlybenchError

LARGEST_FILE = 1_000_000
"""Longest recipe file [bytes]."""
MOST_PHOTOS = 20
"""Photos that a recipe may have."""
_DEEPEST = 30
_STRING_OR_COMMENT = re.compile(
    r'"""(?:\\.|[^\\])*?(?:"""|\\?\Z)|\'\'\'.*?(?:\'\'\'|\Z)|"(?:\\[^\n]|[^"\\\n])*"?|\'[^\'\n]*\'?|#[^\n]*',
    re.DOTALL,
)
"""Ends of what was not closed are taken along, so that no text takes long."""
_WORDS: Mapping[str, type[Enum]] = {"kind": MaterialKind, "metal": Metal, "bore": Bore, "unit": Unit}

TOP_KEYS = ("about", "pattern", "step", "variant", "material")
PATTERN_KEYS = ("code", "name", "style", "notes", "photos")
STEP_KEYS = ("part", "material", "amount", "unit", "text")
VARIANT_KEYS = ("code", "hook", "bead", "based_on", "price", "notes", "change")
CHANGE_KEYS = ("step", "material", "amount")
MATERIAL_KEYS = tuple(part.name for part in parts_of(RecipeMaterial) if part.name != "mass_u")


def read_recipe(content: bytes, file: str) -> Recipe:
    """Return the recipe of a file's content; ``file`` is how messages name it.

    Photos are named only; nothing is opened. Raises FlybenchError with file, key and cure.
    """
    top = Table(_parsed(content, file), file, "")
    top.allow(TOP_KEYS)
    head = top.content.get("pattern")
    if not isinstance(head, dict):
        raise top.bad("pattern", "is missing", "Begin the recipe with [pattern], with code, name and style")
    pattern = Table(head, file, "pattern")
    pattern.allow(PATTERN_KEYS)
    about, notes = _about(top, pattern)
    materials = top.tables("material")
    recipe = Recipe(
        pattern.value("code", PATTERN.fields["code"], needed=True),
        pattern.value("name", PATTERN.fields["name"], needed=True),
        pattern.word("style", Style, needed=True) or Style.SLICK,
        about,
        notes,
        _photos(pattern),
        tuple(_step(one) for one in top.tables("step")),
        tuple(_variant(one) for one in top.tables("variant")),
        tuple(_material(one) for one in materials),
        file,
    )
    check_references(recipe)
    return in_order(recipe)


def in_order(recipe: Recipe) -> Recipe:
    """Return the recipe with variants and materials in the order of their codes."""
    return Recipe(
        recipe.code,
        recipe.name,
        recipe.style,
        recipe.about,
        recipe.notes,
        recipe.photos,
        recipe.steps,
        tuple(sorted(recipe.variants, key=lambda variant: variant.code)),
        tuple(sorted(recipe.materials, key=lambda material: material.code)),
        recipe.source,
    )


def _parsed(content: bytes, file: str) -> dict[str, Any]:
    if len(content) > LARGEST_FILE:
        raise FlybenchError(f"{file}: is larger than {LARGEST_FILE / 1e6:g} MB. Recipes are short texts.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FlybenchError(
            f"{file}: byte {error.start + 1} is not UTF-8. Save the file as text in UTF-8."
        ) from error
    _check_depth(text, file)
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise _too_deep(file) from error
    except tomllib.TOMLDecodeError as error:
        raise FlybenchError(f"{file}: is not TOML ({error}). Mend that place.") from error
    except ValueError as error:  # a number of thousands of digits, a date such as 2026-02-30
        raise FlybenchError(f"{file}: holds an impossible number or date. Take it out.") from error


def _check_depth(text: str, file: str) -> None:
    """Refuse keys of a great many dotted parts, on which the parser would spend hours."""
    bare = _STRING_OR_COMMENT.sub("_", text)
    if any(line.count(".") > _DEEPEST for line in bare.split("\n")):
        raise _too_deep(file)


def _too_deep(file: str) -> FlybenchError:
    return FlybenchError(f"{file}: is nested too deep. Recipes have tables and lists of one level.")


def _about(top: Table, pattern: Table) -> tuple[str, str]:
    notes = pattern.value("notes", PATTERN.fields["notes"])
    about = (top.value("about", PATTERN.fields["notes"]) or "").strip()
    if "\n" in about:
        raise top.bad("about", "runs over several lines", "Keep it to one; use pattern.notes for more")
    whole = len(joined_notes(about, notes))
    if whole > NOTE_LENGTH:
        raise pattern.bad("notes", f"is {whole} letters long with about", f"Keep them to {NOTE_LENGTH}")
    return (about, notes) if about else split_notes(notes)


def _photos(pattern: Table) -> tuple[RecipePhoto, ...]:
    names = pattern.content.get("photos", [])
    if not isinstance(names, list) or len(names) > MOST_PHOTOS:
        raise pattern.bad(
            "photos", f"is not a list of up to {MOST_PHOTOS} names", 'Write it as ["side.jpg", "top.jpg"]'
        )
    seen: set[str] = set()
    for number, name in enumerate(names, 1):
        problem = photo_problem(name) if isinstance(name, str) else f"{shown(name)} is no name"
        if problem is None and name.casefold() in seen:
            problem = f"{shown(name)} stands there twice"
        if problem:
            cure = "Give the plain name of a .jpg, .jpeg or .png file that lies beside this file"
            raise pattern.bad(f"photos[{number}]", problem, cure)
        seen.add(name.casefold())
    return tuple(RecipePhoto(name) for name in names)


def _step(table: Table) -> RecipeStep:
    table.allow(STEP_KEYS)
    part = table.word("part", Part, needed=True)
    assert part is not None
    amount, unit = table.amount("amount"), table.word("unit", Unit)
    if (amount is None) != (unit is None):
        missing = "amount" if amount is None else "unit"
        raise table.bad(missing, "is missing", "Give amount and unit together, or neither")
    return RecipeStep(
        part,
        table.value("material", VARIANT.fields["hook-code"]),
        amount,
        unit,
        table.value("text", PATTERN.fields["notes"]),
    )


def _variant(table: Table) -> RecipeVariant:
    table.allow(VARIANT_KEYS)
    return RecipeVariant(
        table.value("code", VARIANT.fields["code"], needed=True),
        table.value("hook", VARIANT.fields["hook-code"], needed=True),
        table.value("bead", VARIANT.fields["bead-code"]),
        table.value("based_on", VARIANT.fields["based-on"]),
        table.value("price", VARIANT.fields["price"]),
        table.value("notes", VARIANT.fields["notes"]),
        tuple(sorted(map(_change, table.tables("change")), key=lambda change: change.step)),
    )


def _change(table: Table) -> RecipeChange:
    table.allow(CHANGE_KEYS)
    change = RecipeChange(
        table.raw("step", "count", needed=True),
        table.value("material", VARIANT.fields["bead-code"]),
        table.amount("amount", zero=True),
    )
    if change.material is None and change.amount is None:
        raise table.bad("step", "is not changed", "Give another material or amount, or leave the change out")
    return change


def _material(table: Table) -> RecipeMaterial:
    table.allow(MATERIAL_KEYS)
    values: dict[str, Any] = {}
    for name in MATERIAL_KEYS:
        field = MATERIAL.fields[name.replace("_", "-")]
        if name in _WORDS:
            values[name] = table.word(name, _WORDS[name], needed=name == "kind")
            continue
        value: Any = table.value(name, field, needed=name in ("code", "name"))
        if field.kind == "quantity" and value is not None:
            value, spread = value
            if spread is not None and name != "mass":
                raise table.bad(name, "has an uncertainty", 'Leave out what follows "+-"')
            if name == "mass":
                values["mass_u"] = spread
        values[name] = value
    values["unit"] = values["unit"] or Unit.PIECE
    material = RecipeMaterial(**values)
    check_material(material, table)
    return material
