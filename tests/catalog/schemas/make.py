"""Writes tests/catalog/schemas/<revision>.sql: what a catalog of the present revision looks like, with some rows.

Run it once when the tables have their final shape for a revision, before the next revision is begun:

    python tests/catalog/schemas/make.py

The dumps of all revisions stay; a test upgrades each to the newest. A dump is never written over.
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
from contextlib import closing
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[1] / "helpers"))

from shelves import fill  # noqa: E402 - found on the path set above

from flybench.catalog.store.open import open_catalog  # noqa: E402
from flybench.catalog.tables.schema import REVISION  # noqa: E402


def dump() -> str:
    """Return the statements that make the invented catalog of the present revision."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "catalog.sqlite"
        with open_catalog(str(path)).writing() as session:
            fill(session)
        with closing(sqlite3.connect(path)) as file:
            return "\n".join(file.iterdump()) + "\n"


def main() -> None:
    target = HERE / f"{REVISION}.sql"
    with target.open("x", encoding="utf-8", newline="\n") as file:
        file.write(dump())
    sys.stdout.write(f"wrote {target}\n")


if __name__ == "__main__":
    main()
