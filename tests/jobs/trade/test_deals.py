"""What a sale or a delivery was made in stays with it, whatever is set later; retired things are told where they move."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path

import pytest
from console import Said, flybench
from demo_catalog import rows_of

from flybench.catalog.store.open import Catalog, open_catalog

Capture = pytest.CaptureFixture[str]
SECOND_REVISION = Path(__file__).parents[2] / "catalog" / "schemas" / "0002.sql"


@pytest.fixture(autouse=True)
def _wide(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "120")


def _ran(capsys: Capture, *words: str) -> Said:
    said = flybench(capsys, *words)
    assert said.code == 0, (words, said.err)
    return said


def _table(text: str) -> list[str]:
    """Return the lines of a table with one blank between its cells."""
    return [" ".join(line.split()) for line in text.splitlines()]


def test_sales_keep_their_currency_and_tax(catalog: Catalog, capsys: Capture) -> None:
    today = date.today().isoformat()
    _ran(capsys, "stock", "delivery", "reed-slip-12=20", "hk-jig-12=100@26")
    for currency, tax in (("EUR", "19"), ("EUR", "7.25"), ("CHF", "")):
        _ran(capsys, "catalog", "money", "--currency", currency, "--tax", tax)
        _ran(capsys, "stock", "sale", "reed-slip-12=2")  # at 2.90
    _ran(capsys, "catalog", "money", "--currency", "USD", "--tax", "5")
    said = _ran(capsys, "stock", "report", "--from", today)
    assert _table(said.out) == [
        # 5.80 x 19 / 119 = 0.926, 5.80 x 7.25 / 107.25 = 0.392
        f"From {today} until {today}: flies sold for EUR 5.80, 19 % tax of EUR 0.93 within it; "
        "EUR 5.80, 7.25 % tax of EUR 0.39 within it; CHF 5.80.",
        "flies why change unit money",
        "reed-slip-12 bought +20 flies",
        "reed-slip-12 sold -4 flies EUR 11.60",
        "reed-slip-12 sold -2 flies CHF 5.80",
        "materials why change unit money",
        "hk-jig-12 bought +100 piece 26.00",  # bought before any currency was set
    ]
    told = json.loads(_ran(capsys, "stock", "report", "--from", today, "--json").out)
    assert (told["currency"], told["takings"]) == ("USD", "0")
    assert told["sales"] == [
        {"currency": "EUR", "total": "5.80", "tax_percent": "19", "tax_within": "0.93"},
        {"currency": "EUR", "total": "5.80", "tax_percent": "7.25", "tax_within": "0.39"},
        {"currency": "CHF", "total": "5.80", "tax_percent": None, "tax_within": None},
    ]


def test_a_delivery_keeps_its_supplier(catalog: Catalog, capsys: Capture) -> None:
    Path("in.csv").write_text("code,amount,price,supplier\nhk-jig-12,25,6.50,Wire & Sons\nth-char,1000,,\n")
    _ran(capsys, "catalog", "money", "--currency", "EUR")
    _ran(capsys, "stock", "delivery", "--file", "in.csv", "--supplier", "Northern Hooks", "--note", "slip 7")
    log = _table(_ran(capsys, "stock", "log", "hk-jig-12", "--material").out)
    assert log[0] == "when change in stock why money supplier note"
    assert log[1].split(" ", 2)[2] == "+25 25 bought EUR 6.50 Wire & Sons slip 7"
    (told,) = json.loads(_ran(capsys, "stock", "log", "th-char", "--material", "--json").out)
    assert told.pop("at")
    assert told == {
        "amount": 1000.0,
        "why": "bought",
        "note": "slip 7",
        "on_hand": 1000.0,
        "price": None,
        "money": None,
        "currency": "",
        "tax_percent": None,
        "supplier": "Northern Hooks",
    }
    said = flybench(capsys, "stock", "delivery", "th-char=1", "--supplier", "a\x07b")
    assert (said.code, said.err) == (
        1,
        "Error: --supplier: has the control character '\\x07' in it. Take it out.\n",
    )
    said = flybench(capsys, "stock", "sale", "--file", "in.csv")
    assert (said.code, said.err) == (
        1,
        'Error: in.csv, line 1: "supplier" is not a column of goods. Columns: code, amount, price, note.\n',
    )


def test_what_is_retired_is_told_where_it_moves(catalog: Catalog, capsys: Capture) -> None:
    today = date.today().isoformat()
    _ran(capsys, "stock", "delivery", "reed-slip-12=5", "moss-hackle-12=5", "hk-jig-12=50")
    _ran(capsys, "variant", "retire", "reed-slip-12")
    _ran(capsys, "pattern", "retire", "moss-hackle", "--on", "2026-05-01")
    _ran(capsys, "material", "retire", "hk-jig-12")
    of_variant = f"reed-slip-12 was retired on {today}.\n"
    of_pattern = "moss-hackle-12: its pattern moss-hackle was retired on 2026-05-01.\n"
    assert _ran(capsys, "stock", "sale", "reed-slip-12", "reed-slip-12", "moss-hackle-12").err == (
        of_variant + of_pattern
    )
    assert _ran(capsys, "stock", "delivery", "hk-jig-12=1").err == f"hk-jig-12 was retired on {today}.\n"
    assert of_variant in _ran(capsys, "stock", "tied", "reed-slip-12=1").err
    assert _ran(capsys, "stock", "out", "reed-slip-12", "1").err == of_variant
    listed = _table(_ran(capsys, "variant", "list", "reed-slip", "--columns", "code,retired").out)
    assert f"reed-slip-12 {today}" in listed


def test_lists_show_a_column_of_what_is_retired(catalog: Catalog, capsys: Capture) -> None:
    for noun, code in (
        ("fly", "first-of-all"),
        ("variant", "reed-slip-12"),
        ("pattern", "reed-slip"),
        ("material", "hk-jig-12"),
    ):
        if noun == "fly":
            _ran(capsys, "fly", "add", code, "--variant", "reed-slip-12")
        assert "retired" not in _ran(capsys, noun, "list").out.splitlines()[0].split()
        _ran(capsys, noun, "retire", code, "--on", "2026-05-01")
        head, *rows = _table(_ran(capsys, noun, "list", "--limit", "0").out)
        assert "retired" in head.split()
        assert [row.split()[0] for row in rows if "2026-05-01" in row] == [code]


def test_a_day_to_come_is_refused(catalog: Catalog, capsys: Capture) -> None:
    tomorrow = (date.today() + timedelta(days=2)).isoformat()
    before = rows_of(catalog, ())
    for words, where in (
        (("retire", "reed-slip-12", "--on", tomorrow), "--on"),
        (("change", "reed-slip-12", "--retired", tomorrow), "--retired"),
    ):
        said = flybench(capsys, "variant", *words)
        cure = "Give today or a day before, and retire it on that day."
        assert (said.code, said.err) == (1, f"Error: {where}: {tomorrow} is still to come. {cure}\n")
    said = flybench(capsys, "variant", "retire", "reed-slip-12", "--on", "31.02.")
    assert (said.code, said.err) == (
        1,
        'Error: --on: "31.02." is not a date. Write it as year-month-day, such as 2026-03-14.\n',
    )
    assert rows_of(catalog, ()) == before


@pytest.mark.slow
def test_labels_of_what_is_retired_are_asked_for(catalog: Catalog, capsys: Capture) -> None:
    _ran(capsys, "variant", "retire", "reed-slip-12")
    _ran(capsys, "pattern", "retire", "moss-hackle")
    said = _ran(capsys, "print", "labels", "reed-slip or moss-hackle", "--json", "--output", "a.pdf")
    told = json.loads(said.out)
    gone = told["retired"]
    assert "reed-slip-12" in gone
    assert all(code == "reed-slip-12" or code.startswith("moss-hackle") for code in gone)
    said = _ran(capsys, "print", "labels", "retired:any", "--json", "--output", "b.pdf")
    assert (json.loads(said.out)["labels"], json.loads(said.out)["retired"]) == (1, [])
    said = flybench(capsys, "print", "labels", "pattern:moss-hackle", "--output", "c.pdf")
    assert (said.code, said.err) == (
        1,
        "Error: There are no labels to print: all that the query finds is retired. Ask for it with retired:any, or widen "
        "the query.\n",
    )


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            "delivery hk-jig-12=1.5",
            "hk-jig-12, amount: 1.5 is not a whole number of hooks. Give whole hooks.",
        ),
        (
            "take bd-tu-sl-33=1.5 --yes",
            "bd-tu-sl-33, amount: 1.5 is not a whole number of beads. Give whole beads.",
        ),
        (
            "in hk-jig-12 1.5 --material",
            "AMOUNT: 1.5 is not a whole number of hooks. Give whole hooks.",
        ),
        (
            "count bd-tu-sl-33 2.5 --material",
            "AMOUNT: 2.5 is not a whole number of beads. Give whole beads.",
        ),
    ],
)
def test_hooks_and_beads_come_whole(catalog: Catalog, capsys: Capture, words: str, message: str) -> None:
    before = rows_of(catalog, ())
    said = flybench(capsys, "stock", *words.split())
    assert (said.code, said.err) == (1, f"Error: {message}\n")
    assert rows_of(catalog, ()) == before
    _ran(capsys, "stock", "in", "th-char", "0.5", "--material")  # half a millimetre of thread may be


def test_a_tax_finer_than_sales_keep_is_refused(catalog: Catalog, capsys: Capture) -> None:
    said = flybench(capsys, "catalog", "money", "--tax", "8.8750001")
    assert (said.code, said.err) == (
        1,
        'Error: --tax: "8.8750001" is finer than is kept. Give at most 6 digits behind the point.\n',
    )


def test_sales_before_this_version_keep_what_was_set_then(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "old.sqlite"
    with closing(sqlite3.connect(path)) as file:
        file.executescript(SECOND_REVISION.read_text(encoding="utf-8"))
        file.execute("INSERT INTO setting VALUES ('tax', '7.5')")
        number = "(SELECT max(id) + 1 FROM fly_movement)"
        values = "1, '2026-03-01 12:00:00.000000'"
        columns = "id, variant_id, at, amount, why, note, price"
        for amount, why, price in ((30, "bought", "12"), (-2, "sold", "2.5"), (-1, "sold", "NULL")):
            file.execute(
                f"INSERT INTO fly_movement ({columns}) VALUES ({number}, {values}, {amount}, '{why}', '', {price})"
            )
        file.commit()
    with open_catalog(str(path)).reading():
        pass
    _ran(capsys, "catalog", "money", "--catalog", str(path), "--currency", "USD", "--tax", "5")
    words = ("--from", "2026-03-01", "--until", "2026-03-02", "--json", "--catalog", str(path))
    told = json.loads(_ran(capsys, "stock", "report", *words).out)
    assert told["sales"] == [
        {"currency": "EUR", "total": "5.00", "tax_percent": "7.5", "tax_within": "0.35"}  # 5 x 7.5 / 107.5
    ]
    assert [(one["why"], one["currency"], one["money"]) for one in told["flies"]] == [
        ("bought", "EUR", "12.00"),
        ("sold", "EUR", "5.00"),
    ]
