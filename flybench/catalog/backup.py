"""Copies of a catalog file, taken while others may be writing, and put back whole."""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from datetime import datetime
from pathlib import Path

from flybench.errors import FlybenchError

_MAGIC = b"SQLite format 3\x00"


def backup_name(path: Path, what: str = "backup") -> Path:
    """Return a name beside the catalog that is not taken, with date and time in it."""
    stamp = datetime.now().strftime("%Y-%m-%d-%H%M%S")
    number, name = 1, path.with_name(f"{path.stem}-{what}-{stamp}.sqlite")
    while name.exists():
        number += 1
        name = path.with_name(f"{path.stem}-{what}-{stamp}-{number}.sqlite")
    return name


def save_backup(path: Path, target: Path) -> None:
    """Copy one moment of a catalog file to ``target``, complete or not at all.

    Raises FlybenchError where the target exists or cannot be written.
    """
    if target.exists():
        raise FlybenchError(f"{target}: is there already. Name another file; a backup never writes over one.")
    part = target.with_name(f".{target.name}.part")
    try:
        with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(part)) as copy:
            source.backup(copy)
            copy.execute("PRAGMA journal_mode=DELETE")
        part.replace(target)
    except (sqlite3.Error, OSError) as error:
        raise FlybenchError(
            f"{target}: the backup could not be written ({error}). Name a file in a folder with room."
        ) from error
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def check_is_backup(source: Path) -> None:
    """Refuse what is not a sound SQLite file."""
    try:
        with source.open("rb") as file:
            magic = file.read(len(_MAGIC))
    except OSError as error:
        raise FlybenchError(f"{source}: cannot be read ({error.strerror}). Check the name.") from error
    if magic != _MAGIC:
        raise FlybenchError(f"{source}: is no backup of a catalog. Name a file that catalog backup made.")
    try:
        with closing(sqlite3.connect(f"{source.resolve().as_uri()}?mode=ro", uri=True)) as file_:
            (sound,) = file_.execute("PRAGMA integrity_check(1)").fetchone()
    except sqlite3.Error as error:
        raise FlybenchError(f"{source}: is damaged ({error}). Name another backup.") from error
    if sound != "ok":
        raise FlybenchError(f"{source}: is damaged ({sound}). Name another backup.")


def put_back(source: Path, path: Path) -> None:
    """Make the catalog at ``path`` what the backup holds, in one transaction; open programs go on with it.

    Raises FlybenchError where the catalog cannot be written.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(path, timeout=60)) as now:
            old.backup(now)
            now.execute("PRAGMA journal_mode=WAL")
    except sqlite3.Error as error:
        raise FlybenchError(
            f"{path}: the backup could not be put back ({error}). Close what uses the catalog."
        ) from error
