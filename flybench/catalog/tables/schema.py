"""All tables together, and the revision that this program writes."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Column, Connection, MetaData, PrimaryKeyConstraint, String, Table, inspect, text

from flybench.catalog.tables import changes, counted, flies, materials, patterns, photos
from flybench.catalog.tables.base import Base

_STEPS = Path(__file__).parents[1] / "migrations" / "versions"
"""The steps from each revision to the next; the name of each file begins with the revision that it leads to."""
REVISION = max(step.name.split("_")[0] for step in _STEPS.glob("[0-9]*_*.py"))
"""Newest revision of the tables, four digits: the one that the last step leads to."""
REVISION_TABLE = "flybench_revision"
"""Holds the revision in one row. Its own name keeps other programs' databases from being taken for ours."""


COPYING = "copying"
"""Stands in the place of the revision while a copy of a catalog is not finished."""


def tables() -> MetaData:
    """Return the tables of this revision."""
    assert changes and counted and flies and materials and patterns and photos
    return Base.metadata


def revision_of(connection: Connection) -> str | None:
    """Return the revision of the tables, or None where there are none of ours."""
    if not inspect(connection).has_table(REVISION_TABLE):
        return None
    found: str | None = connection.execute(text(f"SELECT version_num FROM {REVISION_TABLE}")).scalar()
    return found


def make_tables(connection: Connection) -> None:
    """Make all tables in an empty database and write down their revision."""
    tables().create_all(connection)
    table = Table(
        REVISION_TABLE,
        MetaData(),
        Column("version_num", String(32), nullable=False),
        PrimaryKeyConstraint("version_num", name=f"{REVISION_TABLE}_pkc"),  # as alembic makes it
    )
    table.create(connection)
    connection.execute(table.insert().values(version_num=REVISION))
