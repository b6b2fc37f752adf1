"""Addresses of catalogs and connections to them: SQLite set to keep data safe, or PostgreSQL."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError
from sqlalchemy.pool import NullPool

from flybench.errors import BadValueError, FlybenchError

PATIENCE_S = 120
"""How long a writer waits for others to finish before it gives up [s]."""
_SCHEME = re.compile(r"[A-Za-z][A-Za-z0-9+.-]+:")
"""The beginning of an address; one letter and a colon are a drive."""
_SERVER = re.compile(r"postgres", re.IGNORECASE)
_DRIVE = re.compile(r"[A-Za-z]:[/\\]")
_SECRET = re.compile(r"([?&;][A-Za-z]*pass[A-Za-z]*=)[^&;#]*", re.IGNORECASE)
"""A password, or the name of a file with one, in the query of an address."""
_DRIVER = "postgresql+psycopg"
_WRITERS_LOCK = 7300117
"""Number of the advisory lock that writers on a server take in turn, as they do on SQLite."""


def url_of(text: str) -> URL:
    """Return the address of a catalog: a file name, or a URL of SQLite or PostgreSQL.

    Raises BadValueError for any other database and for an address that cannot be read.
    """
    if not text.strip():
        raise BadValueError(
            "--catalog",
            "is empty",
            "Give the name of a file, or an address such as postgresql://user@host/name",
        )
    if "://" not in text:
        _refuse_half_an_address(text)
        return _file(text)
    try:
        url = make_url(text)
    except (ArgumentError, ValueError) as error:
        raise BadValueError(
            "--catalog", f'"{_hidden(text)}" cannot be read', "Write it as postgresql://user@host/name"
        ) from error
    backend = url.drivername.split("+")[0]
    if backend in ("postgresql", "postgres"):
        return url.set(drivername=_DRIVER)
    if backend == "sqlite" and url.database:
        _refuse_relative(text, url.database)
        return _file(url.database)
    raise BadValueError(
        "--catalog",
        f'flybench does not work with the database "{url.drivername}"',
        "Give the name of a file, or an address that begins with postgresql://",
    )


def _refuse_half_an_address(text: str) -> None:
    """Refuse what begins as an address does and is none, so that no file is made of it."""
    if _SCHEME.match(text) or (_SERVER.match(text) and "@" in text):
        raise BadValueError(
            "--catalog",
            f'"{_hidden(text)}" begins like an address, and is none that flybench knows',
            "Write a server as postgresql://user@host/name, with two slashes, and a file by its name alone; "
            "before the name of a file with a colon in it write ./",
        )


def _refuse_relative(text: str, path: str) -> None:
    """Refuse an address of SQLite that may mean a file here as well as one from the top of the disk."""
    if not path.startswith(("/", "~")) and not _DRIVE.match(path) and path != ":memory:":
        raise BadValueError(
            "--catalog",
            f'"{text}" may mean {path} in this folder, or /{path}',
            "Write the name of the file alone, without sqlite:",
        )


def _hidden(text: str) -> str:
    """Return an address without any password that may be in it, even where it cannot be read."""
    named = re.sub(r"(/[^:/@]*):.*@", r"\1:***@", text)
    text = named if named != text else re.sub(r":.*@", ":***@", text)
    return _SECRET.sub(r"\1***", text)


def _file(text: str) -> URL:
    if text.strip() == ":memory:":
        raise BadValueError(
            "--catalog", '":memory:" would be gone when the command ends', "Give the name of a file"
        )
    try:
        return URL.create("sqlite", database=str(Path(text).expanduser()))
    except RuntimeError as error:  # "~name" of a user whom this machine does not know
        raise BadValueError(
            "--catalog", f'"{text}" names a user whom this computer does not know', "Write the folder out"
        ) from error


def shown(url: URL) -> str:
    """Return the address as the user may see it: a plain file name, or the URL without its password."""
    if url.drivername == "sqlite":
        return str(url.database)
    return _SECRET.sub(r"\1***", url.set(drivername="postgresql").render_as_string(hide_password=True))


def engine_for(url: URL) -> Engine:
    """Return an engine; see ``for_reading``, ``for_writing`` and ``for_migrating`` for its transactions.

    Raises FlybenchError where the driver of the server is not installed.
    """
    if url.drivername == "sqlite":
        return prepared(create_engine(url, poolclass=NullPool, connect_args={"timeout": PATIENCE_S}))
    try:
        engine = create_engine(url, poolclass=NullPool, connect_args={"connect_timeout": 10})
    except ModuleNotFoundError as error:
        raise FlybenchError(
            f"{shown(url)}: the driver of the server ({error.name}) is not installed. "
            'Install it with: pip install "flybench[postgres]"'
        ) from error
    event.listen(engine, "begin", _take_turn)
    return engine


def prepared(engine: Engine) -> Engine:
    """Return an engine of SQLite, set to keep data safe."""
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def for_reading(engine: Engine) -> Engine:
    """Return an engine whose transactions see one moment of the catalog."""
    if engine.dialect.name == "sqlite":
        return engine
    return engine.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)


def for_writing(engine: Engine) -> Engine:
    """Return an engine whose transactions lock out other writers from their beginning on."""
    if engine.dialect.name == "sqlite":
        return engine.execution_options(writes=True)
    return engine.execution_options(writes=True, isolation_level="READ COMMITTED")


def for_migrating(engine: Engine) -> Engine:
    """Return an engine as for writing, whose tables may be replaced: SQLite would empty what refers to them."""
    return for_writing(engine).execution_options(migrates=True)


def _prepare(connection: Any, record: Any) -> None:
    """Leave transactions to us, wait for locks, check foreign keys, and survive a crash at any moment."""
    connection.isolation_level = None
    for pragma in (f"busy_timeout={PATIENCE_S * 1000}", "foreign_keys=ON", "synchronous=FULL"):
        connection.execute(f"PRAGMA {pragma}")
    connection.create_function("folded", 1, _folded, deterministic=True)


def _folded(text: str | None) -> str | None:
    """Return text without its case in any script; SQLite's own LOWER knows ASCII alone."""
    return None if text is None else str(text).casefold()


def _begin(connection: Connection) -> None:
    """Begin; a writer takes the lock now, so that it can never fail halfway for want of it."""
    options = connection.get_execution_options()
    if options.get("migrates", False):  # has no effect once the transaction has begun
        connection.exec_driver_sql("PRAGMA foreign_keys=OFF")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if options.get("writes", False) else "BEGIN")


def _take_turn(connection: Connection) -> None:
    """Wait until other writers are done: what is checked before a change must still hold when it is made."""
    if connection.get_execution_options().get("writes", False):
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{PATIENCE_S}s'")
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_WRITERS_LOCK})")
