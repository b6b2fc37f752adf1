"""A whole catalog copied to another place, file or server: in steps that can be taken up again, and compared in the end."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from sqlalchemy import (
    URL,
    Column,
    Connection,
    Engine,
    Table,
    delete,
    func,
    insert,
    select,
    text,
    tuple_,
    update,
)

from flybench.catalog.changes.kept_values import kept
from flybench.catalog.store.database_errors import in_plain_words
from flybench.catalog.store.engine import engine_for, for_writing, shown, url_of
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.base import Base
from flybench.catalog.tables.changes import ChangeSet
from flybench.catalog.tables.schema import COPYING, REVISION, REVISION_TABLE, revision_of
from flybench.errors import FlybenchError

Progress = Callable[[str, int, int], None]
_ROWS = 2000
"""Rows copied in one transaction (judgement: what is lost by a break is copied again in a moment)."""
_LARGE_ROWS = {"bench_run": 40, "picture": 20, "row_change": 500}
"""Rows in one transaction of tables whose rows are large: some megabytes."""
_ALL = 2**256


@dataclass(frozen=True)
class CopiedTable:
    """A table that was copied: its rows, and one hash over all of them, the same at both places."""

    name: str
    rows: int
    sha256: str


@dataclass(frozen=True)
class Copy:
    """A copy that was made: from where and to where, its tables, and whether it was taken up after a break."""

    source: str
    target: str
    tables: tuple[CopiedTable, ...]
    resumed: bool


@dataclass(frozen=True)
class _Target:
    """The place that is copied to; its errors name it, and not the source."""

    name: str
    address: str
    engine: Engine

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give a connection whose changes are kept all together, or not at all."""
        with in_plain_words(self.name), for_writing(self.engine).begin() as connection:
            yield connection

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection to read."""
        with in_plain_words(self.name), self.engine.connect() as connection:
            yield connection


def copy_catalog(source: Catalog, address: str, progress: Progress = lambda what, done, whole: None) -> Copy:
    """Copy every table to a new catalog at an address, or go on with a copy that was broken off.

    The source is read as it is at one moment; nothing in it is changed. Until all is there and was compared, the
    copy is marked as unfinished and nothing else opens it. Raises FlybenchError where there is a catalog with anything
    in it already, where the copy is that of another catalog, and where the copy is not what was copied.
    """
    target = _Target(shown(url_of(address)), address, engine_for(url_of(address)))
    if _same_place(source.url, url_of(address)):
        raise FlybenchError(f"{target.name}: is the catalog itself. Name another place to copy it to.")
    with source.reading() as session:
        connection = session.connection()
        mark = _mark(source, connection)
        resumed = _begin(target, mark)
        whole = rows_in_all(connection)
        done = 0
        for table in all_tables():
            for number in _copied(connection, target, table):
                done += number
                progress("copying", done, whole)
            _close_circle(connection, target, table)
        compared = tuple(_compared(connection, target, table, progress) for table in all_tables())
        _finish(target)
        return Copy(source.name, target.name, compared, resumed)


def _same_place(one: URL, other: URL) -> bool:
    if one.drivername == other.drivername == "sqlite":
        return Path(str(one.database)).resolve() == Path(str(other.database)).resolve()
    return one.set(password=None) == other.set(password=None)


def all_tables() -> Sequence[Table]:
    """Return every table, each behind those that it refers to."""
    return Base.metadata.sorted_tables


def _mark(source: Catalog, connection: Connection) -> str:
    """Return what tells a broken-off copy of this catalog, as it is now, from any other; 32 letters at most."""
    place = sha256(source.name.encode()).hexdigest()[:8]
    return f"{COPYING} {place} {connection.scalar(select(func.max(ChangeSet.id))) or 0}"


def _begin(target: _Target, mark: str) -> bool:
    """Make an empty catalog marked as unfinished, unless there is one of this copy; tell whether there is."""
    there = _unfinished(target)
    if there is None:
        open_catalog(target.address)
    with target.writing() as connection:
        if there is not None and there.split()[1] != mark.split()[1]:
            raise FlybenchError(
                f"{target.name}: is the unfinished copy of another catalog. Name another place, or remove that copy first."
            )
        if there is None:
            rows = rows_in_all(connection)
            if rows:
                raise FlybenchError(
                    f"{target.name}: there is a catalog with {rows} rows already, and a copy never goes over another. "
                    "Name a place where there is none."
                )
        elif there != mark:  # the source was changed since: what is there may be of before
            for table in reversed(all_tables()):
                _cut_circle(connection, table)
                connection.execute(delete(table))
        connection.execute(text(f"UPDATE {REVISION_TABLE} SET version_num = :mark"), {"mark": mark})
    return there == mark


def _unfinished(target: _Target) -> str | None:
    """Return the mark of an unfinished copy, or None where there is none."""
    url = url_of(target.address)
    if url.drivername == "sqlite" and not Path(str(url.database)).is_file():
        return None
    with target.reading() as connection:
        found = revision_of(connection)
    return found if found is not None and found.startswith(COPYING) else None


def rows_in_all(connection: Connection) -> int:
    """Return how many rows all tables have together."""
    return sum(_count(connection, table) for table in all_tables())


def _count(connection: Connection, table: Table) -> int:
    return connection.scalar(select(func.count()).select_from(table)) or 0


def _copied(source: Connection, target: _Target, table: Table) -> Iterator[int]:
    """Copy the rows of a table that are not there yet, some in each transaction; give how many are there after each."""
    size = _LARGE_ROWS.get(table.name, _ROWS)
    with target.reading() as connection:
        there, last = _count(connection, table), _last(connection, table)
    yield there
    inward = circle(table)
    while rows := source.execute(_after(table, last).limit(size)).mappings().all():
        values = [{**row, **dict.fromkeys(inward)} for row in rows]
        with target.writing() as connection:
            connection.execute(insert(table), values)
        last = tuple(rows[-1][column.name] for column in table.primary_key)
        yield len(rows)


def _last(connection: Connection, table: Table) -> tuple[Any, ...] | None:
    keys = [column.desc() for column in table.primary_key]
    found = connection.execute(select(*table.primary_key).order_by(*keys).limit(1)).first()
    return None if found is None else tuple(found)


def _after(table: Table, last: tuple[Any, ...] | None) -> Any:
    """Select the rows behind a key, in the order of keys."""
    keys = list(table.primary_key)
    rows = select(table).order_by(*keys)
    return rows if last is None else rows.where(tuple_(*keys) > tuple_(*last))


def circle(table: Table) -> list[str]:
    """Return the columns by which rows refer to rows of the same table; they are filled once all rows are there."""
    return [key.parent.name for key in table.foreign_keys if key.column.table is table]


def _close_circle(source: Connection, target: _Target, table: Table) -> None:
    for name in circle(table):
        (key,) = table.primary_key
        rows = source.execute(select(key, table.c[name]).where(table.c[name].is_not(None)))
        with target.writing() as connection:
            for number, refers_to in rows:
                connection.execute(update(table).where(key == number).values({name: refers_to}))


def _cut_circle(connection: Connection, table: Table) -> None:
    for name in circle(table):
        connection.execute(update(table).values({name: None}))


def _compared(source: Connection, target: _Target, table: Table, progress: Progress) -> CopiedTable:
    """Return a table with the hash of its rows; raises FlybenchError where the two places differ."""
    progress(f"comparing {table.name}", 0, 1)
    with target.reading() as connection:
        here, there = table_hash(source, table), table_hash(connection, table)
    if here != there:
        raise FlybenchError(
            f"{target.name}: the copy of the table {table.name} is not what was copied ({there.rows} rows, {here.rows} "
            "at the source). It stays marked as unfinished. Remove it and copy again."
        )
    return here


def table_hash(connection: Connection, table: Table) -> CopiedTable:
    """Return the number of rows of a table, and a hash of all their values that does not depend on their order."""
    total, count = 0, 0
    for row in (
        connection.execution_options(yield_per=_LARGE_ROWS.get(table.name, _ROWS))
        .execute(select(table))
        .mappings()
    ):
        total = (total + int.from_bytes(_row_hash(row, table.columns), "big")) % _ALL
        count += 1
    return CopiedTable(table.name, count, f"{total:064x}")


def _row_hash(row: Mapping[Any, Any], columns: Any) -> bytes:
    values = {column.name: _comparable(column, row[column.name]) for column in columns}
    return sha256(json.dumps(kept(values), sort_keys=True).encode()).digest()


def _comparable(column: Column[Any], value: Any) -> Any:
    return sha256(value).hexdigest() if isinstance(value, bytes) else value


def _finish(target: _Target) -> None:
    """Let a server number new rows behind those that were copied, and take the mark away."""
    with target.writing() as connection:
        number_on(connection)
        connection.execute(text(f"UPDATE {REVISION_TABLE} SET version_num = :new"), {"new": REVISION})


def number_on(connection: Connection) -> None:
    """Let a PostgreSQL server number new rows of every table behind those that are there; SQLite does so by itself."""
    if connection.dialect.name != "postgresql":
        return
    for table in all_tables():
        if table.autoincrement_column is None:
            continue
        name = table.autoincrement_column.name
        connection.execute(
            text(
                f"SELECT setval(pg_get_serial_sequence('{table.name}', '{name}'), max({name})) FROM {table.name} "
                f"HAVING max({name}) IS NOT NULL AND pg_get_serial_sequence('{table.name}', '{name}') IS NOT NULL"
            )
        )
