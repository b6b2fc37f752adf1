"""The list of what is in stock, and of what to order or to tie; and the log of codes that nothing has."""

from __future__ import annotations

import json

import pytest
from console import Said, flybench

from flybench.catalog.store.open import Catalog

Capture = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def _wide(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "140")


def _ran(capsys: Capture, *words: str) -> Said:
    said = flybench(capsys, *words)
    assert said.code == 0, (words, said.err)
    return said


def _table(text: str) -> list[str]:
    """Return the lines of a table with one blank between its cells."""
    return [" ".join(line.split()) for line in text.splitlines()]


def _with_levels(capsys: Capture) -> None:
    _ran(capsys, "catalog", "money", "--currency", "EUR")
    for code, level, supplier in (("hk-jig-12", "100", "Wire & Sons"), ("th-char", "50000", "A Mill")):
        _ran(capsys, "material", "change", code, "--reorder", level, "--supplier", supplier, "--bin", "C4")
    _ran(capsys, "material", "change", "hk-jig-12", "--pack", "25", "--price", "6.50")
    _ran(capsys, "material", "change", "th-char", "--pack", "", "--price", "")
    _ran(capsys, "material", "change", "bd-tu-sl-33", "--reorder", "10")
    _ran(capsys, "variant", "change", "reed-slip-12", "--reorder", "12", "--bin", "A1")
    _ran(
        capsys,
        *("stock", "delivery", "hk-jig-12=30", "th-char=1000.5", "bd-tu-sl-33=10", "reed-slip-12=5"),
    )


def test_what_is_below_its_level_is_listed_with_what_to_order(catalog: Catalog, capsys: Capture) -> None:
    _with_levels(capsys)
    said = _ran(capsys, "stock", "list", "--below")
    assert _table(said.out) == [
        "material name in stock reorder at to order unit packs cost supplier bin",
        "th-char Fine thread, charcoal 1000.5 50000 48999.5 mm A Mill C4",
        # 70 hooks are missing: three packs of 25 for 6.50 each
        "hk-jig-12 Jig hook 12 30 100 75 piece 3 19.50 Wire & Sons C4",
        "fly name in stock reorder at to tie unit bin",
        "reed-slip-12 Reed Slip 5 12 7 flies A1",
        "To order for EUR 19.50; 1 material without a price not counted.",
    ]
    assert said.err.endswith(
        " things have no reorder level. Set one with: flybench material change CODE --reorder 50, or flybench variant "
        "change CODE --reorder 12\n"
    )
    told = json.loads(_ran(capsys, "stock", "list", "--below", "--materials", "--json").out)
    assert (told["currency"], told["cost"]) == ("EUR", "19.50")
    assert told["lines"][1] == {
        "noun": "material",
        "code": "hk-jig-12",
        "name": "Jig hook 12",
        "unit": "piece",
        "on_hand": 30.0,
        "level": 100.0,
        "to_order": 75.0,
        "packs": 3,
        "cost": "19.50",
        "supplier": "Wire & Sons",
        "bin": "C4",
    }


def test_what_was_ordered_is_enough(catalog: Catalog, capsys: Capture) -> None:
    _with_levels(capsys)
    _ran(capsys, "stock", "delivery", "hk-jig-12=75", "th-char=48999.5", "reed-slip-12=7")
    said = _ran(capsys, "stock", "list", "--below")
    assert (said.out, said.err.splitlines()[0]) == ("", "Nothing is below its reorder level.")


def test_retired_things_are_not_ordered(catalog: Catalog, capsys: Capture) -> None:
    _with_levels(capsys)
    _ran(capsys, "material", "retire", "hk-jig-12")
    _ran(capsys, "pattern", "retire", "reed-slip")
    told = json.loads(_ran(capsys, "stock", "list", "--below", "--json").out)
    assert [one["code"] for one in told["lines"]] == ["th-char"]


def test_all_that_a_query_finds_is_listed(catalog: Catalog, capsys: Capture) -> None:
    _with_levels(capsys)
    told = json.loads(_ran(capsys, "stock", "list", "--materials", "supplier:mill", "--json").out)
    assert [(one["code"], one["on_hand"]) for one in told["lines"]] == [("th-char", 1000.5)]
    assert _table(_ran(capsys, "stock", "list", "--flies", "stock:>0").out) == [
        "fly name in stock reorder at to tie unit bin",
        "reed-slip-12 Reed Slip 5 12 7 flies A1",
    ]
    said = _ran(capsys, "stock", "list", "--flies", "stock:>999")
    assert (said.out, said.err.splitlines()[-1]) == ("", "Nothing was found.")
    said = flybench(capsys, "stock", "list", "supplier:mill")
    assert (said.code, said.err.splitlines()[-1]) == (
        1,
        'Error: query: variants have no field "supplier"; materials have one. The fields of variants are code, pattern, '
        "name, style, hook, hook-code, bead, bead-code, metal, bore, price, stock, based-on, flies, sink, spread, measured, "
        "reorder, bin, retired, notes.",
    )
    said = flybench(capsys, "stock", "list", "--flies", "--materials")
    assert said.code == 2


@pytest.mark.parametrize(
    ("code", "message"),
    [
        ("reed-slp-12", 'nothing has, or had, the code "reed-slp-12". Did you mean reed-slip-12?'),
        ("zzz", 'nothing has, or had, the code "zzz". See what was changed: flybench catalog log.'),
    ],
)
def test_the_log_of_a_code_that_nothing_has(
    catalog: Catalog, capsys: Capture, code: str, message: str
) -> None:
    said = flybench(capsys, "catalog", "log", code)
    assert (said.code, said.out, said.err) == (1, "", f"Error: CODE: {message}\n")


def test_the_log_of_what_is_gone_or_was_scanned(catalog: Catalog, capsys: Capture) -> None:
    _ran(capsys, "material", "add", "silk-red", "--kind", "thread", "--name", "Red silk")
    _ran(capsys, "material", "remove", "silk-red", "--yes")
    told = json.loads(_ran(capsys, "catalog", "log", "SILK-RED", "--json").out)
    assert len(told) == 2
    _ran(capsys, "stock", "in", "reed-slip-12", "3")
    scanned = "https://shop.example/flies/reed-slip-12"
    assert json.loads(_ran(capsys, "catalog", "log", scanned, "--limit", "1", "--json").out)
