"""Rows of the catalog as tables and as one thing in full."""

from __future__ import annotations

from collections.abc import Sequence

from flybench.catalog.search.cells import NOTHING, cell
from flybench.catalog.search.fields import Field, Noun
from flybench.catalog.search.select import Row, field_of
from flybench.telling.table import aligned


def table(noun: Noun, rows: Sequence[Row], names: Sequence[str]) -> list[str]:
    """Return a table as lines: a head with units, numbers to the right, columns that are empty left out."""
    fields = [field_of(noun, name) for name in names]
    cells = [[cell(noun, field, row) for field in fields] for row in rows]
    filled = [any(line[place] != NOTHING for line in cells) for place in range(len(fields))]
    kept = [place for place, full in enumerate(filled) if full]
    heads = [_head(fields[place]) for place in kept]
    body = [[line[place] for place in kept] for line in cells]
    right = [fields[place].kind in ("quantity", "count", "number", "money") for place in kept]
    return aligned([heads, *body], right)


def _head(field: Field) -> str:
    return f"{field.name}, {field.display.unit}" if field.display else field.name


def details(noun: Noun, row: Row) -> list[str]:
    """Return one row as lines "field  value", those without a value left out."""
    shown = [field for field in noun.fields.values() if not field.hidden]
    pairs = [(field.name, cell(noun, field, row, with_unit=True)) for field in shown]
    return aligned([pair for pair in pairs if pair[1] != NOTHING], [False, False])
