"""The catalog that the demo of version 0.1.0 made, brought up to date: real runs with their tracks, and rows to compare."""

from __future__ import annotations

import lzma
import tempfile
from functools import cache
from pathlib import Path

from sqlalchemy import select

from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.base import Base
from flybench.jobs.pooled.kept_speeds import keep_in_step

KEPT = Path(__file__).resolve().parents[1] / "catalog" / "schemas" / "0001-demo.sqlite.xz"
LOG = ("change_set", "row_change")
Rows = dict[str, list[tuple[object, ...]]]


def first_revision(path: Path) -> None:
    """Put the catalog at a path as that version made it."""
    path.write_bytes(lzma.decompress(KEPT.read_bytes()))


@cache
def _up_to_date() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "catalog.sqlite"
        first_revision(path)
        with open_catalog(str(path)).writing() as session:
            keep_in_step(session)  # what is worked out from the runs alone is no change of its own
        return path.read_bytes()


def demo_catalog(path: Path) -> Catalog:
    """Put the catalog at a path and open it."""
    path.write_bytes(_up_to_date())
    return open_catalog(str(path), make=False)


def rows_of(catalog: Catalog, without: tuple[str, ...] = (*LOG, "picture")) -> Rows:
    """Return every row of every table but some, in the order of their keys."""
    with catalog.reading() as session:
        connection = session.connection()
        return {
            table.name: [
                tuple(row) for row in connection.execute(select(table).order_by(*table.primary_key)).all()
            ]
            for table in Base.metadata.sorted_tables
            if table.name not in without
        }
