"""`flybench catalog`: where, check, backup, restore; what is there now is never lost, whatever goes wrong."""

from __future__ import annotations

import json
import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from shelves import add_batch, codes_in, filled, save_batch, whole_batches

from flybench.catalog.store.open import open_catalog
from flybench.catalog.store.usual_place import default_address
from flybench.catalog.tables.schema import REVISION
from flybench.cli import root
from flybench.errors import FlybenchError
from flybench.jobs.shelf.safekeeping import back_up, restore

NO_CATALOG_YET = (
    "{}: there is no catalog here yet. Check the name given with --catalog or in FLYBENCH_CATALOG, or start a "
    "catalog with flybench pattern import or flybench material add."
)
STAMP = r"\d{4}-\d\d-\d\d-\d{6}"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return a catalog with one batch."""
    made = tmp_path / "catalog.sqlite"
    save_batch(made, "first")
    return made


def _run(path: Path, *arguments: str | Path, answer: str = "") -> Result:
    """Run a command on a catalog; what reaches the user as a message is in ``exception``."""
    return CliRunner().invoke(root, ["catalog", *map(str, arguments), "--catalog", str(path)], input=answer)


def test_where_makes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "new" / "catalog.sqlite"
    said = _run(path, "where")
    assert said.output == f"{path}\n  There is no catalog yet; it is made when something is first put in.\n"
    assert not path.parent.exists()


def test_where_tells_what_is_there(path: Path) -> None:
    said = _run(path, "where")
    assert re.fullmatch(
        rf"{re.escape(str(path))}\n  file, 0\.\d MB, version {REVISION} of the tables\n", said.output
    )
    machine = json.loads(_run(path, "where", "--json").output)
    size = path.stat().st_size
    assert machine == {"name": str(path), "kind": "file", "revision": REVISION, "size_bytes": size}


def test_the_environment_names_the_catalog(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FLYBENCH_CATALOG", str(path))
    assert default_address() == str(path)
    assert json.loads(CliRunner().invoke(root, ["catalog", "where", "--json"]).output)["name"] == str(path)


def test_check_of_a_sound_catalog(path: Path) -> None:
    said = _run(path, "check")
    assert (said.exit_code, said.output) == (0, "SOUND: nothing is wrong with the catalog.\n")
    assert json.loads(_run(path, "check", "--json").output) == {"sound": True, "findings": []}


def test_check_of_a_faulty_catalog(path: Path) -> None:
    with closing(sqlite3.connect(path)) as file:
        file.execute("UPDATE picture SET content = x'00'")
        file.commit()
    said = _run(path, "check")
    assert said.exit_code == 1
    first, second, _, last = said.output.splitlines()
    assert first == "NOT SOUND: 1 fault found."
    assert second.startswith(
        "hash: photo one.jpg of pattern first: was changed: its SHA-256 is 6e340b9cffb3…,"
    )  # of one zero byte
    assert last == "Put back a backup from before the fault with: flybench catalog restore FILE"
    machine = _run(path, "check", "--json")
    assert machine.exit_code == 1
    assert json.loads(machine.output)["sound"] is False


def test_check_makes_no_catalog(tmp_path: Path) -> None:
    path = tmp_path / "catalog.sqlite"
    said = _run(path, "check")
    assert str(said.exception) == NO_CATALOG_YET.format(path)
    assert not path.exists()


def test_backup_beside_the_catalog_and_back(path: Path) -> None:
    said = _run(path, "backup")
    saved = Path(said.output.removeprefix("Saved ").strip())
    assert re.fullmatch(rf"catalog-backup-{STAMP}\.sqlite", saved.name)
    save_batch(path, "second")
    done = _run(path, "restore", saved, answer="y\n")
    assert done.exit_code == 0, done.output
    assert codes_in(path) == {"first"}
    (kept,) = path.parent.glob("catalog-before-restore-*.sqlite")
    assert f"the catalog before is kept as {kept}" in done.output
    assert codes_in(kept) == {"first", "second"}


def test_backup_to_a_named_file_is_one_file(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "stick" / "flies.sqlite"
    target.parent.mkdir()
    with open_catalog(str(path)).writing() as session:  # others may be at work
        add_batch(session, "not saved yet")
        said = _run(path, "backup", target, "--json")
    assert json.loads(said.output) == {"backup": str(target)}
    assert [one.name for one in target.parent.iterdir()] == ["flies.sqlite"]
    assert codes_in(target) == {"first"}


def test_two_backups_in_one_second_have_two_names(path: Path) -> None:
    assert len({back_up(str(path)) for _ in range(3)}) == 3


def test_a_backup_never_writes_over_a_file(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "precious.sqlite"
    target.write_text("precious", encoding="utf-8")
    with pytest.raises(FlybenchError) as refused:
        back_up(str(path), target)
    assert str(refused.value) == (
        f"{target}: exists already. Name another file; a backup never replaces one."
    )
    assert target.read_text(encoding="utf-8") == "precious"


def test_a_backup_of_nothing(tmp_path: Path) -> None:
    path = tmp_path / "catalog.sqlite"
    with pytest.raises(FlybenchError) as refused:
        back_up(str(path))
    assert str(refused.value) == NO_CATALOG_YET.format(path)
    assert list(tmp_path.iterdir()) == []


def test_restore_asks_and_takes_no_for_an_answer(path: Path) -> None:
    saved = back_up(str(path))
    save_batch(path, "second")
    for answer in ("n\n", ""):
        said = _run(path, "restore", saved, answer=answer)
        assert said.exit_code == 1
    assert codes_in(path) == {"first", "second"}
    assert not list(path.parent.glob("*before-restore*"))


def test_restore_with_yes_as_json(path: Path) -> None:
    saved = back_up(str(path))
    said = _run(path, "restore", saved, "--yes", "--json")
    (kept,) = path.parent.glob("catalog-before-restore-*.sqlite")
    expected = {"catalog": str(path), "restored": str(saved), "kept": str(kept)}
    assert json.loads(said.stdout) == expected
    assert said.stderr == f"{path}: the catalog before is kept as {kept}\n"


@pytest.mark.slow
def test_restore_where_there_is_no_catalog_yet(path: Path, tmp_path: Path) -> None:
    saved = back_up(str(path))
    new = tmp_path / "other" / "catalog.sqlite"
    assert restore(str(new), saved).kept is None
    assert codes_in(new) == {"first"}


def test_open_programs_go_on_with_what_was_put_back(path: Path) -> None:
    saved = back_up(str(path))
    save_batch(path, "second")
    catalog = open_catalog(str(path))
    with catalog.reading() as session:
        assert whole_batches(session) == {"first", "second"}
        restore(str(path), saved)
        assert whole_batches(session) == {"first", "second"}  # still its own moment
    with catalog.writing() as session:
        add_batch(session, "third")
    assert codes_in(path) == {"first", "third"}


def test_every_table_comes_back(tmp_path: Path) -> None:
    path = tmp_path / "catalog.sqlite"
    filled(path)
    with closing(sqlite3.connect(path)) as file:
        before = list(file.iterdump())
    saved = back_up(str(path))
    path.unlink()
    restore(str(path), saved)
    with closing(sqlite3.connect(path)) as file:
        assert list(file.iterdump()) == before
