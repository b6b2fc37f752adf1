"""Keeping the catalog safe: where it is, whether it is sound, backups, and putting one back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import URL, inspect

from flybench.catalog.shelf.check import Finding, check
from flybench.catalog.store.backup import (
    check_is_backup,
    exists_already,
    is_readable,
    put_back,
    save_backup,
    save_beside,
    set_aside,
)
from flybench.catalog.store.database_errors import in_plain_words
from flybench.catalog.store.engine import engine_for, shown, url_of
from flybench.catalog.store.open import no_catalog_yet, open_catalog
from flybench.catalog.store.read_only import engine_to_read
from flybench.catalog.tables.schema import REVISION, revision_of, tables
from flybench.errors import FlybenchError
from flybench.files import check_writable

Tell = Callable[[str], None]


@dataclass(frozen=True)
class Place:
    """Where a catalog is: ``kind`` file or server, its revision (None where there is none yet), its size."""

    name: str
    kind: str
    revision: str | None
    size_bytes: int | None


@dataclass(frozen=True)
class Restored:
    """A catalog that was put back, and where the one before it is kept (None where there was none)."""

    name: str
    source: Path
    kept: Path | None


def where_is(address: str) -> Place:
    """Tell where a catalog is, without making or changing it.

    Raises FlybenchError for what is no catalog, or a server that does not answer.
    """
    url = url_of(address)
    path, name = _path(url), shown(url)
    if path is None:
        return Place(name, "server", _revision(url), None)
    _refuse_folder(path)
    if not path.exists():
        return Place(str(path.absolute()), "file", None, None)
    revision = _revision(url)
    if revision is None:
        raise FlybenchError(
            f"{path}: is not a flybench catalog. Name another file with --catalog, "
            "or put a backup back with: flybench catalog restore FILE."
        )
    return Place(str(path.absolute()), "file", revision, path.stat().st_size)


def check_catalog(address: str, tell: Tell | None = None) -> list[Finding]:
    """Return all that is wrong with a catalog; raises FlybenchError where there is none or it cannot be opened."""
    path = _path(url_of(address))
    if path is not None:
        _refuse_missing(path)
    return check(open_catalog(address, tell, make=False))


def back_up(address: str, target: Path | None = None) -> Path:
    """Copy one moment of the catalog to ``target``, or beside itself, and return where.

    Raises FlybenchError for a server, where there is no catalog, where it is damaged, or where the target
    exists or cannot be written.
    """
    path = _file(address, "pg_dump")
    _refuse_missing(path)
    if target is not None:
        _refuse_existing(target)
    where_is(address)
    if not is_readable(path):
        raise FlybenchError(
            f"{path}: is damaged, and its backup would be damaged too. Put an earlier backup back with: "
            "flybench catalog restore FILE."
        )
    if target is None:
        return save_beside(path, "backup")
    save_backup(path, target)
    return target


def _refuse_existing(target: Path) -> None:
    """Refuse, before any work is done, a file that exists or cannot be written."""
    check_writable(target)
    if target.exists() or target.is_symlink():
        raise exists_already(target)


def restore(address: str, source: Path, tell: Tell | None = None) -> Restored:
    """Make the catalog what a backup holds; the present one is kept beside it first, even where it is damaged.

    ``tell`` hears where it is kept, before anything is changed. Raises FlybenchError for a server, a file that
    is no sound backup or a newer flybench's, or a catalog that cannot be written.
    """
    path = Path(where_to_restore(address, source))
    kept = _keep_present(path, url_of(address), tell or (lambda line: None)) if path.exists() else None
    put_back(source, path)
    open_catalog(address, tell)
    return Restored(str(path), source, kept)


def where_to_restore(address: str, source: Path) -> str:
    """Return which file would be replaced, all that can be refused beforehand refused; raises as ``restore``."""
    path = _file(address, "pg_restore")
    _refuse_newer(source, check_is_backup(source))
    _refuse_folder(path)
    if path.exists() and path.samefile(source):
        raise FlybenchError(f"{source}: is the catalog itself. Name a backup of it.")
    return str(path)


def _keep_present(path: Path, url: URL, tell: Tell) -> Path:
    """Save what is there now; what SQLite cannot read is moved aside as it is."""
    if not is_readable(path) or _is_damaged(url):
        kept = set_aside(path, "damaged")
        tell(f"{path}: was damaged; the damaged file is kept as {kept}")
        return kept
    if _revision(url) is None:
        raise FlybenchError(f"{path}: is a file of another program. Name another file with --catalog.")
    kept = save_beside(path, "before-restore")
    tell(f"{path}: the catalog before is kept as {kept}")
    return kept


def _refuse_newer(source: Path, revision: str) -> None:
    from flybench.catalog.store.upgrade import known_revisions, too_new  # alembic is slow to load

    if revision != REVISION and revision not in known_revisions():
        raise too_new(str(source), revision, REVISION)


def _is_damaged(url: URL) -> bool:
    """Tell whether a file that SQLite can read is a catalog whose revision cannot be told any more."""
    try:
        with in_plain_words(shown(url)), engine_for(url).connect() as connection:
            there = set(inspect(connection).get_table_names())
            return revision_of(connection) is None and len(there & set(tables().tables)) > len(there) / 2
    except FlybenchError:
        return True


def _revision(url: URL) -> str | None:
    path = _path(url)
    reading = None if path is None else engine_to_read(path)
    with in_plain_words(shown(url)), (reading or engine_for(url)).connect() as connection:
        return revision_of(connection)


def _path(url: URL) -> Path | None:
    return Path(str(url.database)) if url.drivername == "sqlite" else None


def _file(address: str, tool: str) -> Path:
    path = _path(url_of(address))
    if path is None:
        raise FlybenchError(
            f"{shown(url_of(address))}: is on a server, and flybench backs up and restores files only. "
            f"Use the server's own tools, such as {tool}."
        )
    return path


def _refuse_folder(path: Path) -> None:
    if path.is_dir():
        raise FlybenchError(f"{path}: is a folder. Name a file in it with --catalog.")
    if path.is_symlink() and not path.exists():
        raise FlybenchError(f"{path}: is a link to a file that is not there. Correct the link or remove it.")


def _refuse_missing(path: Path) -> None:
    _refuse_folder(path)
    if not path.exists():
        raise no_catalog_yet(path)
