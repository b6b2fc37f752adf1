"""What all tables share: names of constraints, enums by value, times in UTC."""

from __future__ import annotations

from datetime import UTC, datetime
from enum import Enum
from math import isfinite
from typing import Any

from sqlalchemy import CheckConstraint, DateTime, Float, MetaData, String, TypeDecorator
from sqlalchemy import Enum as SqlEnum
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase

from flybench.errors import FlybenchError

CODE_LENGTH = 40
NAME_LENGTH = 200
CURRENCY_LENGTH = 20
NOTE_LENGTH = 20_000
NAMING = {
    "ix": "ix_%(column_0_label)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s",
    "pk": "pk_%(table_name)s",
}


class Base(DeclarativeBase):
    """Base of every table."""

    metadata = MetaData(naming_convention=NAMING)


class UtcTime(TypeDecorator[datetime]):
    """A moment, stored in UTC without its zone, given and returned with it."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Return the moment in UTC, bare."""
        return None if value is None else value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Return the moment with its zone."""
        return None if value is None else value.replace(tzinfo=UTC)


class Number(TypeDecorator[float]):
    """A finite number; SQLite would keep NaN as if nothing had been given."""

    impl = Float
    cache_ok = True

    def process_bind_param(self, value: float | None, dialect: Dialect) -> float | None:
        """Return the number as it is; raises FlybenchError where it is none."""
        if value is not None and not isfinite(value):
            raise FlybenchError(f"{value}: is not a number that the catalog can keep. Nothing was changed.")
        return value


def words(kind: type[Enum]) -> SqlEnum:
    """Return the column type of an enum: its values as text, checked by the database."""
    return SqlEnum(
        kind,
        native_enum=False,
        create_constraint=True,
        validate_strings=True,
        length=20,
        name=kind.__name__.lower(),
        values_callable=lambda members: [member.value for member in members],
    )


def code_type() -> String:
    """Return the column type of a code."""
    return String(CODE_LENGTH)


def above_zero(*columns: str) -> list[CheckConstraint]:
    """Return checks that columns are positive where they are given."""
    return [
        CheckConstraint(f"{column} IS NULL OR ({column} > 0 AND {column} < 1e12)", name=column)
        for column in columns
    ]


def not_negative(*columns: str) -> list[CheckConstraint]:
    """Return checks that columns are zero or more where they are given."""
    return [
        CheckConstraint(f"{column} IS NULL OR ({column} >= 0 AND {column} < 1e12)", name=column)
        for column in columns
    ]


def together(*columns: str) -> CheckConstraint:
    """Return a check that columns are all given or all empty."""
    nulls = " AND ".join(f"{column} IS NULL" for column in columns)
    given = " AND ".join(f"{column} IS NOT NULL" for column in columns)
    return CheckConstraint(f"({nulls}) OR ({given})", name=f"{columns[0]}_together")
