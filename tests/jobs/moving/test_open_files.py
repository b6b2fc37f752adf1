"""A catalog as open files, and the same catalog again; a folder that is not right is refused as a whole."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from console import flybench
from demo_catalog import demo_catalog, rows_of
from hypothesis import given, settings
from hypothesis import strategies as st
from servers import fresh_database
from shelves import fill

from flybench.catalog.shelf.check import check
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.flies import BenchRun, Fly
from flybench.catalog.tables.materials import Material
from flybench.errors import FlybenchError
from flybench.jobs.moving import open_files
from flybench.jobs.moving.cells import cell_of, value_of
from flybench.jobs.moving.open_files import export_catalog
from flybench.jobs.moving.read_back import import_catalog

Capture = pytest.CaptureFixture[str]
TEXTS = [
    "",
    "''",
    "'",
    '"',
    '""',
    '"x"',
    "=1+1",
    "-3",
    "+",
    "@a",
    "\ttab",
    "a\r\nb",
    "Ä, ö; 漢",
    "null",
    "0",
    " blank ",
]
COLUMNS = [Material.__table__.c.size, Material.__table__.c.name, Fly.__table__.c.notes]


@pytest.fixture
def source(tmp_path: Path) -> Catalog:
    """Return a catalog with a row or two in every table, and texts that are hard to keep in a spreadsheet."""
    made = open_catalog(str(tmp_path / "from.sqlite"), command="made for a test")
    with made.writing() as session:
        fill(session)
        for number, text in enumerate(TEXTS):
            values = {"size": text, "colour": text or None, "notes": text}
            session.add(Material(code=f"t-{number}", kind="thread", name=text, **values))
    return made


@pytest.mark.parametrize("column", COLUMNS, ids=str)
@settings(max_examples=60, deadline=None)
@given(text=st.text() | st.sampled_from(TEXTS))
def test_every_text_comes_back(column: object, text: str) -> None:
    assert value_of(column, cell_of(column, text)) == text  # type: ignore[arg-type]


@settings(max_examples=60, deadline=None)
@given(number=st.floats(allow_nan=False, allow_infinity=False) | st.none())
def test_every_number_comes_back(number: float | None) -> None:
    column = BenchRun.__table__.c.free_speed_m_s
    assert value_of(column, cell_of(column, number)) == number


def test_out_and_in_gives_the_same_catalog(source: Catalog, tmp_path: Path) -> None:
    export_catalog(source, tmp_path / "out")
    target = open_catalog(str(tmp_path / "to.sqlite"))
    done = import_catalog(target, tmp_path / "out")
    assert rows_of(target, ()) == rows_of(source, ())
    assert (done.rows, done.changed) == (sum(map(len, rows_of(source, ()).values())), ())
    assert check(target) == []


def test_what_speeds_are_made_of_comes_back(tmp_path: Path) -> None:
    source = demo_catalog(tmp_path / "from.sqlite")  # measured flies, pooled as the program does it
    export_catalog(source, tmp_path / "out")
    target = open_catalog(str(tmp_path / "to.sqlite"))
    assert import_catalog(target, tmp_path / "out").changed == ()
    for table in ("fly_speed", "variant_speed"):
        kept = rows_of(source, ())[table]
        assert kept and rows_of(target, ())[table] == kept


def test_over_a_server(source: Catalog, server: str, tmp_path: Path) -> None:
    export_catalog(source, tmp_path / "out")
    with fresh_database(server) as address:
        on_server = open_catalog(address)
        import_catalog(on_server, tmp_path / "out")
        assert rows_of(on_server, ()) == rows_of(source, ())
        export_catalog(on_server, tmp_path / "again")
    for table in (tmp_path / "out" / "tables").iterdir():
        assert (tmp_path / "again" / "tables" / table.name).read_bytes() == table.read_bytes()


def test_the_commands(tmp_path: Path, capsys: Capture) -> None:
    rows = sum(map(len, rows_of(demo_catalog(tmp_path / "a.sqlite"), ()).values()))
    out = tmp_path / "out"
    said = flybench(capsys, "catalog", "export", "--to", out, "--catalog", tmp_path / "a.sqlite")
    count = len(json.loads((out / "catalog.json").read_text())["tables"])
    assert (said.code, said.out, said.err) == (0, f"Wrote {out} with {rows} rows of {count} tables.\n", "")
    assert sorted(one.name for one in out.iterdir()) == [
        "catalog.json",
        "pictures",
        "recipes",
        "runs",
        "tables",
    ]
    assert len(list((out / "recipes").glob("*.toml"))) == 22
    said = flybench(capsys, "catalog", "import", out, "--catalog", tmp_path / "b.sqlite")
    assert (said.code, said.out) == (0, f"Read {rows} rows back from {out}.\n")
    said = flybench(capsys, "catalog", "import", out, "--catalog", tmp_path / "b.sqlite")
    assert (said.code, said.err) == (
        1,
        f"Error: {tmp_path}/b.sqlite: there is a catalog with {rows} rows already. Name a new one with --catalog.\n",
    )


def test_a_file_that_was_changed_is_read_and_named(source: Catalog, tmp_path: Path) -> None:
    export_catalog(source, tmp_path / "out")
    path = tmp_path / "out" / "tables" / "pattern.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("Moss Test", "Moss Tested"), encoding="utf-8")
    target = open_catalog(str(tmp_path / "to.sqlite"))
    assert import_catalog(target, tmp_path / "out").changed == ("pattern",)


SPOILT = [
    (
        "catalog.json",
        None,
        "cannot be read (No such file or directory). Name a folder that catalog export wrote.",
    ),
    ("catalog.json", ("{", "["), "is not what catalog export writes. Take the file that it wrote."),
    ("tables/fly.csv", None, "cannot be read (No such file or directory). Check the folder."),
    ("runs/1.track", None, "cannot be read (No such file or directory). Check the folder."),
    ("runs/1.json", ("{", "["), "cannot be read as JSON. Take the file that was written."),
    (
        "tables/fly.csv",
        ("f-1,", "f-1,,"),
        "line 2: has 12 cells, and the first line has 11. Correct that line.",
    ),
    (
        "tables/pattern.csv",
        ("dubbed", "dubed"),
        ', line 2, style: "dubed" cannot be read. Correct that cell.',
    ),
]


@pytest.mark.parametrize(("name", "change", "message"), SPOILT)
def test_a_folder_that_is_not_right_is_refused_as_a_whole(
    source: Catalog, tmp_path: Path, name: str, change: tuple[str, str] | None, message: str
) -> None:
    export_catalog(source, tmp_path / "out")
    path = tmp_path / "out" / name
    if change is None:
        path.unlink()
    else:
        path.write_text(path.read_text(encoding="utf-8").replace(*change), encoding="utf-8")
    target = open_catalog(str(tmp_path / "to.sqlite"))
    with pytest.raises(FlybenchError) as refused:
        import_catalog(target, tmp_path / "out")
    told = str(refused.value)
    assert told.startswith(str(path))
    assert told.endswith(message)
    assert not any(rows_of(target, ()).values())


def test_nothing_is_left_of_an_export_that_fails(
    source: Catalog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*given: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(open_files, "table_hash", full)
    before = sorted(tmp_path.iterdir())
    with pytest.raises(FlybenchError) as refused:
        export_catalog(source, tmp_path / "out")
    assert str(refused.value) == (
        f"{tmp_path / 'out'}: cannot be written (No space left on device). "
        "Check the folder, its permissions and the room on the disk."
    )
    assert sorted(tmp_path.iterdir()) == before


def test_a_folder_with_anything_in_it_is_not_written_to(source: Catalog, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").touch()
    with pytest.raises(FlybenchError) as refused:
        export_catalog(source, tmp_path / "out")
    assert (
        str(refused.value)
        == f"{tmp_path / 'out'}: is there already, and not an empty folder. Name a new one."
    )
    shutil.rmtree(tmp_path / "out")
    (tmp_path / "out").mkdir()
    export_catalog(source, tmp_path / "out")
