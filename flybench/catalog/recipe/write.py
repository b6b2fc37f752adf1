"""Recipe files written: one fixed form, so that the same recipe is the same text byte for byte."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from enum import Enum
from typing import Any

from flybench.catalog.recipe.read import MATERIAL_KEYS, in_order
from flybench.catalog.recipe.records import Recipe, RecipeMaterial, RecipeVariant
from flybench.catalog.search.fields import Display
from flybench.catalog.search.material_fields import MATERIAL
from flybench.quantity import COVERAGE_FACTOR, parse

_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r"}


def write_recipe(recipe: Recipe) -> bytes:
    """Return the recipe as TOML: fixed order of keys, UTF-8, lines ended by LF."""
    recipe = in_order(recipe)
    blocks = [_lines([("about", recipe.about)])] if recipe.about else []
    head = [("code", recipe.code), ("name", recipe.name), ("style", recipe.style), ("notes", recipe.notes)]
    blocks.append(
        ["[pattern]", *_lines([*head, ("photos", tuple(photo.name for photo in recipe.photos) or None)])]
    )
    for step in recipe.steps:
        given = [(name, getattr(step, name)) for name in ("part", "material", "amount", "unit", "text")]
        blocks.append(["[[step]]", *_lines(given)])
    for variant in recipe.variants:
        blocks.extend(_variant(variant))
    for material in recipe.materials:
        blocks.append(["[[material]]", *_lines(_of_material(material))])
    return ("\n\n".join("\n".join(lines) for lines in blocks) + "\n").encode()


def _variant(variant: RecipeVariant) -> Iterable[list[str]]:
    names = ("code", "hook", "bead", "based_on", "price", "notes")
    yield ["[[variant]]", *_lines((name, getattr(variant, name)) for name in names)]
    for change in sorted(variant.changes, key=lambda change: change.step):
        given = [("step", change.step), ("material", change.material), ("amount", change.amount)]
        yield ["[[variant.change]]", *_lines(given)]


def _of_material(material: RecipeMaterial) -> Iterable[tuple[str, Any]]:
    for name in MATERIAL_KEYS:
        value = getattr(material, name)
        field = MATERIAL.fields[name.replace("_", "-")]
        if field.kind == "quantity" and value is not None:
            assert field.display is not None
            text = quantity_text(value, field.unit, field.display)
            if name == "mass" and material.mass_u is not None:
                spread = quantity_text(COVERAGE_FACTOR * material.mass_u, field.unit, field.display)
                text = f"{text} +- {spread}"
            value = text
        yield name, value


def _lines(given: Iterable[tuple[str, Any]]) -> list[str]:
    """Return key = value for each that is given; empty texts are left out."""
    return [f"{name} = {_toml(value)}" for name, value in given if value is not None and value != ""]


def _toml(value: Any) -> str:
    """Return a value as TOML."""
    if isinstance(value, Enum):
        return _quoted(str(value.value))
    if isinstance(value, Decimal):
        return _quoted(f"{value:.2f}")
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() else repr(value)
    if isinstance(value, tuple):
        return f"[{', '.join(_quoted(one) for one in value)}]"
    return str(value) if isinstance(value, int) else _quoted(value)


def _quoted(text: str) -> str:
    return f'"{"".join(_ESCAPES.get(letter, letter) for letter in text)}"'


def quantity_text(value: float, unit: str, display: Display) -> str:
    """Return the shortest text in the user's unit that reads back as exactly this value [unit]."""
    for digits in range(1, 18):
        text = f"{Decimal(f'{value / display.factor:.{digits}g}'):f} {display.unit}"
        if parse(text, unit, "recipe") == value:
            return text
    return f"{value!r} {unit}"
