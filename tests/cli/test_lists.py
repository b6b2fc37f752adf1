"""Lists and single rows as they come on the screen: never wider than it, nothing left out without a word."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from console import Said, flybench
from shop import measured, shop

NOTES = "Tied in the rain. " * 10
Run = Callable[..., Said]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    monkeypatch.setenv("FLYBENCH_CATALOG", str(tmp_path / "shop.sqlite"))
    monkeypatch.setenv("COLUMNS", "80")
    catalog = shop(tmp_path / "shop.sqlite")
    measured(catalog, "M1", 0.30, 0.004)
    return lambda *arguments: flybench(capsys, *arguments)


def widest(text: str) -> int:
    return max(map(len, text.splitlines()))


@pytest.mark.parametrize("noun", ["material", "pattern", "variant", "fly", "run"])
def test_lists_and_rows_fit_the_screen(run: Run, noun: str) -> None:
    run("fly", "change", "M1", "--notes", NOTES)
    said = run(noun, "list")
    assert widest(said.out + said.err) <= 80
    code = {"material": "B28", "pattern": "MILL", "variant": "MILL-28-14", "fly": "M1"}.get(noun)
    if code is not None:
        assert widest(run(noun, "show", code).out) <= 80


def test_columns_without_room_are_named(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "60")
    said = run("fly", "list", "M1")
    assert said.out.splitlines()[0].split() == ["code", "variant", "name", "style", "hook", "bead,", "mm"]
    assert " ".join(said.err.split()) == (
        'Searched for the word "M1". A field is named before a colon, as in bead:2.8. '
        "No room for the columns mass, sink, runs and drops. Choose columns with --columns, or widen the window."
    )
    wanted = run(
        "fly", "list", "hook:14", "--columns", "code,variant,name,style,hook,bead,mass,sink,runs,drops"
    )
    assert widest(wanted.out) > 60, "columns that were asked for are shown"
    assert wanted.err == ""


def test_a_long_text_is_cut_in_a_list_and_whole_in_full(run: Run) -> None:
    run("fly", "change", "M1", "--notes", NOTES.strip())
    line = run("fly", "list", "M1", "--columns", "code,notes").out.splitlines()[1]
    assert line == f"M1    {NOTES[:39]}…"
    assert " ".join(run("fly", "show", "M1").out.split()).count("Tied in the rain.") == 10


def test_a_column_without_any_value_is_left_out(run: Run) -> None:
    assert run("fly", "list", "M1", "--columns", "code,length,tied").out == "code  tied\nM1    2026-03-01\n"


@pytest.mark.parametrize(
    ("limit", "remark"),
    [
        ("4", ""),
        ("3", "1 fly more found but not shown. Raise --limit, or narrow the query.\n"),
        ("2", "2 flies more found but not shown. Raise --limit, or narrow the query.\n"),
        ("0", ""),
    ],
)
def test_rows_beyond_the_limit_are_counted(run: Run, limit: str, remark: str) -> None:
    said = run("fly", "list", "--limit", limit, "--columns", "code")
    assert (said.code, said.err) == (0, remark)
    assert run("fly", "list", "--limit", limit, "--json").err == remark


def test_what_goes_into_a_file_goes_nowhere_else(run: Run, tmp_path: Path) -> None:
    wrong = "Error: --csv writes all columns: leave off --json and --columns.\n"
    for more in (("--json",), ("--columns", "code")):
        said = run("fly", "list", "--csv", tmp_path / "flies.csv", *more)
        assert (said.code, said.out) == (2, "")
        assert said.err.endswith(wrong)
    assert not (tmp_path / "flies.csv").exists()
    on_screen = run("fly", "list", "--csv", "-")
    run("fly", "list", "--csv", tmp_path / "flies.csv")
    assert (tmp_path / "flies.csv").read_bytes().decode() == on_screen.out.replace("\n", "\r\n").replace(
        "\r\r\n", "\r\n"
    )


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ("fly list --columns code,sinc", '--columns: flies have no field "sinc". Did you mean sink?'),
        ("material add H1 --kind hook --name h --hook 40", "--hook: 40 is outside 1 to 32. Check the number."),
        ("material add B1 --kind bead --name b --diameter 2,8mm", '--diameter: "2,8mm" has a comma. Write "2.8mm", with a decimal point.'),
        ("material change B28 --diameter 3cm", "--diameter: 3cm is outside 0.0001 to 1.2 cm. Check the number and its unit."),
        ("material change B28 --diameter 2.8mm+-0.1mm", '--diameter: "2.8mm+-0.1mm" has an uncertainty, and none is used here. Write "2.8mm".'),
        ("material change H14 --mass 40mg+-1mg", "--mass: of a hook is kept without an uncertainty. Leave off what is behind +-."),
        ("material change HARE --price 3,20", '--price: "3,20" is not a price. Write it as 2.40, zero or more; write 3.20 with a point.'),
        ("fly add Z9 --variant MILL-28-15", '--variant: there is no "MILL-28-15". Did you mean MILL-28-14?'),
        ("fly show Z9", 'fly: there is no "Z9". See what there is: flybench fly list, or add it with: flybench fly add Z9 --variant CODE.'),
        ("run show x", 'run: "x" is not a number. See the numbers with: flybench run list.'),
    ],
)  # fmt: skip
def test_errors_name_the_option_and_the_unit_as_typed(run: Run, arguments: str, message: str) -> None:
    said = run(*arguments.split())
    assert (said.code, said.out) == (1, "")
    assert said.err == f"Error: {message}\n"
