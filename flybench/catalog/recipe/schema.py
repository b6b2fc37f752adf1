"""The JSON Schema of recipe files and their keys as a table for the documentation, both from the records."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from flybench.catalog.recipe.read import adapter
from flybench.catalog.recipe.records import RecipeChange, RecipeMaterial, RecipeStep, values_of
from flybench.catalog.recipe.values import Json, as_toml
from flybench.catalog.tables.vocabulary import MaterialKind

_HEADINGS = {
    "Recipe": "Above all tables",
    "RecipeHead": "`[pattern]`",
    "RecipeStep": "`[[step]]`",
    "RecipeVariant": "`[[variant]]`",
    "RecipeChange": "`[[variant.change]]`, below its variant",
    "RecipeMaterial": "`[[material]]`",
}
"""Headings of the documentation, by the record of a table."""


def schema() -> Json:
    """Return the schema (JSON Schema 2020-12) of what a recipe file holds once its TOML is read.

    It tells form, not references: that codes lead somewhere is checked when a file is imported.
    """
    made: Json = _tidied(adapter().json_schema())
    tables = made["$defs"]
    for record in (RecipeStep, RecipeMaterial):
        one, other = record.TOGETHER
        tables[record.__name__]["dependentRequired"] = {one: [other], other: [one]}
    tables["RecipeChange"]["anyOf"] = [{"required": [name]} for name in RecipeChange.AT_LEAST_ONE]
    tables["RecipeMaterial"]["allOf"] = [_rule(kind) for kind in MaterialKind]
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Recipe of a fly",
        "description": "One TOML file a pattern; steps are counted from 1 in the order they stand.",
    }
    return {**head, **made, **head}


def schema_text() -> str:
    """Return the schema as it stands in docs/recipe.schema.json."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


def keys_tables() -> str:
    """Return all keys as tables in Markdown, one for each table of a file, in the order of the file."""
    made = schema()
    tables = {"Recipe": made, **made["$defs"]}
    return "\n\n".join(
        _keys_table(heading, tables[name], dict(_needed_by_kind(tables[name])))
        for name, heading in _HEADINGS.items()
    )


def _keys_table(heading: str, table: Json, by_kind: Mapping[str, str]) -> str:
    rows = [f"### {heading}", "", "| key | needed | written as | meaning |", "|---|---|---|---|"]
    for key, form in table["properties"].items():
        if "description" in form:
            needed = "yes" if key in table.get("required", ()) else by_kind.get(key, "")
            rows.append(f"| `{key}` | {needed} | {_written(form)} | {form['description']} |")
    return "\n".join(rows)


def _needed_by_kind(table: Json) -> Iterator[tuple[str, str]]:
    """Yield the keys that only some kinds of material must have, with the kind."""
    for rule in table.get("allOf", ()):
        for key in rule["then"].get("required", ()):
            yield key, f"for a {rule['if']['properties']['kind']['const']}"


def _written(form: Json) -> str:
    """Return how a value is written: one of a list of words, an example, or a text."""
    if "enum" in form:
        return "one of " + ", ".join(f'`"{word}"`' for word in form["enum"])
    if "examples" not in form:
        return f"a text of up to {form['maxLength']:,} letters".replace(",", " ")
    example = form["examples"][0]
    written = f"[{', '.join(map(as_toml, example))}]" if isinstance(example, list) else as_toml(example)
    return f"`{written}`"


def _rule(kind: MaterialKind) -> Json:
    """Return which keys a kind of material must have and which it cannot have."""
    values = {name: value for name, value in values_of(RecipeMaterial).items() if value.kinds}
    then: Json = {"properties": {name: False for name, value in values.items() if kind not in value.kinds}}
    needed = [name for name, value in values.items() if kind in value.kinds and value.needed]
    if needed:
        then["required"] = needed
    return {"if": {"properties": {"kind": {"const": kind.value}}, "required": ["kind"]}, "then": then}


def _tidied(made: Any) -> Any:
    """Return the schema without titles and empty defaults, which only repeat names; of docstrings the first line."""
    if isinstance(made, list):
        return [_tidied(one) for one in made]
    if not isinstance(made, dict):
        return made
    return {
        key: value.partition("\n")[0] if key == "description" and isinstance(value, str) else _tidied(value)
        for key, value in made.items()
        if isinstance(value, dict) or key not in ("title", "default")
    }
