"""A catalog copied between files and servers: the same row for row, taken up after a break, never over another."""

from __future__ import annotations

import json
import random
import subprocess
import sys
from pathlib import Path

import pytest
from console import flybench
from demo_catalog import LOG, demo_catalog, rows_of
from servers import fresh_database
from shelves import fill
from sqlalchemy import select

from flybench.catalog.shelf.check import check
from flybench.catalog.store import copying
from flybench.catalog.store.copying import copy_catalog
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.patterns import Pattern
from flybench.errors import FlybenchError

Capture = pytest.CaptureFixture[str]
COPIER = Path(__file__).resolve().parents[2] / "helpers" / "copier.py"


@pytest.fixture
def source(tmp_path: Path) -> Catalog:
    """Return a catalog with a row or two in every table, the log of changes too."""
    made = open_catalog(str(tmp_path / "from.sqlite"), command="made for a test")
    with made.writing() as session:
        fill(session)
    return made


class _BreakError(Exception):
    """Stands for whatever breaks a copy off."""


def _breaks_after(calls: int) -> copying.Progress:
    left = [calls]

    def progress(what: str, done: int, whole: int) -> None:
        left[0] -= 1
        if left[0] < 0:
            raise _BreakError

    return progress


def test_a_copy_is_the_same_row_for_row(source: Catalog, tmp_path: Path, capsys: Capture) -> None:
    target = tmp_path / "to.sqlite"
    said = flybench(capsys, "catalog", "copy", str(source.path), target, "--json")
    told = json.loads(said.out)
    assert (told["from"], told["to"], told["resumed"]) == (source.name, str(target), False)
    copy = open_catalog(str(target), make=False)
    rows = rows_of(source, ())
    assert rows_of(copy, ()) == rows
    assert {one["name"]: one["rows"] for one in told["tables"]} == {
        name: len(of) for name, of in rows.items()
    }
    assert all(rows.values()), "a table without rows shows nothing"
    assert check(copy) == []


def test_what_is_said_of_a_copy(tmp_path: Path, capsys: Capture) -> None:
    count = sum(map(len, rows_of(demo_catalog(tmp_path / "a.sqlite"), ()).values()))
    said = flybench(capsys, "catalog", "copy", tmp_path / "a.sqlite", tmp_path / "b.sqlite")
    first, second, *tables = said.out.splitlines()
    assert first == f"Copied {tmp_path}/a.sqlite to {tmp_path}/b.sqlite."
    assert second == (
        f"Both places were compared, and hold the same {count} rows. Below stand, for each table, its rows and the beginning "
        "of their checksum."
    )
    assert [line.split()[:2] for line in tables][:2] == [["material", "56"], ["pattern", "22"]]


@pytest.mark.parametrize("calls", [0, 1, 6, 12, 20, 30])
def test_a_copy_that_was_broken_off_is_taken_up(
    source: Catalog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, calls: int
) -> None:
    monkeypatch.setattr(copying, "_ROWS", 1)
    monkeypatch.setattr(copying, "_LARGE_ROWS", {})
    target = str(tmp_path / "to.sqlite")
    with pytest.raises(_BreakError):
        copy_catalog(source, target, _breaks_after(calls))
    with pytest.raises(FlybenchError) as refused:
        open_catalog(target, make=False)
    assert str(refused.value) == (
        f"{target}: is a copy that is not finished. Go on with it by the same command that began it, "
        f"flybench catalog copy FROM {target}, or name another catalog."
    )
    assert copy_catalog(source, target).resumed
    assert rows_of(open_catalog(target, make=False), ()) == rows_of(source, ())


def test_a_source_that_changed_since_the_break_is_copied_anew(source: Catalog, tmp_path: Path) -> None:
    target = str(tmp_path / "to.sqlite")
    with pytest.raises(_BreakError):
        copy_catalog(source, target, _breaks_after(25))
    with source.writing() as session:
        session.scalars(select(Pattern)).one().name = "Changed meanwhile"
    assert not copy_catalog(source, target).resumed
    assert rows_of(open_catalog(target, make=False), ()) == rows_of(source, ())


def test_what_is_there_is_never_copied_over(source: Catalog, tmp_path: Path) -> None:
    other = demo_catalog(tmp_path / "other.sqlite")
    before = rows_of(other, ())
    with pytest.raises(FlybenchError) as refused:
        copy_catalog(source, other.name)
    assert str(refused.value) == (
        f"{other.name}: there is a catalog with {sum(map(len, before.values()))} rows already, "
        "and a copy never goes over another. Name a place where there is none."
    )
    assert rows_of(other, ()) == before
    with pytest.raises(FlybenchError) as itself:
        copy_catalog(source, str(tmp_path / "." / "from.sqlite"))
    assert str(itself.value) == f"{source.name}: is the catalog itself. Name another place to copy it to."
    with pytest.raises(_BreakError):
        copy_catalog(source, str(tmp_path / "to.sqlite"), _breaks_after(9))
    with pytest.raises(FlybenchError) as anothers:
        copy_catalog(other, str(tmp_path / "to.sqlite"))
    assert str(anothers.value) == (
        f"{tmp_path / 'to.sqlite'}: is the unfinished copy of another catalog. "
        "Name another place, or remove that copy first."
    )


def test_a_copy_that_differs_is_not_finished(
    source: Catalog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = str(tmp_path / "to.sqlite")
    real = copying._close_circle

    def spoil(connection: object, place: copying._Target, table: copying.Table) -> None:
        real(connection, place, table)  # type: ignore[arg-type]
        if table.name == "material":
            with place.writing() as there:
                there.exec_driver_sql("UPDATE material SET pack_price = 3.51 WHERE code = 'wool'")

    monkeypatch.setattr(copying, "_close_circle", spoil)
    with pytest.raises(FlybenchError) as refused:
        copy_catalog(source, target)
    assert str(refused.value) == (
        f"{target}: the copy of the table material is not what was copied (3 rows, 3 at the source). "
        "It stays marked as unfinished. Remove it and copy again."
    )
    with pytest.raises(FlybenchError, match="is a copy that is not finished"):
        open_catalog(target, make=False)


@pytest.mark.slow
def test_to_a_server_and_back(source: Catalog, server: str, tmp_path: Path, capsys: Capture) -> None:
    with fresh_database(server) as address:
        copy_catalog(source, address)
        on_server = open_catalog(address, make=False)
        assert rows_of(on_server, ()) == rows_of(source, ())
        assert check(on_server) == []
        copy_catalog(on_server, str(tmp_path / "back.sqlite"))
        back = open_catalog(str(tmp_path / "back.sqlite"), make=False)
        assert rows_of(back, ()) == rows_of(source, ())
        add = ("material", "add", "new", "--kind", "thread", "--name", "New", "--catalog", address)
        said = flybench(capsys, *add)  # gets a number behind those that were copied
        assert (said.code, said.out) == (0, "Added material new.\n")
        assert flybench(capsys, "undo", "--yes", "--catalog", address).code == 0
        worked_out = ("fly_speed", "variant_speed", "counted_run", "setting")  # undo works them out again
        speeds = (*LOG, "picture", *worked_out)
        assert rows_of(on_server, speeds) == rows_of(source, speeds)


@pytest.mark.slow
@pytest.mark.parametrize("place", ["file", "server"])
def test_a_copy_that_is_killed_again_and_again_ends_whole(tmp_path: Path, server: str, place: str) -> None:
    source, chance = demo_catalog(tmp_path / "from.sqlite"), random.Random(8)
    with fresh_database(server) as address:
        target = address if place == "server" else str(tmp_path / "to.sqlite")
        for _ in range(2):
            with subprocess.Popen(
                [sys.executable, str(COPIER), source.name, target], stdout=subprocess.PIPE
            ) as child:
                assert child.stdout is not None
                steps = child.stdout.read(chance.randint(20, 60))  # it has some 120 to do
                child.kill()
            assert steps
            with pytest.raises(FlybenchError, match="is a copy that is not finished"):
                open_catalog(target, make=False)
        assert copy_catalog(source, target).resumed
        assert rows_of(open_catalog(target, make=False), ()) == rows_of(source, ())
