"""Copies of a catalog file, taken while others may be writing, and put back whole."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable
from contextlib import closing
from datetime import datetime
from pathlib import Path

from flybench.catalog.store.new_file import SIDES, part_beside, put_new
from flybench.catalog.store.read_only import to_read
from flybench.catalog.tables.schema import REVISION_TABLE
from flybench.errors import FlybenchError
from flybench.files import SQLITE_MAGIC

PATIENCE_S = 60.0
"""How long a copy waits for others to let go of the catalog [s]."""


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

    Raises FlybenchError where the catalog is not there or cannot be read, or the target exists or cannot be
    written.
    """
    if not path.is_file():
        raise FlybenchError(f"{path}: there is no such file, so there is nothing to back up. Check the name.")
    try:
        _copy_new(path, target)
    except FileExistsError as error:
        raise exists_already(target) from error
    except (sqlite3.Error, OSError) as error:
        raise FlybenchError(
            f"{target}: the backup of {path} could not be written ({_reason(error)}). "
            "Name a file in a folder that has room and may be written to."
        ) from error


def exists_already(target: Path) -> FlybenchError:
    """Return the error of a backup to a file that exists."""
    return FlybenchError(f"{target}: exists already. Name another file; a backup never replaces one.")


def save_beside(path: Path, what: str) -> Path:
    """Back up a catalog file beside itself and return where; raises FlybenchError as ``save_backup`` does."""
    while True:
        target = backup_name(path, what)
        try:
            save_backup(path, target)
        except FlybenchError as error:
            if isinstance(error.__cause__, FileExistsError):  # another process took the name meanwhile
                continue
            raise
        return target


def _copy_new(path: Path, target: Path) -> None:
    if target.exists() or target.is_symlink():
        raise FileExistsError(target)
    with part_beside(target) as part:
        with closing(to_read(path)) as source, closing(sqlite3.connect(part)) as copy:
            source.backup(copy, progress=_patience(), sleep=0.05)
            copy.execute("PRAGMA journal_mode=DELETE")  # one file, without others beside it
        put_new(part, target)


def _opened(path: Path, mode: str) -> sqlite3.Connection:
    """Open a file that must be there already; the write-ahead log can be read with "rw" only, not with "ro"."""
    return sqlite3.connect(f"{path.resolve().as_uri()}?mode={mode}", uri=True, timeout=PATIENCE_S)


def _patience() -> Callable[[int, int, int], None]:
    """Return what ends a copy that does not get on because others hold the catalog."""
    end = time.monotonic() + PATIENCE_S

    def progress(status: int, remaining: int, total: int) -> None:
        if status != sqlite3.SQLITE_DONE and time.monotonic() > end:
            raise TimeoutError(f"kept busy by other programs for more than {PATIENCE_S:.0f} s")

    return progress


def _reason(error: Exception) -> str:
    return (isinstance(error, OSError) and error.strerror) or str(error)


def check_is_backup(source: Path) -> str:
    """Return the revision of a backup; raises FlybenchError for what is not a sound catalog."""
    try:
        with source.open("rb") as file:
            magic = file.read(len(SQLITE_MAGIC))
    except OSError as error:
        raise FlybenchError(f"{source}: cannot be read ({error.strerror}). Check the name.") from error
    if magic != SQLITE_MAGIC:
        raise _no_backup(source)
    try:
        with closing(_opened(source, "ro")) as file_:
            (sound,) = file_.execute("PRAGMA integrity_check(1)").fetchone()
            ours = file_.execute("SELECT 1 FROM sqlite_master WHERE name = ?", (REVISION_TABLE,)).fetchone()
            row = ours and file_.execute(f"SELECT version_num FROM {REVISION_TABLE}").fetchone()
    except (sqlite3.Error, UnicodeDecodeError) as error:
        reason = "garbled text" if isinstance(error, UnicodeDecodeError) else error
        raise FlybenchError(f"{source}: is damaged ({reason}). Name another backup.") from error
    if sound != "ok":
        raise FlybenchError(f"{source}: is damaged ({' '.join(sound.split())}). Name another backup.")
    if not row:
        raise _no_backup(source)
    return str(row[0])


def _no_backup(source: Path) -> FlybenchError:
    return FlybenchError(
        f"{source}: is not a backup of a catalog. Name a file that was made with flybench catalog backup."
    )


def is_readable(path: Path) -> bool:
    """Tell whether SQLite can read a file from end to end; what it cannot read, it cannot copy either."""
    if path.stat().st_size < len(SQLITE_MAGIC):
        return False
    try:
        with closing(to_read(path)) as file:
            return bool(file.execute("PRAGMA integrity_check(1)").fetchone()[0] == "ok")
    except (
        sqlite3.Error,
        UnicodeDecodeError,
    ):  # the latter where a message of SQLite quotes what the file holds
        return False


def set_aside(path: Path, what: str) -> Path:
    """Move a catalog file that cannot be read out of the way, with what SQLite keeps beside it; return where.

    Raises FlybenchError where the folder cannot be written.
    """
    target = backup_name(path, what)
    try:
        for ending in SIDES:  # first, so that they never meet the file that is put back
            beside = path.with_name(path.name + ending)
            if beside.exists():
                beside.rename(target.with_name(target.name + ending))
        path.rename(target)
    except OSError as error:
        raise FlybenchError(
            f"{path}: cannot be moved to {target} ({error.strerror}). Check the permissions of the folder."
        ) from error
    return target


def put_back(source: Path, path: Path) -> None:
    """Make the catalog at ``path`` what the backup holds, in one transaction; open programs go on with it.

    Raises FlybenchError where the catalog cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.exists():
            with closing(_opened(source, "ro")) as old, closing(_opened(path, "rw")) as now:
                old.backup(now, progress=_patience(), sleep=0.05)
        else:
            _copy_new(source, path)
    except (sqlite3.Error, OSError) as error:
        raise FlybenchError(
            f"{path}: the backup could not be put back ({_reason(error)}); the catalog is as it was. "
            "Close other programs that use the catalog, and check its folder."
        ) from error
