"""The format of recipe files: one record a table of the file, one field a key, in SI units.

Reading, checking, writing, comparing and the JSON Schema all follow these records: a key that is added here is
read, written and described. Each field names how its value is read (``values``, ``material_values``).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from decimal import Decimal
from typing import Annotated, Any, ClassVar, get_args, get_type_hints

from flybench.catalog.recipe.material_values import Quantity, Weighed
from flybench.catalog.recipe.photos import Photos, RecipePhoto
from flybench.catalog.recipe.values import (
    About,
    Amount,
    MaterialCode,
    Of,
    Position,
    Value,
    VariantCode,
    Word,
)
from flybench.catalog.search.materials import MATERIAL
from flybench.catalog.search.nouns import PATTERN, VARIANT
from flybench.catalog.tables.vocabulary import Bore, MaterialKind, Metal, Part, Style, Unit

_ABOUT = re.compile(r"About: (\S(?:[^\n]*\S)?)(?:\n(.*))?", re.DOTALL)
_KEYS = {"steps": "step", "variants": "variant", "materials": "material", "changes": "change"}
"""Keys of the file that are named otherwise than the field: one table each, many in the record."""


def file_key(name: str) -> str:
    """Return the key of the file for a field of a record."""
    return _KEYS.get(name, name)


_CONFIG = {"extra": "forbid", "alias_generator": file_key}
"""What pydantic is told of each table: no other keys, and how they are named in the file."""


def _key(name: str) -> Of:
    """Return a key of a material that means what the catalog's field of that name means."""
    return Of(MATERIAL.fields[name].what, MATERIAL, name)


def _quantity(name: str, example: str, how: type[Quantity] = Quantity) -> Quantity:
    """Return the same for a number with its unit."""
    return how(MATERIAL.fields[name].what, MATERIAL, name, example)


@dataclass(frozen=True)
class RecipeHead:
    """What the pattern is called and how it looks: the table [pattern]."""

    __pydantic_config__: ClassVar = _CONFIG

    code: Annotated[str, Of("Short name of the pattern, in one word", PATTERN, "code")]
    name: Annotated[str, Of("Full name", PATTERN, "name")]
    style: Annotated[Style, Word("Style of the body: what makes the drag", Style)]
    notes: Annotated[str, Of("Anything else worth knowing", PATTERN, "notes")] = ""
    photos: Annotated[tuple[RecipePhoto, ...], Photos("File names of photos that lie beside the recipe")] = ()


@dataclass(frozen=True)
class RecipeStep:
    """One step of tying; they are counted from 1 in the order they stand: [[step]]."""

    __pydantic_config__: ClassVar = _CONFIG
    TOGETHER: ClassVar = ("amount", "unit")

    part: Annotated[Part, Word("What the step makes", Part)]
    material: Annotated[str | None, MaterialCode("Code of the material it takes", VARIANT, "bead-code")] = (
        None
    )
    amount: Annotated[float | None, Amount("How much of it; needs a unit")] = None
    unit: Annotated[Unit | None, Word("In what the amount is counted; needs an amount", Unit)] = None
    text: Annotated[str, Of("What to do, in words", PATTERN, "notes")] = ""


@dataclass(frozen=True)
class RecipeChange:
    """What a variant does otherwise in one step: [[variant.change]], below its variant."""

    __pydantic_config__: ClassVar = _CONFIG
    AT_LEAST_ONE: ClassVar = ("material", "amount")

    step: Annotated[int, Position("Number of the step, the first one being 1")]
    material: Annotated[
        str | None, MaterialCode("Code of the material it takes instead", VARIANT, "bead-code")
    ] = None
    amount: Annotated[
        float | None, Amount("The amount instead, in the step's unit; 0 leaves the step out", True)
    ] = None


@dataclass(frozen=True)
class RecipeVariant:
    """The pattern on one hook with one bead, or none: [[variant]]."""

    __pydantic_config__: ClassVar = _CONFIG

    code: Annotated[str, Of("Short name of the variant, in one word", VARIANT, "code")]
    hook: Annotated[str, MaterialCode("Code of its hook", VARIANT, "hook-code", MaterialKind.HOOK)]
    bead: Annotated[str | None, MaterialCode("Code of its bead", VARIANT, "bead-code", MaterialKind.BEAD)] = (
        None
    )
    based_on: Annotated[
        str | None,
        VariantCode("Code of another variant of this file, whose changes hold here too", VARIANT, "based-on"),
    ] = None
    price: Annotated[Decimal | None, Of("Price of one fly", VARIANT, "price")] = None
    notes: Annotated[str, Of("Anything else worth knowing", VARIANT, "notes")] = ""
    changes: tuple[RecipeChange, ...] = ()


@dataclass(frozen=True)
class RecipeMaterial:
    """A material that a step or a variant names: [[material]].

    Lengths [m], density [kg/m3], mass as weighed with its standard uncertainty or None [kg].
    """

    __pydantic_config__: ClassVar = _CONFIG
    TOGETHER: ClassVar = ("pack", "price")

    code: Annotated[str, Of("Short name of the material, in one word", MATERIAL, "code")]
    kind: Annotated[MaterialKind, Of("What it is", MATERIAL, "kind")]
    name: Annotated[str, _key("name")]
    size: Annotated[str | None, _key("size")] = None
    colour: Annotated[str | None, _key("colour")] = None
    density: Annotated[float | None, _quantity("density", "8930 kg/m3")] = None
    thickness: Annotated[float | None, _quantity("thickness", "0.06 mm")] = None
    diameter: Annotated[float | None, _quantity("diameter", "2.8 mm")] = None
    metal: Annotated[Metal | None, _key("metal")] = None
    bore: Annotated[Bore | None, _key("bore")] = None
    hole: Annotated[float | None, _quantity("hole", "1 mm")] = None
    mouth: Annotated[float | None, _quantity("mouth", "1.8 mm")] = None
    mouth_depth: Annotated[float | None, _quantity("mouth-depth", "0.8 mm")] = None
    slot: Annotated[float | None, _quantity("slot", "0.9 mm")] = None
    hook: Annotated[int | None, _key("hook")] = None
    gape: Annotated[float | None, _quantity("gape", "4.2 mm")] = None
    shank: Annotated[float | None, _quantity("shank", "6.5 mm")] = None
    wire: Annotated[float | None, _quantity("wire", "0.55 mm")] = None
    mass: Annotated[tuple[float, float | None] | None, _quantity("mass", "102 mg +- 2 mg", Weighed)] = None
    unit: Annotated[Unit, _key("unit")] = Unit.PIECE
    pack: Annotated[float | None, Of("Units in a pack; needs a price", MATERIAL, "pack")] = None
    price: Annotated[Decimal | None, Of("Price of a pack; needs a pack", MATERIAL, "price")] = None
    notes: Annotated[str, Of("Anything else worth knowing", MATERIAL, "notes")] = ""


@dataclass(frozen=True, kw_only=True)
class Recipe:
    """A pattern with all it takes: one file."""

    __pydantic_config__: ClassVar = _CONFIG

    about: Annotated[str, About("One line about the file itself", PATTERN, "notes")] = ""
    pattern: RecipeHead
    steps: tuple[RecipeStep, ...] = ()
    variants: tuple[RecipeVariant, ...] = ()
    materials: tuple[RecipeMaterial, ...] = ()

    @property
    def code(self) -> str:
        """Code of the pattern."""
        return self.pattern.code


def values_of(record: type[Any]) -> Mapping[str, Any]:
    """Return how each key with a single value is read and written, by field name."""
    return _VALUES[record]


def tables_of(record: type[Any]) -> Mapping[str, type[Any]]:
    """Return the record of each table below a record, by field name."""
    return _TABLES[record]


def _values(record: type[Any]) -> dict[str, Value]:
    found = {name: get_args(hint)[1:] for name, hint in _hints(record).items()}
    return {name: extra[0] for name, extra in found.items() if extra and isinstance(extra[0], Value)}


def _tables(record: type[Any]) -> dict[str, type[Any]]:
    hints = {name: hint for name, hint in _hints(record).items() if name not in _values(record)}
    return {name: (get_args(hint) or (hint,))[0] for name, hint in hints.items()}


def _hints(record: type[Any]) -> dict[str, Any]:
    hints = get_type_hints(record, include_extras=True)
    return {one.name: hints[one.name] for one in fields(record)}


_RECORDS = (Recipe, RecipeHead, RecipeStep, RecipeVariant, RecipeChange, RecipeMaterial)
_VALUES = {record: _values(record) for record in _RECORDS}
_TABLES = {record: _tables(record) for record in _RECORDS}


def plain_fields(record: type[Any]) -> list[str]:
    """Return the fields that a row of the catalog has under the same name: no codes of other rows, no photos."""
    return [
        name
        for name, value in values_of(record).items()
        if not isinstance(value, (MaterialCode, VariantCode, Photos))
    ]


def in_order(recipe: Recipe) -> Recipe:
    """Return the recipe with variants and materials in the order of their codes, changes in that of their steps."""
    variants = [
        replace(variant, changes=tuple(sorted(variant.changes, key=lambda change: change.step)))
        for variant in recipe.variants
    ]
    return replace(
        recipe,
        variants=tuple(sorted(variants, key=lambda variant: variant.code)),
        materials=tuple(sorted(recipe.materials, key=lambda material: material.code)),
    )


def joined_notes(about: str, notes: str) -> str:
    """Return the notes as the catalog keeps them: what the file says about itself is their first line."""
    if not about:
        return notes
    return f"About: {about}\n{notes}" if notes else f"About: {about}"


def split_notes(notes: str) -> tuple[str, str]:
    """Return what the file says about itself, and the rest of the notes."""
    found = _ABOUT.fullmatch(notes)
    return (found[1], found[2] or "") if found else ("", notes)
