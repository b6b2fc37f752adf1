"""A whole catalog as open files: a folder of CSV, JSON, TOML and pictures, which any program can read."""

from __future__ import annotations

import csv
import json
import shutil
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, select

from flybench.catalog.store.copying import CopiedTable, all_tables, table_hash
from flybench.catalog.store.open import Catalog
from flybench.catalog.store.place_tags import without_place
from flybench.catalog.tables.schema import REVISION
from flybench.errors import FlybenchError
from flybench.jobs.moving.cells import cell_of, is_cell
from flybench.jobs.shelf.recipes import export_recipes

LAYOUT = 1
"""Version of the layout of the folder."""
ABOUT, TABLES, RUNS, PICTURES, RECIPES = "catalog.json", "tables", "runs", "pictures", "recipes"
"""Names in the folder: what it is, and the folders of tables, of what was kept of runs, of pictures and of recipes."""
ENDINGS = {"image/jpeg": ".jpg", "image/png": ".png"}
_ROWS = 500
"""Rows that are read at a time (judgement)."""


@dataclass(frozen=True)
class Exported:
    """A catalog that was written out: where, its tables, and remarks."""

    folder: Path
    tables: tuple[CopiedTable, ...]
    remarks: tuple[str, ...]


def export_catalog(catalog: Catalog, folder: Path) -> Exported:
    """Write the whole catalog, as it is at one moment, into a new or empty folder; all of it or nothing.

    Raises FlybenchError for a folder with anything in it, and where it cannot be written.
    """
    part = folder.with_name(f".{folder.name}.part")
    try:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise FlybenchError(f"{folder}: is there already, and not an empty folder. Name a new one.")
        shutil.rmtree(part, ignore_errors=True)
        for name in (TABLES, RUNS, PICTURES):
            (part / name).mkdir(parents=True)
        tables = _write(catalog, part)
        remarks = (*_write_recipes(catalog, part), *_with_place(part / PICTURES))
        with suppress(FileNotFoundError):
            folder.rmdir()
        part.rename(folder)
    except OSError as error:
        raise FlybenchError(
            f"{folder}: cannot be written ({error.strerror}). Check the folder, its permissions and the room on the disk."
        ) from error
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return Exported(folder, tables, remarks)


def _write(catalog: Catalog, part: Path) -> tuple[CopiedTable, ...]:
    with catalog.reading() as session:
        connection = session.connection()
        for table in all_tables():
            _write_table(connection, table, part)
        hashes = tuple(table_hash(connection, table) for table in all_tables())
    about = {
        "what": "A flybench catalog as open files. Tables: CSV, one column for each value, SI units in the names.",
        "layout": LAYOUT,
        "revision": REVISION,
        "tables": {one.name: {"rows": one.rows, "sha256": one.sha256} for one in hashes},
    }
    (part / ABOUT).write_text(json.dumps(about, indent=1) + "\n", encoding="utf-8")
    return hashes


def _write_table(connection: Connection, table: Table, part: Path) -> None:
    columns = [column for column in table.columns if is_cell(column)]
    with (part / TABLES / f"{table.name}.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow([column.name for column in columns])
        rows = select(table).order_by(*table.primary_key)
        for row in connection.execution_options(yield_per=_ROWS).execute(rows).mappings():
            writer.writerow([cell_of(column, row[column.name]) for column in columns])
            for path, content in beside(table, row, part).items():
                path.write_bytes(content)


def beside(table: Table, row: Mapping[Any, Any], folder: Path) -> dict[Path, bytes]:
    """Return what of a row goes into files of its own: pictures, tracks and results of runs."""
    if table.name == "picture":
        return {picture_file(folder, row["sha256"], row["media_type"]): row["content"]}
    if table.name == "bench_run":
        result = json.dumps(row["result"], indent=1, ensure_ascii=False)
        track, told = run_files(folder, row["id"])
        return {track: row["track"], told: result.encode()}
    return {}


def picture_file(folder: Path, sha256: str, media_type: str) -> Path:
    """Return the file of a picture."""
    return folder / PICTURES / f"{sha256}{ENDINGS.get(media_type, '.bin')}"


def run_files(folder: Path, number: int) -> tuple[Path, Path]:
    """Return the files of a run: its track, and its result."""
    return folder / RUNS / f"{number}.track", folder / RUNS / f"{number}.json"


def _write_recipes(catalog: Catalog, part: Path) -> tuple[str, ...]:
    """Write the recipes too, for people and for other shops; they are not read back, as the tables hold them."""
    try:
        export_recipes(catalog, None, part / RECIPES)
    except FlybenchError as error:
        shutil.rmtree(part / RECIPES, ignore_errors=True)
        return (f"No recipe files were written: {error}",)
    return ()


def _with_place(pictures: Path) -> tuple[str, ...]:
    """Return how many pictures tell where they were taken; they are written as the catalog keeps them, byte by byte."""
    contents = (path.read_bytes() for path in pictures.iterdir())
    count = sum(without_place(content) != content for content in contents)
    if not count:
        return ()
    what = "1 picture" if count == 1 else f"{count} pictures"
    return (
        f"The folder {PICTURES} holds {what} with a note that tells, or may tell, the place where it was taken. Leave that "
        "folder out of what you give to others.",
    )
