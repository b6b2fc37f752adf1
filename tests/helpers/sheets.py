"""A small sheet, whole or changed, and what is said to a wrong one."""

from __future__ import annotations

from typing import Any

import pytest

from flybench.bench.sheet.read import read_sheet
from flybench.bench.sheet.settings import (
    Settings,
)
from flybench.errors import BadValueError

LEAST: dict[str, dict[str, Any]] = {"water": {"temperature": "18 degC"}, "scale": {"card": "in water"}}


def tables_of(**changes: Any) -> dict[str, dict[str, Any]]:
    """Return the least sheet with ``table__key`` set, or left out where None."""
    tables = {table: dict(keys) for table, keys in LEAST.items()}
    for name, value in changes.items():
        table, key = name.split("__")
        if value is None:
            tables[table].pop(key)
        else:
            tables.setdefault(table, {})[key] = value
    return tables


def sheet_of(**changes: Any) -> Settings:
    return read_sheet(tables_of(**changes))


def refusal_of(**changes: Any) -> str:
    with pytest.raises(BadValueError) as caught:
        sheet_of(**changes)
    return str(caught.value)
