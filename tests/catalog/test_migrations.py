"""Migrations: they end with the same tables as a new catalog's, lose no row, and leave the old catalog when they fail."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from demo_catalog import first_revision
from next_step import AFTER, NEXT, step_in, with_next_step
from shelves import filled
from sqlalchemy import Connection

from flybench.catalog.shelf.check import check
from flybench.catalog.store.engine import engine_for, for_migrating, url_of
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.store.upgrade import known_revisions, migrate, upgrade
from flybench.catalog.tables.schema import REVISION, REVISION_TABLE, tables
from flybench.errors import FlybenchError

SCHEMAS = Path(__file__).parent / "schemas"
DUMPS = sorted(path for path in SCHEMAS.glob("*.sql") if path.stem <= REVISION)


def _statements(path: Path) -> dict[str, list[str]]:
    """Return the parts of every CREATE statement by name, sorted: their order, line breaks and quotes do not matter."""
    with closing(sqlite3.connect(path)) as file:
        rows = file.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL").fetchall()
    return {
        name: sorted(part.strip() for part in re.split(r",\s+|\n", sql.replace(chr(34), "")) if part.strip())
        for name, sql in rows
    }


def _differences(connection: Connection) -> list[object]:
    context = MigrationContext.configure(connection, opts={"version_table": REVISION_TABLE})
    return list(compare_metadata(context, tables()))


def _rows(path: Path) -> dict[str, list[tuple[object, ...]]]:
    with closing(sqlite3.connect(path)) as file:
        names = [row[0] for row in file.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        kept = [name for name in names if name != REVISION_TABLE]
        return {name: sorted(file.execute(f"SELECT * FROM {name}"), key=repr) for name in kept}


def _columns(path: Path) -> dict[str, dict[str, list[object]]]:
    """Return the values of every column of every table but that of the revision."""
    with closing(sqlite3.connect(path)) as file:
        file.row_factory = sqlite3.Row
        names = [row[0] for row in file.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        tables = {name: file.execute(f"SELECT * FROM {name} ORDER BY rowid").fetchall() for name in names}
    return {
        name: {column: [row[column] for row in rows] for column in (rows[0].keys() if rows else ())}
        for name, rows in tables.items()
        if name != REVISION_TABLE
    }


@pytest.fixture
def catalog(tmp_path: Path) -> Catalog:
    return filled(tmp_path / "catalog.sqlite")


@pytest.fixture
def scratch(tmp_path: Path) -> Path:
    """Return a copy of the migrations with an invented next one."""
    return with_next_step(tmp_path / "50 % migrations")


def test_the_last_migration_is_the_revision_that_is_written() -> None:
    assert known_revisions()[-1] == REVISION


def test_migrations_make_the_same_tables_as_a_new_catalog(tmp_path: Path) -> None:
    open_catalog(str(tmp_path / "new.sqlite"))
    engine = engine_for(url_of(str(tmp_path / "migrated.sqlite")))
    with for_migrating(engine).connect() as connection, connection.begin():
        migrate(connection)
        assert _differences(connection) == []
    assert _statements(tmp_path / "migrated.sqlite") == _statements(tmp_path / "new.sqlite")


def test_there_is_a_dump_of_every_revision() -> None:
    assert [path.stem for path in DUMPS] == known_revisions()


@pytest.mark.parametrize("dump", DUMPS, ids=lambda path: path.stem)
def test_every_older_catalog_comes_up_to_date_with_its_rows(dump: Path, tmp_path: Path) -> None:
    path = tmp_path / "old.sqlite"
    with closing(sqlite3.connect(path)) as file:
        file.executescript(dump.read_text(encoding="utf-8"))
    before = _rows(path)
    told: list[str] = []
    opened = open_catalog(str(path), told.append)
    assert check(opened) == []
    after = _rows(path)
    assert {name: len(rows) for name, rows in before.items()}.items() <= {
        name: len(rows) for name, rows in after.items()
    }.items()
    assert bool(told) is (dump.stem != REVISION)
    if dump.stem == REVISION:
        assert after == before
    with opened.engine.connect() as connection:
        assert _differences(connection) == []


def test_a_real_catalog_of_the_first_revision_comes_up_to_date_with_its_rows(tmp_path: Path) -> None:
    path = tmp_path / "catalog.sqlite"
    first_revision(path)  # made by the demo of 0.1.0
    before, told = _columns(path), list[str]()
    opened = open_catalog(str(path), told.append)
    (saved,) = tmp_path.glob(f"catalog-before-{REVISION}-*.sqlite")
    assert told == [
        f"{path}: brought up to date, from version 0001 of the tables to {REVISION}; the catalog before is kept as {saved}"
    ]
    assert _columns(saved) == before
    after = _columns(path)
    assert all(after[name][column] == values for name in before for column, values in before[name].items())
    assert len(before["bench_run"]["track"]) == 3
    assert check(opened) == []


def test_photos_of_the_first_revision_are_kept_once_each(tmp_path: Path) -> None:
    path = tmp_path / "old.sqlite"
    with closing(sqlite3.connect(path)) as file:
        file.executescript((SCHEMAS / "0001.sql").read_text(encoding="utf-8"))
        same = "SELECT {}, pattern_id, {}, '{}', sha256, content FROM photo WHERE id = 1"
        for number, name in ((2, "again.jpg"), (3, "LAST.PNG")):
            file.execute("INSERT INTO photo " + same.format(number, number, name))
        file.execute("UPDATE photo SET sha256 = ?, content = ? WHERE id = 3", ("ab" * 32, b"other"))
        file.commit()
        (sha256, content), *_ = file.execute("SELECT sha256, content FROM photo")
    open_catalog(str(path))
    with closing(sqlite3.connect(path)) as file:
        pictures = file.execute("SELECT sha256, media_type, width, height, content FROM picture").fetchall()
        photos = file.execute(
            "SELECT name, position, caption, sha256, variant_id FROM photo ORDER BY id"
        ).fetchall()
    assert sorted(pictures, key=lambda one: one[1]) == [
        (sha256, "image/jpeg", None, None, content),
        ("ab" * 32, "image/png", None, None, b"other"),
    ]
    assert photos == [
        ("front.jpg", 1, "", sha256, None),
        ("again.jpg", 2, "", sha256, None),
        ("LAST.PNG", 3, "", "ab" * 32, None),
    ]


def test_an_upgrade_saves_a_backup_first_and_keeps_every_row(catalog: Catalog, scratch: Path) -> None:
    path = catalog.path
    assert path is not None
    before, told = _rows(path), list[str]()
    upgrade(catalog.engine, path, catalog.name, told.append, scratch)
    (saved,) = path.parent.glob(f"catalog-before-{AFTER}-*.sqlite")
    assert told == [
        f"{path}: brought up to date, from version {REVISION} of the tables to {AFTER}; "
        f"the catalog before is kept as {saved}"
    ]
    assert _rows(saved) == before
    after = _rows(path)
    assert [row[:-1] for row in after["material"]] == before.pop("material")
    assert {row[-1] for row in after.pop("material")} == {"top"}
    assert after == before  # hooks and beads too, which SQLite would have emptied with their material
    with closing(sqlite3.connect(path)) as file:
        assert file.execute(f"SELECT version_num FROM {REVISION_TABLE}").fetchall() == [(AFTER,)]
        assert file.execute("PRAGMA foreign_key_check").fetchall() == []


@pytest.mark.parametrize(
    ("line", "error"),
    [
        ("raise RuntimeError('power cut')", RuntimeError),
        ("op.execute('DELETE FROM material')", FlybenchError),
    ],
)
def test_a_failed_upgrade_leaves_the_old_catalog_and_its_backup(
    catalog: Catalog, scratch: Path, line: str, error: type[Exception]
) -> None:
    path = catalog.path
    assert path is not None
    before, statements = _rows(path), _statements(path)
    step_in(scratch).write_text(f"{NEXT}    {line}\n", encoding="utf-8")
    with pytest.raises(error):
        upgrade(catalog.engine, path, catalog.name, lambda told: None, scratch)
    assert (_rows(path), _statements(path)) == (before, statements)
    (saved,) = path.parent.glob(f"catalog-before-{AFTER}-*.sqlite")
    assert _rows(saved) == before
    assert check(open_catalog(str(path))) == []


def test_a_second_upgrade_finds_nothing_to_do(catalog: Catalog, scratch: Path) -> None:
    told: list[str] = []
    for _ in range(2):
        upgrade(catalog.engine, catalog.path, catalog.name, told.append, scratch)
    assert len(told) == 1


def test_a_newer_catalog_is_refused_and_not_touched(tmp_path: Path) -> None:
    path = tmp_path / "newer.sqlite"
    open_catalog(str(path))
    with closing(sqlite3.connect(path)) as file:
        file.execute(f"UPDATE {REVISION_TABLE} SET version_num = '9999'")
        file.commit()
    before = path.read_bytes()
    with pytest.raises(FlybenchError) as refused:
        open_catalog(str(path))
    assert str(refused.value) == (
        f"{path}: was written by a newer flybench (version 9999 of the tables; this program knows them up to {REVISION}). "
        "Update flybench; the catalog was not touched."
    )
    assert path.read_bytes() == before
    assert [one.name for one in tmp_path.iterdir()] == ["newer.sqlite"]
