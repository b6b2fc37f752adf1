"""Recipe files put into a folder to be brought in, and all that a catalog holds, to see that nothing changed."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import select

from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.schema import tables


def put(tmp_path: Path, text: str, name: str = "a.toml") -> Path:
    """Write a recipe file into the folder "in" below this one; returns where it is."""
    folder = tmp_path / "in"
    folder.mkdir(exist_ok=True)
    (folder / name).write_text(text, encoding="utf-8")
    return folder / name


def everything(catalog: Catalog) -> dict[str, list[str]]:
    """Return all rows of all tables but settings, among which is by what rules speeds were pooled."""
    with catalog.engine.connect() as connection:
        return {
            table.name: sorted(map(repr, connection.execute(select(table)).all()))
            for table in tables().sorted_tables
            if table.name != "setting"
        }
