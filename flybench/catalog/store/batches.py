"""Rows loaded by many keys: a few hundred at once, as a database takes only so many values in one statement."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from sqlalchemy import Select, SQLColumnExpression
from sqlalchemy.orm import Session

_AT_ONCE = 500


def loaded(
    session: Session, statement: Select[Any], column: SQLColumnExpression[Any], keys: Sequence[Any]
) -> Iterator[Any]:
    """Yield what a statement selects whose ``column`` is one of the keys, in the order of the keys' chunks."""
    for start in range(0, len(keys), _AT_ONCE):
        yield from session.scalars(statement.where(column.in_(keys[start : start + _AT_ONCE])))
