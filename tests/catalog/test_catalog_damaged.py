"""Backup and restore of damaged catalogs, and of what is none: nothing is lost, nothing passes as sound."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from shelves import add_batch, codes_in, save_batch

from flybench.catalog.store import backup as backups
from flybench.catalog.store.open import open_catalog
from flybench.catalog.tables.schema import REVISION, REVISION_TABLE
from flybench.errors import FlybenchError
from flybench.jobs.shelf.safekeeping import back_up, restore


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return a catalog with one batch."""
    made = tmp_path / "catalog.sqlite"
    save_batch(made, "first")
    return made


def _scratch(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[100:4096] = b"\xa5" * 3996
    path.write_bytes(content)


def _tear(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:8192])


def _blank(path: Path) -> None:
    path.write_bytes(b"")


def _text(path: Path) -> None:
    path.write_text("invented", encoding="utf-8")


@pytest.mark.parametrize("spoil", [_scratch, _tear, _blank, _text])
def test_a_damaged_catalog_is_kept_and_replaced(path: Path, spoil: Callable[[Path], None]) -> None:
    saved = back_up(str(path))
    spoil(path)
    damaged, told = path.read_bytes(), list[str]()
    kept = restore(str(path), saved, told.append).kept
    assert kept is not None
    assert told == [f"{path}: was damaged; the damaged file is kept as {kept}"]
    assert kept.read_bytes() == damaged
    assert codes_in(path) == {"first"}


def test_a_damaged_catalog_is_not_backed_up_as_if_it_were_sound(path: Path) -> None:
    _tear(path)
    with pytest.raises(FlybenchError) as refused:
        back_up(str(path))
    assert str(refused.value) == f"{path}: is damaged. Put a backup back with: flybench catalog restore FILE."
    assert not list(path.parent.glob("*backup*"))


def test_hidden_damage_is_not_backed_up_as_if_it_were_sound(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[-5 * 4096 :] = b"\xa5" * 5 * 4096  # opens well, but its last pages are gone
    path.write_bytes(content)
    with pytest.raises(FlybenchError) as refused:
        back_up(str(path))
    assert str(refused.value) == (
        f"{path}: is damaged, and its backup would be damaged too. Put an earlier backup back with: "
        "flybench catalog restore FILE."
    )
    assert not list(path.parent.glob("*backup*"))


def _no_backup(source: Path) -> None:
    source.unlink()
    with closing(sqlite3.connect(source)) as file:
        file.execute("CREATE TABLE other (id)")


def _newer(source: Path) -> None:
    with closing(sqlite3.connect(source)) as file:
        file.execute(f"UPDATE {REVISION_TABLE} SET version_num = '9999'")
        file.commit()


IS_NONE = "is not a backup of a catalog. Name a file that was made with flybench catalog backup."
NEWER = (
    f"was written by a newer flybench (version 9999 of the tables; this program knows them up to {REVISION}). "
    "Update flybench; the catalog was not touched."
)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("spoil", "message"),
    [
        (_text, IS_NONE),
        (_blank, IS_NONE),
        (_no_backup, IS_NONE),
        (_newer, NEWER),
        (_tear, "is damaged (database disk image is malformed). Name another backup."),
        (Path.unlink, "cannot be read (No such file or directory). Check the name."),
    ],
)
def test_what_is_no_backup_is_refused(path: Path, spoil: Callable[[Path], None], message: str) -> None:
    source = back_up(str(path))
    spoil(source)
    with pytest.raises(FlybenchError) as refused:
        restore(str(path), source)
    assert str(refused.value) == f"{source}: {message}"
    assert codes_in(path) == {"first"}
    assert not list(path.parent.glob("*before-restore*"))


def test_the_catalog_is_no_backup_of_itself(path: Path) -> None:
    with pytest.raises(FlybenchError) as refused:
        restore(str(path), path)
    assert str(refused.value) == f"{path}: is the catalog itself. Name a backup of it."


def test_another_programs_database_is_not_replaced(path: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(other)) as file:
        file.execute("CREATE TABLE other (id)")
    before = other.read_bytes()
    with pytest.raises(FlybenchError) as refused:
        restore(str(other), back_up(str(path)))
    assert str(refused.value) == f"{other}: is a file of another program. Name another file with --catalog."
    assert other.read_bytes() == before


@pytest.mark.slow
def test_a_catalog_in_use_is_not_replaced_for_ever(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    saved = back_up(str(path))
    monkeypatch.setattr(backups, "PATIENCE_S", 0.3)
    with open_catalog(str(path)).writing() as session:
        add_batch(session, "second")
        with pytest.raises(FlybenchError) as refused:
            restore(str(path), saved)
    assert str(refused.value) == (
        f"{path}: the backup could not be put back (kept busy by other programs for more than 0 s); the catalog is "
        "as it was. Close other programs that use the catalog, and check its folder."
    )
    assert codes_in(path) == {"first", "second"}
