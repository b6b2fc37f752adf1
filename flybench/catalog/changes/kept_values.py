"""Values of columns as they are kept in the log of changes: JSON that comes back as exactly the same value."""

from __future__ import annotations

from base64 import b64decode, b64encode
from collections.abc import Callable, Mapping
from datetime import date, datetime
from decimal import Decimal
from enum import Enum
from typing import Any

from sqlalchemy import JSON, Column, LargeBinary, Table, TypeDecorator
from sqlalchemy import Enum as SqlEnum
from sqlalchemy.types import TypeEngine

_READERS: Mapping[type[Any], Callable[[Any], Any]] = {
    date: date.fromisoformat,
    datetime: datetime.fromisoformat,
    Decimal: Decimal,
}


def kept(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return values by column as JSON can hold them."""
    return {name: _kept(value) for name, value in values.items()}


def _kept(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, bytes):
        return b64encode(value).decode("ascii")
    return value.isoformat() if isinstance(value, date) else value


def brought_back(table: Table, values: Mapping[str, Any]) -> dict[str, Any]:
    """Return values by column as they were before ``kept``."""
    return {name: _brought_back(table.c[name], value) for name, value in values.items()}


def _brought_back(column: Column[Any], value: Any) -> Any:
    kind = plain_type(column)
    if value is None or isinstance(kind, JSON):
        return value
    if isinstance(kind, SqlEnum) and kind.enum_class is not None:
        return kind.enum_class(value)
    if isinstance(kind, LargeBinary):
        return b64decode(value)
    reader = _READERS.get(kind.python_type)
    return value if reader is None else reader(value)


def plain_type(column: Column[Any]) -> TypeEngine[Any]:
    """Return the type of a column as the database has it, without what flybench checks on top of it."""
    kind: TypeEngine[Any] = column.type
    return kind.impl_instance if isinstance(kind, TypeDecorator) else kind


def is_large(column: Column[Any]) -> bool:
    """Tell whether a column holds so much that only what it held before a change is kept, and not what it holds now."""
    return isinstance(column.type, LargeBinary) or column.name == "result"
