"""Rows of the catalog as people and machines read them: cells, tables, templates, JSON."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime
from decimal import Decimal
from enum import Enum
from string import Formatter
from typing import Any

from flybench.catalog.search.fields import Field, Noun
from flybench.catalog.search.select import Row, field_of
from flybench.errors import BadValueError
from flybench.quantity import COVERAGE_FACTOR, rounded

NOTHING = "-"


def cell(noun: Noun, field: Field, row: Row, with_unit: bool = False) -> str:
    """Return a value as the user reads it; quantities with +- (k = 2) where their uncertainty is known."""
    value = row.get(field.name)
    if value is None or value == "":
        return NOTHING
    text = _plain(value) if field.display is None else _quantity(field, value, row.get(field.plus_minus))
    return f"{text} {field.display.unit}" if with_unit and field.display else text


def _quantity(field: Field, value: float, spread: float | None) -> str:
    assert field.display is not None
    shown = value / field.display.factor
    if spread:
        return " ± ".join(rounded(shown, COVERAGE_FACTOR * spread / field.display.factor))
    return f"{shown:.{field.display.digits}g}"


def _plain(value: Any) -> str:
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.astimezone().strftime("%Y-%m-%d %H:%M")
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, list):
        return ", ".join(map(str, value)) or NOTHING
    return str(value)


def as_record(noun: Noun, row: Row) -> dict[str, Any]:
    """Return a row for JSON: SI values under names that end in their unit, null where unknown."""
    return {noun.fields[name].json_name: _machine(value) for name, value in row.items()}


def _machine(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    return value.isoformat() if isinstance(value, date) else value


def needed_for(noun: Noun, names: Sequence[str]) -> list[str]:
    """Return the fields to fetch for those shown: their uncertainties too."""
    fields = [field_of(noun, name) for name in names]
    return list(
        dict.fromkeys([one.name for one in fields] + [one.plus_minus for one in fields if one.plus_minus])
    )


def template(noun: Noun, text: str) -> tuple[list[str], Callable[[Row], str]]:
    """Return the fields that a template such as "{code}: {sink}" names, and what fills it in.

    Raises BadValueError for an unknown field or braces that are not closed.
    """
    try:
        parts = list(Formatter().parse(text.replace("\\t", "\t").replace("\\n", "\n")))
    except ValueError as error:
        raise BadValueError(
            "--format", f'"{text}" cannot be read ({error})', "Write it as {code}: {sink}"
        ) from None
    names = [name for _, name, _, _ in parts if name is not None]
    if not names:
        raise BadValueError("--format", f'"{text}" names no field', "Write it as {code}: {sink}")
    fields = {name: field_of(noun, name) for name in names}

    def fill(row: Row) -> str:
        return "".join(
            literal + (cell(noun, fields[name], row, with_unit=True) if name is not None else "")
            for literal, name, _, _ in parts
        )

    return [field.name for field in fields.values()], fill
