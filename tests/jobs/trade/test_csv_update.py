"""Spreadsheets that change what is there: shown first, all of it or nothing; what is not written in the file stays."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from console import Said, flybench
from demo_catalog import rows_of

from flybench.catalog.store.open import Catalog

Capture = pytest.CaptureFixture[str]


def _ran(capsys: Capture, *words: str) -> Said:
    said = flybench(capsys, *words)
    assert said.code == 0, (words, said.err)
    return said


def test_sixty_prices_in_one_command(
    catalog: Catalog, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = rows_of(catalog)
    old = json.loads(_ran(capsys, "variant", "list", "--limit", "0", "--json").out)
    prices = {one["code"]: f"{float(one['price'] or 2) + 0.3:.2f}" for one in old}
    assert len(prices) == 60
    Path("prices.csv").write_text(
        "code,price\n" + "".join(f"{code},{price}\n" for code, price in prices.items())
    )
    monkeypatch.setattr("click.termui.visible_prompt_func", lambda prompt: "n")
    said = flybench(capsys, "variant", "import-csv", "prices.csv", "--update")
    assert (said.code, said.out) == (1, "")
    assert "variant reed-slip-12: price 2.90 -> 3.20\n" in said.err
    assert "0 added, 60 changed, 0 lines without a change.\n" in said.err
    assert rows_of(catalog) == before
    monkeypatch.setattr("click.termui.visible_prompt_func", lambda prompt: "y")
    said = _ran(capsys, "variant", "import-csv", "prices.csv", "--update")
    assert said.out == "0 added, 60 changed, 0 lines without a change.\n"
    new = json.loads(_ran(capsys, "variant", "list", "--limit", "0", "--json").out)
    assert {one["code"]: one["price"] for one in new} == prices
    assert [{**one, "price": None} for one in new] == [{**one, "price": None} for one in old]
    _ran(capsys, "undo", "--yes")
    assert rows_of(catalog) == before


@pytest.mark.parametrize("noun", ["material", "pattern", "variant", "fly"])
def test_out_and_in_again_changes_nothing(catalog: Catalog, capsys: Capture, noun: str) -> None:
    _ran(capsys, "fly", "change", "reed-slip", "--mass", "0.2123 g +- 1.3 mg", "--tied", "2026-03-01")
    before = rows_of(catalog, ())
    _ran(capsys, noun, "list", "--csv", "out.csv")
    with Path("out.csv").open(newline="", encoding="utf-8") as file:
        count = len(list(csv.reader(file))) - 1
    said = _ran(capsys, noun, "import-csv", "out.csv", "--update", "--yes", "--json")
    assert json.loads(said.out) == {"noun": noun, "added": [], "changed": [], "unchanged": count}
    assert rows_of(catalog, ()) == before


def test_some_are_new_and_an_empty_cell_changes_nothing(catalog: Catalog, capsys: Capture) -> None:
    Path("flies.csv").write_text(
        "code,variant,mass_mg,mass_pm_mg,notes\nREED-SLIP,,212,2,\nnew-1,reed-slip-12,,,first\n"
    )
    _ran(capsys, "fly", "change", "reed-slip", "--notes", "keep me")
    said = _ran(capsys, "fly", "import-csv", "flies.csv", "--update", "--yes")
    assert said.out == "1 added, 1 changed, 0 lines without a change.\n"
    fly = json.loads(_ran(capsys, "fly", "show", "reed-slip", "--json").out)
    assert (fly["code"], fly["variant"], fly["notes"]) == ("reed-slip", "reed-slip-12", "keep me")
    assert (fly["mass_kg"], fly["mass_u_kg"]) == (pytest.approx(212e-6), pytest.approx(1e-6))
    assert json.loads(_ran(capsys, "fly", "show", "new-1", "--json").out)["notes"] == "first"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("price\n2.50\n", "line 1: the column code is missing. Add it, with a value in every line."),
        (
            "code,price\nreed-slip-12,2.50\nREED-SLIP-12,3\n",
            "line 3, code: REED-SLIP-12 is in line 2 too. Keep one of the two lines.",
        ),
        (
            "code,price\nreed-slip-12,2.50\nnew,3\n",
            "line 3, pattern: is missing, and there is no variant new in the catalog yet. Correct the code, or add it with "
            "a value in the column pattern.",
        ),
        (
            "code,price\nreed-slip-12,2.50\nslate-plump-10,-3\n",
            'line 3, price: "-3" is not a price. Write it as 2.40, zero or more.',
        ),
        (
            "code,based_on\nreed-slip-12,slate-plump-10\n",
            "line 2, based-on: slate-plump-10 is a variant of the pattern slate-plump, not of reed-slip. "
            "Base it on a variant of the same pattern.",
        ),
    ],
)
def test_a_line_that_cannot_be_keeps_all_out(
    catalog: Catalog, capsys: Capture, text: str, message: str
) -> None:
    Path("in.csv").write_text(text)
    before = rows_of(catalog, ())
    said = flybench(capsys, "variant", "import-csv", "in.csv", "--update", "--yes")
    assert (said.code, said.out, said.err) == (1, "", f"Error: in.csv, {message}\n")
    assert rows_of(catalog, ()) == before


def test_renamed_retired_and_brought_back(catalog: Catalog, capsys: Capture) -> None:
    before = rows_of(catalog)
    assert (
        _ran(capsys, "variant", "rename", "reed-slip-12", "RS12").out
        == "Renamed variant reed-slip-12 to RS12.\n"
    )
    assert json.loads(_ran(capsys, "fly", "show", "reed-slip", "--json").out)["variant"] == "RS12"
    for noun, code in (
        ("material", "hk-jig-12"),
        ("pattern", "reed-slip"),
        ("variant", "RS12"),
        ("fly", "reed-slip"),
    ):
        assert _ran(capsys, noun, "retire", code, "--on", "2026-05-01").out == f"Retired {noun} {code}.\n"
        assert json.loads(_ran(capsys, noun, "show", code, "--json").out)["retired"] == "2026-05-01"
        assert _ran(capsys, noun, "retire", code, "--back").out == f"Brought back {noun} {code}.\n"
    _ran(capsys, "variant", "rename", "RS12", "reed-slip-12")
    assert rows_of(catalog) == before
    said = flybench(capsys, "variant", "rename", "reed-slip-12", "slate-plump-10")
    assert (said.code, said.err) == (
        1,
        "Error: code: there is a variant slate-plump-10 already. Choose another code, or change that one.\n",
    )


def test_flies_get_numbers_by_themselves(catalog: Catalog, capsys: Capture) -> None:
    add = ("fly", "add", "--variant", "reed-slip-12")
    assert _ran(capsys, *add).out == "Added fly 1.\n"
    _ran(capsys, "fly", "add", "41", "--variant", "reed-slip-12")
    assert _ran(capsys, *add).out == "Added fly 42.\n"
    _ran(capsys, "fly", "remove", "42", "--yes")
    assert _ran(capsys, *add).out == "Added fly 43.\n"  # what was on a label once is not given again
    said = flybench(capsys, "variant", "add", "--pattern", "reed-slip", "--hook-code", "hk-jig-12")
    assert said.code == 2


_NOT_READ = (
    "These columns are not read, as they are worked out or kept by other commands: name, stock. 0 added"
)


def test_columns_that_are_not_read_are_named(
    catalog: Catalog, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    Path("v.csv").write_text("code,name,price,stock\nreed-slip-12,Another,3.20,99\n")
    monkeypatch.setattr("click.termui.visible_prompt_func", lambda prompt: "y")
    said = _ran(capsys, "variant", "import-csv", "v.csv", "--update")
    assert _NOT_READ in " ".join(said.err.split())
    said = _ran(capsys, "variant", "import-csv", "v.csv", "--update", "--yes")
    assert _NOT_READ in " ".join((said.err + said.out).split())


def test_a_variant_does_not_leave_those_behind_that_are_based_on_it(
    catalog: Catalog, capsys: Capture
) -> None:
    before = rows_of(catalog, ())
    said = flybench(capsys, "variant", "change", "moss-hackle-12", "--pattern", "reed-slip")
    assert (said.code, said.out, said.err) == (
        1,
        "",
        "Error: --pattern: moss-hackle-12 cannot go to reed-slip: based on it, and of another pattern: moss-hackle-12s. "
        'Give those an empty base first (--based-on "").\n',
    )
    assert rows_of(catalog, ()) == before
    _ran(capsys, "variant", "change", "moss-hackle-12", "--pattern", "moss-hackle")
    _ran(capsys, "variant", "change", "moss-hackle-12s", "--based-on", "")
    _ran(capsys, "variant", "change", "moss-hackle-12", "--pattern", "reed-slip")
