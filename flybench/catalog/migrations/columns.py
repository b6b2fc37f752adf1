"""Columns and rules in the short form that migrations are written in; later steps rely on them as they are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa
from alembic import op


def must(name: str, kind: sa.types.TypeEngine[Any], comment: str | None = None) -> sa.Column[Any]:
    """Return a column that may not be empty."""
    return sa.Column(name, kind, nullable=False, comment=comment)


def may(name: str, kind: sa.types.TypeEngine[Any], comment: str | None = None) -> sa.Column[Any]:
    """Return a column that may be empty."""
    return sa.Column(name, kind, nullable=True, comment=comment)


def words(name: str, values: str) -> sa.Enum:
    """Return the type of an enum: its values, parted by spaces, as text that the database checks."""
    return sa.Enum(*values.split(), name=name, native_enum=False, create_constraint=True, length=20)


def limited(table: str, sign: str, *columns: str) -> Iterator[sa.CheckConstraint]:
    """Give checks that columns are above zero, or not below it, where they are given."""
    for one in columns:
        rule = f"{one} IS NULL OR ({one} {sign} 0 AND {one} < 1e12)"
        yield sa.CheckConstraint(rule, op.f(f"ck_{table}_{one}"))


def refers(table: str, column: str, to: str, ondelete: str) -> sa.ForeignKeyConstraint:
    """Return a reference of one column to another table's, such as "fly.id"."""
    return sa.ForeignKeyConstraint([column], [to], f"fk_{table}_{column}", ondelete=ondelete)
