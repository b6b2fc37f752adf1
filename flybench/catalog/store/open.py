"""The catalog as a whole: made, opened, brought up to date, read and written."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, inspect
from sqlalchemy.orm import Session

from flybench.catalog.changes.recording import Recorder
from flybench.catalog.store.database_errors import in_plain_words
from flybench.catalog.store.engine import engine_for, for_reading, for_writing, shown, url_of
from flybench.catalog.store.new_file import part_beside, put_new
from flybench.catalog.store.read_only import WHY, engine_to_read
from flybench.catalog.store.usual_place import VARIABLE
from flybench.catalog.tables.schema import COPYING, REVISION, REVISION_TABLE, make_tables, revision_of
from flybench.errors import FlybenchError

Tell = Callable[[str], None]


@dataclass(frozen=True)
class Catalog:
    """An open catalog of the newest revision."""

    url: URL
    engine: Engine
    command: str = "library"
    """What the user runs, as it is written down beside the changes that it makes."""

    @property
    def name(self) -> str:
        """Return the address as the user may see it."""
        return shown(self.url)

    @property
    def path(self) -> Path | None:
        """Return the file, or None for a server."""
        return Path(str(self.url.database)) if self.url.drivername == "sqlite" else None

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """Give a session that sees one moment of the catalog; nothing is written."""
        with in_plain_words(self.name), Session(for_reading(self.engine)) as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Give a session whose changes are kept all together, or not at all where anything is raised."""
        with in_plain_words(self.name), Session(for_writing(self.engine)) as session, session.begin():
            session.connection()  # takes the lock now, not at the first statement
            recorder = Recorder(session, self.command)
            yield session
            recorder.finish()


def open_catalog(
    address: str, tell: Tell | None = None, *, make: bool = True, command: str = Catalog.command
) -> Catalog:
    """Open a catalog, make it if it is not there and ``make`` allows, and bring an older one up to date after a backup.

    ``tell`` hears of what was saved and changed; ``command`` is kept with every change. Raises FlybenchError for a
    file that is no catalog, one made by a newer flybench, a folder that cannot be written, or a server that does not answer.
    """
    url, tell = url_of(address), tell or (lambda line: None)
    catalog = Catalog(url, engine_for(url), command)
    with in_plain_words(catalog.name):
        if catalog.path is not None:
            _see_to_file(catalog.path, make, tell)
            reading = None if make else _only_read(catalog.path, tell)
            if reading is not None:
                catalog = replace(catalog, engine=reading)
        _make_up(catalog, tell, make)
        if catalog.path is not None:
            _let_read_while_written(catalog.engine)
    return catalog


def _only_read(path: Path, tell: Tell) -> Engine | None:
    """Return what reads a catalog that cannot be opened as usual, and say so; None where it can."""
    try:
        engine = engine_to_read(path)
    except OSError as error:
        raise FlybenchError(
            f"{path}: {WHY}, and there is no room for a copy to read ({error.strerror}). Free some space and try again."
        ) from error
    if engine is not None:
        tell(f"{path}: {WHY}")
    return engine


def may_be_there(address: str) -> bool:
    """Tell whether a catalog may be at an address: a file that is there, or a server, which is not asked."""
    url = url_of(address)
    return url.drivername != "sqlite" or Path(str(url.database)).exists()


def _see_to_file(path: Path, make: bool, tell: Tell) -> None:
    """Make the catalog file where there is none; refuse what cannot be one."""
    try:
        if path.is_dir():
            raise FlybenchError(f"{path}: is a folder. Name a file in it with --catalog.")
        if path.exists():
            return
        if path.is_symlink():
            raise FlybenchError(
                f"{path}: is a link to a file that is not there. Correct the link or remove it."
            )
        if path.parent.exists() and not path.parent.is_dir():
            raise FlybenchError(
                f"{path}: {path.parent} is a file, not a folder. Name another file with --catalog."
            )
        if not make:
            raise no_catalog_yet(path)
        path.parent.mkdir(parents=True, exist_ok=True)
        _make_file(path)
        tell(f"{path}: there was no catalog here; this is a new one")
    except OSError as error:
        raise FlybenchError(
            f"{path}: the catalog cannot be made or opened there ({error.strerror}). "
            "Check the folder and its permissions, or name another file with --catalog."
        ) from error


def no_catalog_yet(path: Path | str) -> FlybenchError:
    """Return the error of a command that reads where there is no catalog."""
    return FlybenchError(
        f"{path}: there is no catalog here yet. Check the name given with --catalog or in {VARIABLE}, or start a "
        "catalog with flybench pattern import or flybench material add."
    )


def _make_file(path: Path) -> None:
    """Make an empty catalog file: complete beside its place first, then put there in one step."""
    with part_beside(path) as part:
        engine = engine_for(URL.create("sqlite", database=str(part)))
        _let_read_while_written(engine)
        _create(engine, str(path))
        with suppress(FileExistsError):  # another process was quicker
            put_new(part, path)


def _let_read_while_written(engine: Engine) -> None:
    """Turn on the write-ahead log, so that readers and a writer do not wait for each other; stays in the file.

    Where it cannot be turned on, on a file that may only be read, say, the catalog works without.
    """
    with engine.connect() as connection, suppress(sqlite3.OperationalError):
        bare: Any = connection.connection.driver_connection  # the pragma does nothing in a transaction
        bare.execute("PRAGMA journal_mode=WAL")


def _create(engine: Engine, name: str) -> None:
    """Make the tables in an empty database, in one transaction; another process may have been quicker."""
    with for_writing(engine).begin() as connection:
        there = inspect(connection).get_table_names()
        if REVISION_TABLE in there:
            return
        if there:
            raise _no_catalog(name, connection)
        make_tables(connection)


def _make_up(catalog: Catalog, tell: Tell, make: bool) -> None:
    """See that the tables are those of this program."""
    with catalog.engine.connect() as connection:
        revision = revision_of(connection)
        if revision is not None and revision.startswith(COPYING):
            raise FlybenchError(
                f"{catalog.name}: is a copy that is not finished. Go on with it by the same command that began it, "
                f"flybench catalog copy FROM {catalog.name}, or name another catalog."
            )
        if revision is None and catalog.path is not None:
            raise _no_catalog(catalog.name, connection)
    if revision is None and not make:
        raise no_catalog_yet(catalog.name)
    if revision is None:
        _create(catalog.engine, catalog.name)
    elif revision != REVISION:
        from flybench.catalog.store.upgrade import upgrade  # alembic is slow to load and seldom needed

        upgrade(catalog.engine, catalog.path, catalog.name, tell)


def _no_catalog(name: str, connection: Connection) -> FlybenchError:
    if connection.dialect.name != "sqlite":
        return FlybenchError(
            f"{name}: the database has tables of another program in it. Give flybench an empty database of its own."
        )
    return FlybenchError(
        f"{name}: is not a flybench catalog. Name another file with --catalog, "
        "or put a backup back with: flybench catalog restore FILE."
    )
