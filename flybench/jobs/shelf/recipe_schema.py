"""The JSON Schema of recipe files, made from the words and fields of the catalog."""

from __future__ import annotations

import json
from collections.abc import Sequence
from enum import Enum
from typing import Any

from flybench.catalog.recipe.read import MATERIAL_KEYS, MOST_PHOTOS
from flybench.catalog.recipe.table import LARGEST_AMOUNT, SMALLEST_AMOUNT
from flybench.catalog.search.fields import Field
from flybench.catalog.search.material_fields import MATERIAL
from flybench.catalog.tables.base import CODE_LENGTH, NAME_LENGTH, NOTE_LENGTH
from flybench.catalog.tables.vocabulary import MaterialKind, Part, Style, Unit

Json = dict[str, Any]

_NUMBER = r"[0-9]*\.?[0-9]+(?:[eE][+-]?[0-9]+)?"
_UNITS = {"m": "(?:[mµun]?m|cm|dm|in|inch|inches|ft)", "kg": "(?:[mµuk]?g|gr|oz|lb)", "kg/m**3": "k?g/.?m.*3"}
_PRICE = r"^[0-9]{1,9}(?:\.[0-9]{1,2})?$"
_CODE: Json = {"type": "string", "minLength": 1, "maxLength": CODE_LENGTH, "pattern": r'^[^ ,:"/\\]+$'}
_NAME: Json = {"type": "string", "minLength": 1, "maxLength": NAME_LENGTH}
_NOTES: Json = {"type": "string", "maxLength": NOTE_LENGTH}
_AMOUNT: Json = {"type": "number", "minimum": SMALLEST_AMOUNT, "maximum": LARGEST_AMOUNT}
_POSITION: Json = {"type": "integer", "minimum": 1}


def schema() -> Json:
    """Return the schema (JSON Schema 2020-12) of what a recipe file holds once its TOML is read.

    It tells form, not references: that codes lead somewhere is checked when a file is imported.
    """
    photo = {
        "type": "string",
        "maxLength": NAME_LENGTH,
        "pattern": r"^[^./\\:][^/\\:]*\.(?:[jJ][pP][eE]?[gG]|[pP][nN][gG])$",
    }
    photos = {"type": "array", "items": photo, "maxItems": MOST_PHOTOS, "uniqueItems": True}
    pattern = _table(
        {"code": _CODE, "name": _NAME, "style": _words(Style), "notes": _NOTES, "photos": photos},
        ("code", "name", "style"),
    )
    step = _table(
        {"part": _words(Part), "material": _CODE, "amount": _AMOUNT, "unit": _words(Unit), "text": _NOTES},
        ("part",),
    )
    step["dependentRequired"] = {"amount": ["unit"], "unit": ["amount"]}
    top = _table(
        {
            "about": {**_NOTES, "pattern": r"^[^\n]*$"},
            "pattern": pattern,
            "step": _many(step),
            "variant": _many(_variant()),
            "material": _many(_material()),
        },
        ("pattern",),
    )
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Recipe of a fly",
        "description": "One TOML file a pattern; steps are counted from 1 in the order they stand.",
        **top,
    }


def schema_text() -> str:
    """Return the schema as it stands in docs/recipe.schema.json."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


def _variant() -> Json:
    amount = {"anyOf": [{"const": 0}, _AMOUNT]}
    change = _table({"step": _POSITION, "material": _CODE, "amount": amount}, ("step",))
    change["anyOf"] = [{"required": ["material"]}, {"required": ["amount"]}]
    price = {"type": "string", "pattern": _PRICE}
    return _table(
        {
            "code": _CODE,
            "hook": _CODE,
            "bead": _CODE,
            "based_on": _CODE,
            "price": price,
            "notes": _NOTES,
            "change": _many(change),
        },
        ("code", "hook"),
    )


def _material() -> Json:
    fields = {name: MATERIAL.fields[name.replace("_", "-")] for name in MATERIAL_KEYS}
    table = _table({name: _field(field) for name, field in fields.items()}, ("code", "kind", "name"))
    table["dependentRequired"] = {"pack": ["price"], "price": ["pack"]}
    table["allOf"] = [
        _needs(MaterialKind.BEAD, "diameter", "metal", "bore"),
        _needs(MaterialKind.HOOK, "hook"),
    ]
    return table


def _needs(kind: MaterialKind, *names: str) -> Json:
    """Return the rule that a kind needs certain keys."""
    return {
        "if": {"properties": {"kind": {"const": kind.value}}, "required": ["kind"]},
        "then": {"required": list(names)},
    }


def _field(field: Field) -> Json:
    """Return the form of a material's field."""
    if field.choices is not None:
        return {**_words(field.choices), "description": field.what}
    if field.name in ("code", "notes"):
        return {**(_CODE if field.name == "code" else _NOTES), "description": field.what}
    form: Json = dict(_NAME)
    if field.kind == "quantity":
        number = rf"{_NUMBER} ?{_UNITS[field.unit]}"
        spread = rf"(?: ?(?:\+-|±) ?{number})?" if field.name == "mass" else ""
        form = {"type": "string", "pattern": rf"^{number}{spread}$"}
    elif field.kind == "money":
        form = {"type": "string", "pattern": _PRICE}
    elif field.kind == "count":
        form = {"type": "integer", "minimum": int(field.low or 0), "maximum": int(field.high or 0)}
    elif field.kind == "number":
        form = dict(_AMOUNT)
    return {**form, "description": field.what}


def _table(properties: Json, required: Sequence[str]) -> Json:
    return {
        "type": "object",
        "properties": properties,
        "required": list(required),
        "additionalProperties": False,
    }


def _many(table: Json) -> Json:
    return {"type": "array", "items": table}


def _words(kind: type[Enum]) -> Json:
    return {"type": "string", "enum": [str(word.value) for word in kind]}
