"""Connections: SQLite with everything on that keeps data safe, or PostgreSQL."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError
from sqlalchemy.pool import NullPool

from flybench.errors import BadValueError

PATIENCE_S = 120
"""How long a writer waits for others to finish before it gives up [s]."""
_DRIVER = "postgresql+psycopg"


def url_of(text: str) -> URL:
    """Return the address of a catalog: a file name, or a URL of SQLite or PostgreSQL.

    Raises BadValueError for any other database and for an address that cannot be read.
    """
    if not text.strip():
        raise BadValueError("catalog", "is empty", "Give a file name or postgresql://user@host/name")
    if "://" not in text:
        return URL.create("sqlite", database=str(Path(text).expanduser()))
    try:
        url = make_url(text)
    except (ArgumentError, ValueError) as error:
        raise BadValueError(
            "catalog", f'"{text}" cannot be read', "Write it as postgresql://user@host/name"
        ) from error
    backend = url.drivername.split("+")[0]
    if backend in ("postgresql", "postgres"):
        return url.set(drivername=_DRIVER)
    if backend == "sqlite" and url.database:
        return URL.create("sqlite", database=url.database)
    raise BadValueError(
        "catalog",
        f'"{url.drivername}" is not a database that is supported',
        "Give a file name, or an address that begins with postgresql://",
    )


def shown(url: URL) -> str:
    """Return the address as the user may see it: a plain file name, or the URL without its password."""
    return str(url.database) if url.drivername == "sqlite" else url.render_as_string(hide_password=True)


def engine_for(url: URL) -> Engine:
    """Return an engine; a transaction begun with the option ``writes`` locks out other writers at once."""
    if url.drivername != "sqlite":
        return create_engine(url, poolclass=NullPool, connect_args={"connect_timeout": 10})
    engine = create_engine(url, poolclass=NullPool, connect_args={"timeout": PATIENCE_S})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


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
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
