"""The catalog as a whole: made, opened, brought up to date, read and written."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import URL, Engine, inspect, text
from sqlalchemy.exc import DatabaseError, OperationalError
from sqlalchemy.orm import Session

from flybench.catalog.engine import engine_for, shown, url_of
from flybench.catalog.faults import told
from flybench.catalog.schema import REVISION, tables
from flybench.errors import FlybenchError

Tell = Callable[[str], None]


@dataclass(frozen=True)
class Catalog:
    """An open catalog of the newest revision."""

    url: URL
    engine: Engine

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
        with told(self.name), Session(self.engine) as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Give a session whose changes are kept all together, or not at all where anything is raised."""
        engine = self.engine.execution_options(writes=True)
        with told(self.name), Session(engine) as session, session.begin():
            yield session


def open_catalog(address: str, tell: Tell | None = None) -> Catalog:
    """Open a catalog, make it if it is not there, and bring an older one up to date after a backup.

    ``tell`` hears of what was made, saved and changed. Raises FlybenchError for a file that is no catalog,
    one made by a newer flybench, a folder that cannot be written, or a server that does not answer.
    """
    url = url_of(address)
    with told(shown(url)):
        catalog = Catalog(url, engine_for(url))
        if catalog.path is not None and not catalog.path.exists():
            _make_file(catalog.path)
        _make_up(catalog, tell or (lambda line: None))
    return catalog


def _make_file(path: Path) -> None:
    """Make an empty catalog file: complete beside its place first, then put there in one step."""
    if path.is_symlink():
        raise FlybenchError(f"{path}: is a link to a file that is not there. Mend or remove the link.")
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    engine = engine_for(URL.create("sqlite", database=str(part)))
    try:
        with engine.connect() as connection:
            connection.connection.driver_connection.execute("PRAGMA journal_mode=WAL")  # type: ignore[union-attr]
        _create(engine)
        with engine.connect() as connection:
            connection.connection.driver_connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")  # type: ignore[union-attr]
        with suppress(FileExistsError):  # another process was quicker
            os.link(part, path)
    finally:
        engine.dispose()
        for ending in ("", "-wal", "-shm"):
            part.with_name(part.name + ending).unlink(missing_ok=True)


def _create(engine: Engine) -> None:
    """Make all tables and write down their revision, in one transaction."""
    with engine.execution_options(writes=True).begin() as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(7300117)"))
            if inspect(connection).has_table("alembic_version"):
                return
        tables().create_all(connection)
        connection.execute(
            text("CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL PRIMARY KEY)")
        )
        connection.execute(text("INSERT INTO alembic_version VALUES (:now)"), {"now": REVISION})


def revision_of(engine: Engine) -> str | None:
    """Return the revision of the tables, or None where there are none."""
    with engine.connect() as connection:
        if not inspect(connection).has_table("alembic_version"):
            return None
        found: str | None = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
        return found


def _make_up(catalog: Catalog, tell: Tell) -> None:
    """See that the tables are those of this program."""
    try:
        revision = revision_of(catalog.engine)
    except OperationalError:
        raise
    except DatabaseError as error:
        raise _no_catalog(catalog.name) from error
    if revision == REVISION:
        return
    if revision is None:
        if catalog.path is not None or _has_tables(catalog.engine):
            raise _no_catalog(catalog.name)
        _create(catalog.engine)
        return
    from flybench.catalog.upgrade import upgrade  # alembic is slow to load and seldom needed

    upgrade(catalog.engine, catalog.path, catalog.name, tell)


def _has_tables(engine: Engine) -> bool:
    with engine.connect() as connection:
        return bool(inspect(connection).get_table_names())


def _no_catalog(name: str) -> FlybenchError:
    return FlybenchError(
        f"{name}: is no catalog of flybench. Name another file with --catalog, or restore a backup."
    )
