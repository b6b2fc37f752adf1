"""A folder of open files read back into a new catalog: all of it or nothing."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, insert, update

from flybench.catalog.store.copying import all_tables, circle, number_on, rows_in_all, table_hash
from flybench.catalog.store.database_errors import in_plain_words
from flybench.catalog.store.engine import for_writing
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.schema import REVISION
from flybench.errors import FlybenchError
from flybench.jobs.moving.cells import is_cell, value_of
from flybench.jobs.moving.open_files import ABOUT, LAYOUT, TABLES, picture_file, run_files

_LONGEST_CELL = 10_000_000
"""Letters in one cell (judgement: what a removed run was is kept in the log of changes in one cell)."""
_HASH = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True)
class ReadBack:
    """A catalog that was read back: rows in all, and the tables whose files were changed since they were written."""

    rows: int
    changed: tuple[str, ...]


def import_catalog(catalog: Catalog, folder: Path) -> ReadBack:
    """Put a folder that ``export_catalog`` wrote into an empty catalog.

    Raises FlybenchError naming file, line and column of what cannot be read, for a folder of another version of the
    tables, and for a catalog with anything in it.
    """
    about = _about(folder)
    with in_plain_words(catalog.name), for_writing(catalog.engine).begin() as connection:
        there = rows_in_all(connection)
        if there:
            raise FlybenchError(
                f"{catalog.name}: there is a catalog with {there} rows already. Name a new one with --catalog."
            )
        for table in all_tables():
            _fill(connection, table, folder)
        found = {table.name: table_hash(connection, table) for table in all_tables()}
        number_on(connection)
    wanted = {name: told.get("sha256") for name, told in about.items() if isinstance(told, dict)}
    changed = tuple(name for name, one in found.items() if one.sha256 != wanted.get(name))
    return ReadBack(sum(one.rows for one in found.values()), changed)


def look_over(folder: Path) -> None:
    """Raise FlybenchError where a folder is none that can be read back: of what it says of itself, or for a missing file."""
    _about(folder)
    for table in all_tables():
        path = folder / TABLES / f"{table.name}.csv"
        if not path.is_file():
            raise FlybenchError(f"{path}: cannot be read (No such file or directory). Check the folder.")


def _about(folder: Path) -> Mapping[str, Any]:
    """Return what the folder says of its tables."""
    path = folder / ABOUT
    try:
        about = json.loads(path.read_text(encoding="utf-8"))
        layout, revision, tables = about["layout"], about["revision"], about["tables"]
    except OSError as error:
        raise FlybenchError(
            f"{path}: cannot be read ({error.strerror}). Name a folder that catalog export wrote."
        ) from error
    except (ValueError, KeyError, TypeError) as error:
        raise FlybenchError(
            f"{path}: is not what catalog export writes. Take the file that it wrote."
        ) from error
    if (layout, revision) != (LAYOUT, REVISION) or not isinstance(tables, dict):
        raise FlybenchError(
            f"{path}: is of version {revision} of the tables, and this flybench reads {REVISION}. "
            "Read it with the flybench that wrote it, and copy or upgrade that catalog."
        )
    return tables


def _fill(connection: Connection, table: Table, folder: Path) -> None:
    inward = circle(table)
    rows, refer = [], []
    for row in _rows(table, folder):
        if any(row[name] is not None for name in inward):
            refer.append(row)
        rows.append({**row, **dict.fromkeys(inward)})
    if rows:
        connection.execute(insert(table), rows)
    for row in refer:
        (key,) = table.primary_key
        values = {name: row[name] for name in inward}
        connection.execute(update(table).where(key == row[key.name]).values(values))


def _rows(table: Table, folder: Path) -> Iterator[dict[str, Any]]:
    path = folder / TABLES / f"{table.name}.csv"
    columns = [column for column in table.columns if is_cell(column)]
    csv.field_size_limit(_LONGEST_CELL)
    try:
        with path.open(encoding="utf-8", newline="") as file:
            lines = csv.reader(file, strict=True)
            head = next(lines, [])
            if head != [column.name for column in columns]:
                names = ", ".join(column.name for column in columns)
                raise FlybenchError(f"{path}, line 1: must name these columns in this order: {names}.")
            for cells in lines:
                if len(cells) != len(columns):
                    raise FlybenchError(
                        f"{path}, line {lines.line_num}: has {len(cells)} cells, and the first line has {len(columns)}. "
                        "Correct that line."
                    )
                row = {
                    column.name: _value(path, lines.line_num, column, cell)
                    for column, cell in zip(columns, cells, strict=True)
                }
                yield row | _beside(table, row, folder)
    except OSError as error:
        raise FlybenchError(
            f"{error.filename or path}: cannot be read ({error.strerror}). Check the folder."
        ) from error
    except UnicodeDecodeError as error:
        raise FlybenchError(f"{path}: is not UTF-8. Save it again as CSV in UTF-8.") from error
    except csv.Error as error:
        raise FlybenchError(f"{path}: cannot be read as CSV ({error}). Save it again with commas.") from error


def _value(path: Path, line: int, column: Any, cell: str) -> Any:
    try:
        return value_of(column, cell)
    except (ValueError, ArithmeticError, KeyError) as error:
        shown = cell if len(cell) <= 40 else f"{cell[:39]}…"
        raise FlybenchError(
            f'{path}, line {line}, {column.name}: "{shown}" cannot be read. Correct that cell.'
        ) from error


def _beside(table: Table, row: Mapping[str, Any], folder: Path) -> dict[str, Any]:
    """Return what of a row lies in files of its own."""
    if table.name == "picture":
        if not _HASH.fullmatch(row["sha256"]):
            raise FlybenchError(f'picture.csv: "{row["sha256"]}" is not a SHA-256. Correct that cell.')
        return {"content": picture_file(folder, row["sha256"], row["media_type"]).read_bytes()}
    if table.name == "bench_run":
        track, told = run_files(folder, row["id"])
        try:
            return {"track": track.read_bytes(), "result": json.loads(told.read_text(encoding="utf-8"))}
        except ValueError as error:
            raise FlybenchError(f"{told}: cannot be read as JSON. Take the file that was written.") from error
    return {}
