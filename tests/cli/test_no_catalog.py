"""Where there is no catalog, commands that read say so and make none; only commands that put things in make one."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from console import flybench

from flybench.catalog.store.usual_place import default_address
from flybench.cli import root
from flybench.jobs.demo import shipped_clips

WATER = "--depth|1 m|--surface-speed|0.6 m/s|--bed|gravel|--temperature|10 degC"
READING = [
    "bench measure|CLIP|--fly|M1|--no-report",
    "bench time|--distance|60 cm|--temperature|18 degC|--fly|M1|2.1|2.2",
    *(f"{noun} {verb}" for noun in ("material", "pattern", "variant", "fly") for verb in ("list", "show|X")),
    *(f"{noun} {verb}" for noun in ("material", "pattern", "variant", "fly") for verb in ("change|X", "remove|X|--yes")),
    *(
        f"{noun} {verb}"
        for noun in ("material", "pattern", "variant", "fly")
        for verb in ("rename|X|Y", "retire|X")
    ),
    *(f"{noun} photo|X" for noun in ("pattern", "variant", "fly")),
    "run list",
    "run show|1",
    "pattern export|--output|FOLDER",
    "pattern make-list|X=2",
    "fly weigh|X",
    "run accept|1",
    "run refit|1",
    "run remove|1|--yes",
    "run set-aside|1|--why|bumped",
    "ladder",
    "sink drag",
    "sink law|X",
    "sink at|--temperature|10 degC",
    "sink predict|X",
    "sink compare|X|Y",
    "sink gaps",
    f"rig drift|--point|X|{WATER}",
    f"rig compare|--point|X|--with|depth=1.5 m|{WATER}",
    f"rig choose|{WATER}",
    f"rig adjust|--point|X|--touched|2|--seconds|6|{WATER}",
    "stock count|X|1",
    "stock in|X|1",
    "stock out|X|1",
    "stock list",
    "stock list|--below",
    "stock log|X",
    "print labels",
    "print pocket",
    "print prices",
    "catalog backup",
    "catalog check",
    "catalog water|18 degC",
    "catalog log",
    "catalog export|--to|FOLDER",
    "catalog money",
    "stock delivery|X=1",
    "stock report",
    "stock sale|X=1",
    "stock take|X=1|--yes",
    "stock tied|X=1",
    "scan|LABEL",
    "undo|--yes",
]  # fmt: skip
MAKING = {"add", "import", "import-csv"}
OTHERS = {"catalog where", "catalog restore"}
"""The one says that there is none; the other makes the catalog from its backup."""


def _commands(name: str, command: click.Command) -> Iterator[tuple[str, click.Command]]:
    if isinstance(command, click.Group):
        context = click.Context(command)
        for verb in command.list_commands(context):
            below = command.get_command(context, verb)
            assert below is not None
            yield from _commands(f"{name} {verb}".strip(), below)
    else:
        yield name, command


def _name(arguments: str) -> str:
    return arguments.split("|", maxsplit=1)[0]


def test_every_command_that_names_a_catalog_is_tried_here() -> None:
    named = {
        name
        for name, command in _commands("", root)
        if any("--catalog" in parameter.opts for parameter in command.params)
    }
    making = {name for name in named if name.split()[-1] in MAKING}
    assert named - making - OTHERS == {_name(arguments) for arguments in READING}


@pytest.fixture
def nowhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder without a catalog, in which the platform keeps its data too."""
    monkeypatch.delenv("FLYBENCH_CATALOG", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    for ending in (".mp4", ".toml"):
        shutil.copyfile(shipped_clips() / f"reed-slip{ending}", tmp_path / f"drop{ending}")
    return tmp_path


def _message(path: Path | str) -> str:
    return (
        f"Error: {path}: there is no catalog here yet. Check the name given with --catalog or in FLYBENCH_CATALOG, "
        "or start a catalog with flybench pattern import or flybench material add.\n"
    )


def _typed(arguments: str) -> list[str]:
    name, *rest = arguments.split("|")
    places = {"CLIP": "drop.mp4", "FOLDER": "written"}
    return [*name.split(), *(places.get(word, word) for word in rest)]


def _files(folder: Path) -> set[Path]:
    return set(folder.rglob("*"))


@pytest.mark.parametrize("arguments", READING, ids=_name)
def test_a_command_that_reads_makes_no_catalog(
    nowhere: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, arguments: str
) -> None:
    before = _files(nowhere)
    named, by_name = nowhere / "named.sqlite", nowhere / "by-name.sqlite"
    said = flybench(capsys, *_typed(arguments), "--catalog", named)
    assert (said.code, said.out, said.err) == (1, "", _message(named))
    said = flybench(capsys, *_typed(arguments))
    assert (said.code, said.out, said.err) == (1, "", _message(default_address()))
    assert str(nowhere) in default_address(), "the platform's folder is the test's own"
    monkeypatch.setenv("FLYBENCH_CATALOG", str(by_name))
    said = flybench(capsys, *_typed(arguments))
    assert (said.code, said.out, said.err) == (1, "", _message(by_name))
    assert _files(nowhere) == before


def test_where_says_that_there_is_none_and_makes_none(
    nowhere: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = _files(nowhere)
    said = flybench(capsys, "catalog", "where")
    there = "  There is no catalog yet; it is made when something is first put in."
    assert (said.code, said.out) == (0, f"{default_address()}\n{there}\n")
    assert _files(nowhere) == before


def test_adding_makes_one(nowhere: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = flybench(capsys, "material", "add", "T1", "--kind", "thread", "--name", "Invented thread")
    assert (said.code, said.out) == (0, "Added material T1.\n")
    assert Path(default_address()).is_file()


NO_CSV = "nix.csv: cannot be read (No such file or directory). Check the name."
IMPORTS = [
    *((f"{noun} import-csv|nix.csv", NO_CSV) for noun in ("material", "variant", "fly")),
    *((f"{noun} import-csv|nix.csv|--update|--yes", NO_CSV) for noun in ("material", "variant", "fly")),
    ("fly import-csv|bad.csv", 'bad.csv, line 1: "kode" is not a column of flies. Did you mean code?'),
    (
        "catalog import|nowhere",
        "nowhere/catalog.json: cannot be read (No such file or directory). Name a folder that catalog export wrote.",
    ),
    ("pattern import|nix.toml", "nix.toml: there is no such file. Check the name."),
]


@pytest.mark.parametrize(("arguments", "message"), IMPORTS)
def test_a_file_that_cannot_be_read_in_leaves_no_empty_catalog_behind(
    nowhere: Path, capsys: pytest.CaptureFixture[str], arguments: str, message: str
) -> None:
    (nowhere / "bad.csv").write_text("kode,variant\nF1,V1\n", encoding="utf-8")
    before = _files(nowhere)
    said = flybench(capsys, *_typed(arguments), "--catalog", nowhere / "new.sqlite")
    assert (said.code, said.out, said.err) == (1, "", f"Error: {message}\n")
    assert _files(nowhere) == before
