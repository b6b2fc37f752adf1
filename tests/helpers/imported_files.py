"""Recipe files put into a folder to be brought in, and all that a catalog holds, to see that nothing changed."""

from __future__ import annotations

from pathlib import Path

from demo_catalog import Rows, rows_of

from flybench.catalog.store.open import Catalog


def put(tmp_path: Path, text: str, name: str = "a.toml") -> Path:
    """Write a recipe file into the folder "in" below this one; returns where it is."""
    folder = tmp_path / "in"
    folder.mkdir(exist_ok=True)
    (folder / name).write_text(text, encoding="utf-8")
    return folder / name


def everything(catalog: Catalog) -> Rows:
    """Return all rows of all tables but settings, among which is by what rules speeds were pooled."""
    return rows_of(catalog, ("setting",))
