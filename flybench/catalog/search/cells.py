"""Values of the catalog as people and machines read them: the text of a cell, and JSON."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from enum import Enum
from typing import Any

from flybench.catalog.search.fields import Field, Noun
from flybench.catalog.search.select import Row, field_of
from flybench.quantity import COVERAGE_FACTOR
from flybench.rounding import rounded

NOTHING = "-"
"""What stands for a value that is not known."""


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


def needed_for(noun: Noun, names: Sequence[str], where: str = "") -> list[str]:
    """Return the fields to fetch for those shown: their uncertainties too; ``where`` they were named, for errors."""
    fields = [field_of(noun, name, where) for name in names]
    return list(
        dict.fromkeys([one.name for one in fields] + [one.plus_minus for one in fields if one.plus_minus])
    )
