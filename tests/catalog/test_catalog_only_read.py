"""On a disk that is full or may not be written to a catalog is read all the same, and says so; nothing is written."""

from __future__ import annotations

import sqlite3
import subprocess
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from shop import shop

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store import read_only
from flybench.catalog.store.open import open_catalog
from flybench.errors import FlybenchError
from flybench.jobs.shelf.rows import add_row, change_row, list_rows
from flybench.jobs.shelf.safekeeping import back_up, check_catalog, where_is

PATTERN = {"code": "NEW", "name": "New", "style": "slick"}


def codes(path: Path, noun: str = "pattern") -> list[str]:
    return [row["code"] for row in list_rows(open_catalog(str(path), make=False), NOUNS[noun], []).rows]


@pytest.fixture
def refused(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Return what makes SQLite refuse to open files as usual, with a message of its own."""
    connect = sqlite3.connect

    def refuse(message: str) -> None:
        def failing(name: Any, *rest: Any, **more: Any) -> sqlite3.Connection:
            if "mode=rw" in str(name):
                raise sqlite3.OperationalError(message)
            return connect(name, *rest, **more)

        monkeypatch.setattr(read_only.sqlite3, "connect", failing)

    return refuse


@pytest.mark.parametrize(
    "message", ["unable to open database file", "attempt to write a readonly database", "disk I/O error"]
)
def test_a_catalog_is_read_where_nothing_can_be_written(
    tmp_path: Path, refused: Callable[[str], None], message: str
) -> None:
    path, told = tmp_path / "shop.sqlite", list[str]()
    shop(path)
    refused(message)
    catalog = open_catalog(str(path), told.append, make=False)
    assert told == [f"{path}: the disk is full or cannot be written to, so the catalog is only read"]
    assert [row["code"] for row in list_rows(catalog, NOUNS["fly"], []).rows] == ["A1", "M1", "M2", "M3"]
    assert check_catalog(str(path)) == []
    assert where_is(str(path)).kind == "file"
    with pytest.raises(FlybenchError) as error:
        change_row(catalog, NOUNS["fly"], "M1", {"notes": "x"})
    assert str(error.value) == (
        f"{path}: cannot be written to; nothing was changed. "
        "Give write permission to the file and its folder, or name another with --catalog."
    )


def test_changes_in_the_log_beside_it_are_read_too(tmp_path: Path, refused: Callable[[str], None]) -> None:
    path = tmp_path / "shop.sqlite"
    catalog = shop(path)
    with closing(sqlite3.connect(path)) as holder:  # keeps the log from being folded into the file
        holder.execute("SELECT count(*) FROM fly").fetchone()
        holder.execute("BEGIN")
        holder.execute("SELECT count(*) FROM fly").fetchone()
        add_row(catalog, NOUNS["pattern"], PATTERN)
        assert (tmp_path / "shop.sqlite-wal").stat().st_size > 0
        before = path.read_bytes()
        refused("unable to open database file")
        assert "NEW" in codes(path)
        saved = back_up(str(path), tmp_path / "saved.sqlite")
        assert path.read_bytes() == before
    with closing(sqlite3.connect(saved)) as file:
        assert file.execute("SELECT count(*) FROM pattern WHERE code = 'NEW'").fetchone() == (1,)


def test_a_copy_without_room_is_told(
    tmp_path: Path, refused: Callable[[str], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "shop.sqlite"
    shop(path)
    (tmp_path / "shop.sqlite-wal").write_bytes(b"something")

    def full(*names: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(read_only.shutil, "copyfile", full)
    refused("database or disk is full")
    with pytest.raises(FlybenchError) as error:
        open_catalog(str(path), make=False)
    assert str(error.value) == (
        f"{path}: the disk is full or cannot be written to, so the catalog is only read, and there is no room for a "
        "copy to read (No space left on device). Free some space and try again."
    )


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """Return a small disk of its own; skips where this user may not mount one."""
    place = tmp_path / "disk"
    place.mkdir()
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(place)], capture_output=True, check=False
    )
    if done.returncode:
        pytest.skip("no disk can be mounted here")
    try:
        yield place
    finally:
        subprocess.run(["umount", str(place)], check=True)


@pytest.mark.slow
def test_a_real_full_disk_and_one_that_is_only_read(disk: Path, tmp_path: Path) -> None:
    shop(tmp_path / "shop.sqlite")
    path = disk / "shop.sqlite"
    path.write_bytes((tmp_path / "shop.sqlite").read_bytes())
    with pytest.raises(OSError, match="No space left"), (disk / "fill").open("wb", buffering=0) as fill:
        while True:
            fill.write(b"\0" * 4096)
    assert codes(path) == ["MILL", "ÄSCHE"]
    assert check_catalog(str(path)) == []
    with pytest.raises(FlybenchError, match="nothing was changed"):
        add_row(open_catalog(str(path), make=False), NOUNS["pattern"], PATTERN)
    (disk / "fill").unlink()
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
    assert codes(path) == ["MILL", "ÄSCHE"]
    assert where_is(str(path)).revision is not None
    back_up(str(path), tmp_path / "saved.sqlite")
    with pytest.raises(FlybenchError, match="nothing was changed"):
        add_row(open_catalog(str(path), make=False), NOUNS["pattern"], PATTERN)
