"""Undo and the log: whatever a command changed is written down, and comes back exactly as it was."""

from __future__ import annotations

import getpass
import json
from datetime import datetime
from pathlib import Path

import pytest
from console import Said, flybench
from demo_catalog import demo_catalog, rows_of
from PIL import Image
from recipe_texts import SMALL

from flybench.catalog.shelf.check import check
from flybench.catalog.store.open import Catalog

Capture = pytest.CaptureFixture[str]
WHO = getpass.getuser()

COMMANDS = [
    "material add|wi-9|--kind|wire|--name|Invented wire|--pack|10|--price|4.50",
    "material add|bd-9|--kind|bead|--name|Invented bead|--diameter|3 mm|--metal|brass|--bore|slotted|--mass|0.1 g +- 1 mg",
    "material change|bd-9|--diameter|3.2 mm|--mass|",
    "material change|bd-br-cs-25|--diameter|2.6 mm",
    "material import-csv|materials.csv",
    "pattern add|moss|--name|Moss|--style|ribbed",
    "pattern change|moss|--code|moor|--notes|Dark.",
    "variant add|moor-12|--pattern|moor|--hook-code|hk-9|--bead-code|bd-9|--price|2.20",
    "variant change|moor-12|--price|2.60",
    "fly add|m-1|--variant|moor-12|--mass|0.2 g +- 1 mg|--tied|2026-03-01",
    "fly change|reed-slip|--variant|moor-12|--mass|0.3 g",
    "fly import-csv|flies.csv",
    "fly remove|m-1|--yes",
    "stock in|moor-12|12",
    "stock count|moor-12|10",
    "stock in|wi-9|50|--material|--why|bought",
    "run set-aside|1|--why|bumped",
    "run remove|1|--yes",
    "run set-aside|2|--why|bumped",
    "run accept|2",
    "catalog water|8 degC",
    "catalog water|--usual",
    "pattern import|recipe.toml",
    "pattern import|changed.toml|--replace|--yes",
    "run remove|3|--yes",
]  # fmt: skip


@pytest.fixture
def catalog(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Catalog:
    """Return the demo's catalog, in a folder with files to import."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FLYBENCH_CATALOG", "catalog.sqlite")
    Path("materials.csv").write_text("code,kind,name,hook\nhk-9,hook,Invented hook,12\nth-9,thread,Thread,\n")
    Path("flies.csv").write_text("code,variant,mass_mg\nx-1,moor-12,210\nx-2,moor-12,220\n")
    photo = '\nphotos = ["side.png"]'
    Path("recipe.toml").write_text(SMALL.replace('style = "ribbed"', f'style = "ribbed"{photo}'))
    changed = SMALL.replace('"2.40"', '"3.10"').replace("amount = 8", "amount = 9")
    Path("changed.toml").write_text(changed.replace('"Mill Test"', '"Mill"'))
    Image.new("RGB", (4, 3)).save("side.png")
    return demo_catalog(Path("catalog.sqlite"))


def _typed(command: str) -> list[str]:
    name, *rest = command.split("|")
    return [*name.split(), *rest]


def _ran(capsys: Capture, command: str) -> Said:
    said = flybench(capsys, *_typed(command))
    assert said.code == 0, (command, said.err)
    return said


def _refused(capsys: Capture, catalog: Catalog, message: str) -> None:
    """See that the first change cannot be undone, for this reason, and that nothing is changed by trying."""
    before = rows_of(catalog, ())
    said = flybench(capsys, "undo", "1", "--yes")
    assert said.code == 1
    assert said.err.splitlines()[-1] == (
        f"Error: change 1: cannot be undone, as {message}. Nothing was changed."
    )
    assert rows_of(catalog, ()) == before


@pytest.mark.slow
def test_every_command_is_undone_step_by_step(catalog: Catalog, capsys: Capture) -> None:
    states = [rows_of(catalog)]
    for command in COMMANDS:
        _ran(capsys, command)
        states.append(rows_of(catalog))
        assert states[-1] != states[-2], f"{command}: changed nothing"
    logged = [one["command"] for one in json.loads(_ran(capsys, "catalog log|--limit|0|--json").out)]
    assert logged == [command.split("|")[0] for command in reversed(COMMANDS)]
    for command, before in zip(reversed(COMMANDS), reversed(states[:-1]), strict=True):
        _ran(capsys, "undo|--yes")
        after = rows_of(catalog)
        assert [name for name in before if before[name] != after[name]] == [], command
    assert check(catalog) == []
    said = flybench(capsys, "undo", "--yes")
    assert (said.code, said.out, said.err) == (
        1,
        "",
        "Error: There is no change that could be undone. See what there was: flybench catalog log\n",
    )


def test_an_undo_is_undone_by_its_number(catalog: Catalog, capsys: Capture) -> None:
    before = rows_of(catalog)
    _ran(capsys, "run remove|1|--yes")
    gone = rows_of(catalog)
    assert _ran(capsys, "undo|--yes").out == "Undid change 1.\n"
    assert rows_of(catalog) == before
    assert _ran(capsys, "undo|2|--yes").out == "Undid change 2.\n"
    assert rows_of(catalog) == gone
    assert _ran(capsys, "undo|--yes").out == "Undid change 1.\n"
    assert rows_of(catalog) == before


def test_an_undone_currency_says_that_no_price_was_converted(catalog: Catalog, capsys: Capture) -> None:
    _ran(capsys, "catalog money|--currency|CHF")
    _ran(capsys, "catalog money|--currency|USD")
    _ran(capsys, "variant change|reed-slip-12|--price|3.00")
    log = _ran(capsys, "catalog log").out.splitlines()
    number = next(line.split()[0] for line in log if "catalog money" in line)
    said = _ran(capsys, f"undo|{number}|--yes")
    told = " ".join(said.err.split())
    assert told.endswith(" No price was converted: what was typed in USD now stands as CHF.")
    assert said.out == f"Undid change {number}.\n"
    assert "No price was converted" not in _ran(capsys, "undo|3|--yes").err


def test_the_log_says_who_changed_what(catalog: Catalog, capsys: Capture) -> None:
    for command in (
        "variant change|reed-slip-12|--price|2.60|--notes|Sells well",
        "material change|bd-br-cs-25|--diameter|2.6 mm|--mass|62 mg +- 2 mg",
        "fly change|reed-slip|--mass|212 mg +- 4 mg",
        "stock in|reed-slip-12|12|--note|by Ann",
        "run set-aside|1|--why|bumped",
    ):
        _ran(capsys, command)
    _ran(capsys, "undo|--yes")
    entries = json.loads(_ran(capsys, "catalog log|--json").out)
    whens = [_local(one["at"]) for one in entries]
    assert _ran(capsys, "catalog log").out.splitlines() == [
        f"6  {whens[0]}  {WHO}: undo of change 5",
        "  run 1: accepted no -> yes; set aside why bumped -> nothing",
        f"5  {whens[1]}  {WHO}: run set-aside (undone by change 6)",
        "  run 1: accepted yes -> no; set aside why nothing -> bumped",
        f"4  {whens[2]}  {WHO}: stock in",
        "  variant reed-slip-12: stock +12, tied",
        f"3  {whens[3]}  {WHO}: fly change",
        "  fly reed-slip: mass nothing -> 212 mg; ± of mass nothing -> 4 mg",
        f"2  {whens[4]}  {WHO}: material change",
        "  material bd-br-cs-25: diameter 2.5 -> 2.6 mm; mass nothing -> 62 mg; ± of mass",
        "    nothing -> 2 mg",
        f"1  {whens[5]}  {WHO}: variant change",
        "  variant reed-slip-12: price 2.90 -> 2.60; notes nothing -> Sells well",
    ]
    assert entries[3]["rows"] == [
        {
            "noun": "fly",
            "code": "reed-slip",
            "table": "fly",
            "action": "changed",
            "old": {"mass_kg": None, "mass_u_kg": None},
            "new": {"mass_kg": 0.000212, "mass_u_kg": 2e-06},
        }
    ]
    assert _ran(capsys, "catalog log|REED-SLIP").out.splitlines()[0] == f"3  {whens[3]}  {WHO}: fly change"


def _local(at: str) -> str:
    return datetime.fromisoformat(at).astimezone().strftime("%Y-%m-%d %H:%M")


@pytest.mark.parametrize(
    ("later", "message"),
    [
        (
            "variant change|reed-slip-12|--price|3.00",
            "variant reed-slip-12 is no longer as it left it: change 2 changed it later. "
            "Undo that one first: flybench undo 2",
        ),
        (
            "variant change|reed-slip-12|--code|slip",
            "variant reed-slip-12 is no longer as it left it: change 2 changed it later. "
            "Undo that one first: flybench undo 2",
        ),
    ],
)
def test_a_later_change_of_the_same_thing_stands_in_the_way(
    catalog: Catalog, capsys: Capture, later: str, message: str
) -> None:
    _ran(capsys, "variant change|reed-slip-12|--price|2.60")
    _ran(capsys, later)
    _refused(capsys, catalog, message)


@pytest.mark.parametrize(
    ("first", "later", "message"),
    [
        (
            "pattern add|moss|--name|Moss|--style|ribbed",
            "variant add|moss-12|--pattern|moss|--hook-code|hk-jig-12",
            "pattern moss is no longer as it left it: it is used by variant moss-12 by now",
        ),
        (
            "stock in|reed-slip-12|12",
            "stock out|reed-slip-12|1",
            "variant reed-slip-12 is no longer as it left it: its stock has moved since. "
            "Undo what came later first, the newest first; flybench stock count sets right the stock, but no money",
        ),
        (
            "fly change|reed-slip|--code|reed",
            "fly add|reed-slip|--variant|reed-slip-12",
            "fly reed is no longer as it left it: another fly has the code reed-slip by now",
        ),
    ],
)
def test_what_rests_on_a_change_stands_in_the_way(
    catalog: Catalog, capsys: Capture, first: str, later: str, message: str
) -> None:
    for command in (first, later):
        _ran(capsys, command)
    _refused(capsys, catalog, message)


@pytest.mark.parametrize(
    ("number", "message"),
    [
        ("7", "NUMBER: there is no change 7. See what there is: flybench catalog log."),
        ("-1", "NUMBER: there is no change -1. See what there is: flybench catalog log."),
        ("99999999999", "NUMBER: there is no change 99999999999. See what there is: flybench catalog log."),
        ("1", "change 1: is undone already, by change 2. Nothing was changed."),
    ],
)
def test_numbers_that_cannot_be_undone(catalog: Catalog, capsys: Capture, number: str, message: str) -> None:
    assert _ran(capsys, "catalog log").err == "No change is written down yet.\n"
    _ran(capsys, "stock in|reed-slip-12|12")
    _ran(capsys, "undo|--yes")
    said = flybench(capsys, "undo", "--yes", "--", number)
    assert (said.code, said.out, said.err) == (1, "", f"Error: {message}\n")


def test_nothing_is_undone_without_a_yes(
    catalog: Catalog, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    _ran(capsys, "stock in|reed-slip-12|12")
    before = rows_of(catalog, ())
    monkeypatch.setattr("click.termui.visible_prompt_func", lambda prompt: "n")
    said = flybench(capsys, "undo")
    assert (said.code, said.out) == (1, "")
    assert rows_of(catalog, ()) == before


def test_a_refused_command_leaves_no_line_in_the_log(catalog: Catalog, capsys: Capture) -> None:
    assert flybench(capsys, "stock", "out", "reed-slip-12", "5").code == 1
    assert flybench(capsys, "variant", "change", "reed-slip-12", "--based-on", "reed-slip-12").code == 1
    assert _ran(capsys, "catalog log").err == "No change is written down yet.\n"
