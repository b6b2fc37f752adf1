"""Slips that are made at a shop's desk: each message says what was meant, or the slip is understood."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from console import Said, flybench
from invented_runs import add_run
from shop import shop
from sqlalchemy import select

from flybench.catalog.tables.flies import BenchRun, RunDrop

Run = Callable[..., Said]


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.setenv("FLYBENCH_CATALOG", str(tmp_path / "shop.sqlite"))
    monkeypatch.setenv("COLUMNS", "100")
    add_run(shop(tmp_path / "shop.sqlite"), "M1", 0.30, 1)
    return lambda *arguments: flybench(capsys, *arguments)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ("stock in H14 5", 'CODE: "H14" is a material, not a variant. Add --material.'),
        ("stock log hare", 'CODE: "hare" is a material, not a variant. Add --material.'),
        (
            "pattern make-list MILL=2",
            'variant: there is no "MILL"; it is a pattern. Name one of its variants: MILL-24-16, MILL-28-14.',
        ),
        (
            "fly show MILL-28-14",
            'fly: there is no "MILL-28-14"; it is a variant. Name one of its flies: M1, M2.',
        ),
        (
            "variant show HARE",
            'variant: there is no "HARE"; it is a material. See what there is: flybench variant list.',
        ),
        (
            "variant add Z1 --pattern MILL --hook-code MILL",
            '--hook-code: there is no "MILL"; it is a pattern. See what there is: flybench material list.',
        ),
        ("variant change MILL-28-14 --price 4_00", '--price: "4_00" is not a price. Write it as 2.40, zero or more.'),
        ("material change H14 --hook 1_4", '--hook: "1_4" is not a whole number. Write it as 14.'),
        ("material change H14 --hook ١٤", '--hook: "١٤" is not a whole number. Write it as 14.'),
        ("material change HARE --pack 2_0 --price 3", '--pack: "2_0" is not a number. Write it as 25.'),
        ("material change H16 --pack 20", "--price: is missing. Give a pack and its price together, or neither."),
        ("material change H16 --price 20", "--pack: is missing. Give a pack and its price together, or neither."),
    ],
)  # fmt: skip
def test_messages_say_what_was_meant(run: Run, arguments: str, message: str) -> None:
    said = run(*arguments.split())
    assert (said.code, said.out, said.err) == (1, "", f"Error: {message}\n")


@pytest.mark.parametrize(
    ("typed", "cure"),
    [
        ("6,50 EUR", "Write it as 6.50, without a currency and with a point"),
        ("EUR 6.50", "Write it as 6.50, without a currency"),
        ("€6,5", "Write it as 6.5, without a currency and with a point"),
        ("3,20", "Write it as 2.40, zero or more; write 3.20 with a point"),
        ("-3 EUR", "Write it as 2.40, zero or more"),
    ],
)
def test_prices_with_a_currency(run: Run, typed: str, cure: str) -> None:
    said = run("variant", "change", "MILL-28-14", "--price", typed)
    assert (said.code, said.err) == (1, f'Error: --price: "{typed}" is not a price. {cure}.\n')


@pytest.mark.parametrize("sign", ["\u202e", "\u2066", "\u200f", "\ufeff", "\u2028", "\u00ad"])
def test_signs_that_turn_or_hide_letters_are_refused_in_names(run: Run, sign: str) -> None:
    said = run("pattern", "change", "MILL", "--name", f"Mill{sign}Pond")
    assert (said.code, said.err) == (
        1,
        f"Error: --name: has the control character U+{ord(sign):04X} in it. Take it out.\n",
    )
    assert run("pattern", "change", "MILL", "--name", "نی‌نوا").code == 0  # Persian cannot do without U+200C


def test_other_names_of_commands_are_answered(run: Run) -> None:
    said = run("fly", "edit", "M1")
    assert said.code == 2
    assert said.err.endswith(
        'Error: No such command "edit". Fields are changed with: flybench fly change CODE.\n'
    )
    assert run("material", "delete", "H14").err.endswith("flybench material remove CODE.\n")
    assert "No such command" in run("fly", "sing").err


@pytest.mark.parametrize(
    "text",
    [
        "code;kind;name;diameter_mm;metal;bore;pack;price\nZ1;bead;Z;2,85;brass;countersunk;20;5,50\n",
        'code,kind,name,diameter_mm,metal,bore,pack,price\nZ1,bead,Z,"2,85",brass,countersunk,20,"5,50"\n,,,,,,,\n,,,,,,,\n',
        "code;kind;name;diameter_mm;metal;bore;pack;price\nZ1;bead;Z;2.85;brass;countersunk;20;5.50\n;;;;;;;\n\n ; ;;;;;;\n",
    ],
)  # fmt: skip
def test_spreadsheets_of_other_countries_and_blank_ends(run: Run, tmp_path: Path, text: str) -> None:
    file = tmp_path / "beads.csv"
    file.write_text(text, encoding="utf-8")
    assert run("material", "import-csv", file).out == "Added 1 material.\n"
    shown = dict(line.split(None, 1) for line in run("material", "show", "Z1").out.splitlines())
    assert (shown["diameter"], shown["price"], shown["pack"]) == ("2.85 mm", "5.50", "20")


@pytest.mark.parametrize(("cell", "cure"), [('"1,250"', ""), ("2_8", "")])
def test_numbers_of_a_spreadsheet_that_may_mean_two_things(
    run: Run, tmp_path: Path, cell: str, cure: str
) -> None:
    file = tmp_path / "flies.csv"
    file.write_text(f"code,variant,mass_mg\nZ1,MILL-28-14,{cell}\n", encoding="utf-8")
    said = run("fly", "import-csv", file)
    assert said.code == 1
    assert said.err.startswith(f'Error: {file}, line 2, mass_mg: "{cell.strip(chr(34))}" is not a number.')


def test_thread_is_told_in_metres(run: Run) -> None:
    run("material", "add", "TH", "--kind", "thread", "--name", "Thread", "--unit", "mm")
    assert run("stock", "in", "TH", "10800", "--material").out == "TH: 10.8 m in stock.\n"
    assert run("stock", "out", "TH", "10000", "--material").out == "TH: 800 mm in stock.\n"


def test_a_run_is_shown_with_its_drops_and_what_its_flags_mean(run: Run, tmp_path: Path) -> None:
    from flybench.catalog.store.open import open_catalog

    with open_catalog(str(tmp_path / "shop.sqlite")).writing() as session:
        kept = session.scalars(select(BenchRun)).one()
        kept.flags = ["drops-differ"]
        for drop in kept.drops:
            session.delete(drop)
        session.flush()
        common = {"start_s": 0.0, "end_s": 1.0, "frames_used": 200, "path_tilt_deg": 0.0, "used": True}
        for number, speed in ((1, 0.30), (2, None)):
            session.add(
                RunDrop(
                    run_id=kept.id, number=number, sink_speed_m_s=speed, flags=[], **common,
                    uncertainty_m_s=None if speed is None else 0.002,
                )
            )  # fmt: skip
        number = kept.id
    lines = run("run", "show", str(number)).out.splitlines()
    drops = lines.index("Drops:")
    assert [" ".join(line.split()) for line in lines[drops + 1 : drops + 3]] == [
        "1 30.0 ± 0.4 cm/s",
        "2 no speed",
    ]
    assert lines[lines.index("What the flags mean:") + 1].startswith("  drops-differ  ")


def test_materials_are_listed_with_their_prices(run: Run) -> None:
    head, *rows = run("material", "list", "kind:bead").out.splitlines()
    assert head.split()[:4] == ["code", "kind", "name", "price"]
    assert any(row.split()[-3:] and "5.00" in row for row in rows)
