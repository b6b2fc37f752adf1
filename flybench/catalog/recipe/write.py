"""Recipe files written: one fixed form, so that the same recipe is the same text byte for byte."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from flybench.catalog.recipe.records import Recipe, file_key, in_order, tables_of, values_of


def write_recipe(recipe: Recipe) -> bytes:
    """Return the recipe as TOML: keys in the order of the records, UTF-8, lines ended by LF."""
    blocks = _blocks(in_order(recipe), "", many=False)
    return ("\n\n".join("\n".join(lines) for lines in blocks) + "\n").encode()


def _blocks(record: Any, place: str, many: bool) -> Iterator[list[str]]:
    """Yield the lines of a table, then those of the tables below it."""
    lines = [f"[[{place}]]" if many else f"[{place}]"] if place else []
    lines += record_lines(record)
    if lines:
        yield lines
    for name in tables_of(type(record)):
        below = getattr(record, name)
        key = f"{place}.{file_key(name)}" if place else file_key(name)
        for one in below if isinstance(below, tuple) else [below]:
            yield from _blocks(one, key, many=isinstance(below, tuple))


def record_lines(record: Any) -> list[str]:
    """Return key = value for each key of one table that is given; empty texts and lists are left out."""
    given = ((name, how, getattr(record, name)) for name, how in values_of(type(record)).items())
    return [f"{name} = {how.write(value)}" for name, how, value in given if value not in (None, "", ())]
