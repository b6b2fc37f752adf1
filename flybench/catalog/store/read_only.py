"""Reading a catalog file where it cannot be opened as usual: on a disk that is full, or that may not be written to.

SQLite wants to write beside a file even to read it (its page on write-ahead logging, "Read-Only Databases"). Where it
cannot, the file is read as one that nobody changes; where changes are still in the log beside it, a copy of both is read.
"""

from __future__ import annotations

import atexit
import re
import shutil
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from sqlalchemy import Engine, create_engine
from sqlalchemy.pool import NullPool

from flybench.catalog.store.engine import PATIENCE_S, prepared

_REFUSED = re.compile("unable to open|readonly|read-only|disk is full|disk I/O", re.IGNORECASE)
"""What SQLite says where it cannot write beside a file."""
WHY = "the disk is full or cannot be written to, so the catalog is only read"


def place_to_read(path: Path) -> Path | None:
    """Return the file that can be read where the catalog cannot be opened as usual, itself or a copy; None where it can.

    Raises OSError where a copy is needed and there is no room for one.
    """
    try:
        with closing(
            sqlite3.connect(f"{path.resolve().as_uri()}?mode=rw", uri=True, timeout=PATIENCE_S)
        ) as file:
            file.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except UnicodeDecodeError:  # damage, which is told elsewhere
        return None
    except sqlite3.Error as error:
        if _REFUSED.search(str(error)) is None or not path.is_file():
            return None
        log = _beside(path, "-wal")
        return _copied(path, log) if log.exists() and log.stat().st_size else path
    return None


def to_read(path: Path) -> sqlite3.Connection:
    """Open a file to read it alone: as usual, or as ``place_to_read`` says."""
    place = place_to_read(path)
    mode = "mode=rw" if place is None else "immutable=1"
    return sqlite3.connect(f"{(place or path).resolve().as_uri()}?{mode}", uri=True, timeout=PATIENCE_S)


def engine_to_read(path: Path) -> Engine | None:
    """Return an engine that reads a catalog which cannot be opened as usual, and refuses to write; None where it can."""
    place = place_to_read(path)
    if place is None:
        return None
    address = f"{place.resolve().as_uri()}?immutable=1"
    engine = create_engine(
        "sqlite://", creator=lambda: sqlite3.connect(address, uri=True), poolclass=NullPool
    )
    return prepared(engine)


def _copied(path: Path, log: Path) -> Path:
    """Return a copy in which the changes of the log are; it goes when the program ends."""
    folder = Path(tempfile.mkdtemp(prefix="flybench-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    copy = folder / path.name
    shutil.copyfile(path, copy)
    shutil.copyfile(log, _beside(copy, "-wal"))
    with closing(sqlite3.connect(copy)) as file:
        file.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        file.execute("PRAGMA journal_mode=DELETE")
    return copy


def _beside(path: Path, ending: str) -> Path:
    return path.with_name(path.name + ending)
