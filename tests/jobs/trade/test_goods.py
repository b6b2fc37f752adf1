"""Deliveries, sales, counts and tying: many things in one command or from a file, all of them or none."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest
from console import Said, flybench
from demo_catalog import rows_of

from flybench.catalog.store.open import Catalog

Capture = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def _wide(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "100")


def _ran(capsys: Capture, *words: str) -> Said:
    said = flybench(capsys, *words)
    assert said.code == 0, (words, said.err)
    return said


def _squeezed(text: str) -> str:
    """Return a table with one blank between its cells."""
    return "".join(" ".join(line.split()) + "\n" for line in text.splitlines())


def _refused(capsys: Capture, catalog: Catalog, *words: str) -> str:
    before = rows_of(catalog, ())
    said = flybench(capsys, *words)
    assert (said.code, said.out) == (1, ""), words
    assert rows_of(catalog, ()) == before, "a refused command changed something"
    return said.err


def test_from_a_delivery_to_the_till(catalog: Catalog, capsys: Capture) -> None:
    _ran(capsys, "catalog", "money", "--currency", "EUR", "--tax", "19")
    assert _squeezed(
        _ran(capsys, "stock", "delivery", "hk-jig-12=100@26", "bd-tu-sl-33=50", "TH-CHAR=20000").out
    ) == (
        "code name before change now unit price sum\n"
        "hk-jig-12 Jig hook 12 0 +100 100 piece 26.00\n"
        "bd-tu-sl-33 Tungsten bead 3.3 mm, slotted 0 +50 50 piece\n"
        "th-char Fine thread, charcoal 0 +20000 20000 mm\n"
        "1 line, EUR 26.00 in all.\n"  # the shop's own tax says nothing of what it pays
    )
    said = _ran(capsys, "stock", "tied", "reed-slip-12=12")
    assert _squeezed(said.out) == (
        "code name before change now unit\n"
        "reed-slip-12 Reed Slip 0 +12 12 flies\n"
        "hk-jig-12 Jig hook 12 100 -12 88 piece\n"
        "bd-tu-sl-33 Tungsten bead 3.3 mm, slotted 50 -12 38 piece\n"
        "th-char Fine thread, charcoal 20000 -10800 9200 mm\n"  # 12 x 900 mm of the recipe
    )
    assert said.err == "".join(
        f"{code}: its stock is not kept, so none was taken off.\n"
        for code in ("ta-coq", "wi-cop-10", "re-thin")
    )
    assert _squeezed(
        _ran(capsys, "stock", "sale", "reed-slip-12=3", "reed-slip-12", "reed-slip-12=2@2.50").out
    ) == (
        "code name before change now unit price sum\n"
        "reed-slip-12 Reed Slip 12 -3 9 flies 2.90 8.70\n"
        "reed-slip-12 Reed Slip 9 -1 8 flies 2.90 2.90\n"
        "reed-slip-12 Reed Slip 8 -2 6 flies 2.50 5.00\n"
        "3 lines, EUR 16.60 in all, 19 % tax of EUR 2.65 within it.\n"  # 16.6 x 19 / 119 = 2.6504
    )
    taken = json.loads(_ran(capsys, "stock", "take", "reed-slip-12=5", "hk-jig-12=88", "--yes", "--json").out)
    assert [(one["code"], one["before"], one["amount"], one["after"]) for one in taken["lines"]] == [
        ("reed-slip-12", 6, -1, 5),
        ("hk-jig-12", 88, 0, 88),
    ]
    for _ in range(4):
        _ran(capsys, "undo", "--yes")
    assert rows_of(catalog)["fly_movement"] == rows_of(catalog)["material_movement"] == []


def test_a_file_of_goods(catalog: Catalog, capsys: Capture) -> None:
    Path("in.csv").write_text(
        "\ufeffCode, amount ,price,note\nreed-slip-12,10,,box 1\nhk-jig-12,25,6.50,\n,,,\n"
    )
    done = json.loads(_ran(capsys, "stock", "delivery", "--file", "in.csv", "--note", "slip 7", "--json").out)
    assert done["total"] == "6.50"
    log = json.loads(_ran(capsys, "stock", "log", "hk-jig-12", "--material", "--json").out)
    assert [(one["amount"], one["why"], one["note"]) for one in log] == [(25, "bought", "slip 7")]
    log = json.loads(_ran(capsys, "stock", "log", "reed-slip-12", "--json").out)
    assert [(one["amount"], one["why"], one["note"]) for one in log] == [(10, "bought", "box 1")]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "code,amount\nreed-slip-12,1\nred-slip-12,1\n",
            'line 3, variant: there is no "red-slip-12". Did you mean reed-slip-12?',
        ),
        (
            "code,amount\nreed-slip-12,1.5\n",
            "line 2, reed-slip-12, amount: 1.5 is not a whole number of flies. Give whole flies.",
        ),
        ("code,amount\nreed-slip-12,-1\n", "line 2, reed-slip-12, amount: -1 is below 0. Check the number."),
        (
            "code,amount\nreed-slip-12,0\n",
            "line 2, reed-slip-12, amount: is zero. Give how many came or went, above zero.",
        ),
        (
            "code,amount,price\nreed-slip-12,1,2.555\n",
            'line 2, reed-slip-12, price: "2.555" is not a price. Write it as 2.40, zero or more.',
        ),
        (
            "code,number\nreed-slip-12,1\n",
            'line 1: "number" is not a column of goods. Columns: code, amount, price, note, supplier.',
        ),
        (
            "code,price\nreed-slip-12,1\n",
            "line 1: the column amount is missing. Add it, with a value in every line.",
        ),
        (
            "code,amount,price\nreed-slip-12,1,2,50\n",
            "line 2: has 4 cells, but the first line has 3. Correct that line.",
        ),
        (
            "code,amount,amount\nreed-slip-12,1,2\n",
            "line 1: the column amount is there twice. Keep one of them.",
        ),
        (
            "code,amount\nreed-slip-12,\n",
            "line 2, reed-slip-12, amount: is empty. Give how many came or went.",
        ),
        (
            "code,amount,note\nreed-slip-12,1,a\x07b\n",
            "line 2, reed-slip-12, note: has the control character '\\x07' in it. Take it out.",
        ),
    ],
)
def test_a_line_that_cannot_be_keeps_all_out(
    catalog: Catalog, capsys: Capture, text: str, message: str
) -> None:
    Path("in.csv").write_text(text)
    assert _refused(capsys, catalog, "stock", "delivery", "--file", "in.csv") == f"Error: in.csv, {message}\n"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["sale"], "No goods were named. Name them as CODE=AMOUNT, or in a CSV file with --file FILE."),
        (
            ["sale", "hk-jig-12=1"],
            'variant: there is no "hk-jig-12"; it is a material. See what there is: flybench variant list.',
        ),
        (
            ["sale", "reed-slip-12=1"],
            "1 of reed-slip-12 cannot be taken out; there are 0 in stock. Give less, or correct the stock after a "
            "count with: flybench stock count reed-slip-12 AMOUNT.",
        ),
        (
            ["take", "reed-slip-12=1", "REED-SLIP-12=2", "--yes"],
            "reed-slip-12: is counted twice. Add the two up, and give it once; nothing was changed.",
        ),
        (["delivery", "reed-slip-12=x"], 'reed-slip-12, amount: "x" is not a number. Write it as 25.'),
    ],
)
def test_goods_that_cannot_be(catalog: Catalog, capsys: Capture, words: list[str], message: str) -> None:
    assert _refused(capsys, catalog, "stock", *words) == f"Error: {message}\n"


def test_a_code_of_two_things_is_asked_for(catalog: Catalog, capsys: Capture) -> None:
    _ran(capsys, "material", "change", "th-char", "--code", "reed-slip-12")
    assert _refused(capsys, catalog, "stock", "delivery", "reed-slip-12=1") == (
        "Error: reed-slip-12: is the code of a variant and of a material. "
        "Write variant:reed-slip-12 or material:reed-slip-12.\n"
    )
    said = _ran(capsys, "stock", "delivery", "variant:reed-slip-12=1", "material:reed-slip-12=5", "--json")
    assert [one["unit"] for one in json.loads(said.out)["lines"]] == ["flies", "mm"]


def test_tying_with_too_little_on_the_shelf(catalog: Catalog, capsys: Capture) -> None:
    _ran(capsys, "stock", "delivery", "hk-jig-12=10", "th-char=1000")
    assert _refused(capsys, catalog, "stock", "tied", "reed-slip-12=12") == (
        "Error: There is not enough of hk-jig-12 (12 needed, 10 in stock), th-char (10800 needed, 1000 in stock). "
        "Nothing was changed. Correct the stock with flybench stock count, or add --even-if-short to take what there is.\n"
    )
    said = _ran(capsys, "stock", "tied", "reed-slip-12=12", "--even-if-short", "--json")
    done = json.loads(said.out)
    assert [(one["code"], one["amount"], one["after"]) for one in done["lines"]] == [
        ("reed-slip-12", 12, 12),
        ("hk-jig-12", -10, 0),
        ("th-char", -1000, 0),
    ]
    assert done["remarks"][-1] == (
        "There was not enough of hk-jig-12 (12 needed, 10 in stock), th-char (10800 needed, 1000 in stock); "
        "what there was is taken off."
    )


@pytest.mark.parametrize(
    "scanned",
    [
        "reed-slip-12",
        "Reed-Slip-12",
        "reed-slip-12 Reed Slip 42",
        "https://shop.example/flies/reed-slip-12",
        "https://shop.example/?fly=reed-slip-12",
        "https://shop.example/?fly=reed-slip-12&from=label",
    ],
)
def test_what_a_scanner_types_is_as_good_as_the_code(catalog: Catalog, capsys: Capture, scanned: str) -> None:
    _ran(capsys, "stock", "delivery", scanned)
    assert _ran(capsys, "stock", "sale", f"{scanned}=1").out.splitlines()[1].split()[0] == "reed-slip-12"
    assert json.loads(_ran(capsys, "variant", "show", scanned, "--json").out)["code"] == "reed-slip-12"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--tax", "nineteen"], '--tax: "nineteen" is not a tax in per cent. Write it as "19 %".'),
        (["--tax", "0.19"], '--tax: "0.19" is less than one per cent. Write it as "19 %" if that is meant.'),
        (["--tax", "-3"], '--tax: "-3" is not a tax in per cent. Write it as "19 %".'),
        (["--currency", "E\x1bR"], "--currency: has the control character '\\x1b' in it. Take it out."),
        (["--currency", "doubloons"], '--currency: "doubloons" is longer than 8 letters. Write it as EUR.'),
    ],
)
def test_money_that_is_none(catalog: Catalog, capsys: Capture, words: list[str], message: str) -> None:
    assert _refused(capsys, catalog, "catalog", "money", *words) == f"Error: {message}\n"


def test_money_is_kept_once(catalog: Catalog, capsys: Capture) -> None:
    assert _ran(capsys, "catalog", "money").out == "No currency is set.\nNo tax is set.\n"
    _ran(capsys, "catalog", "money", "--currency", "CHF", "--tax", "8.10 %")
    told = json.loads(_ran(capsys, "catalog", "money", "--json").out)
    assert told == {"currency": "CHF", "tax_percent": "8.1"}
    _ran(capsys, "catalog", "money", "--tax", "19,5 %")
    assert json.loads(_ran(capsys, "catalog", "money", "--json").out)["tax_percent"] == "19.5"
    _ran(capsys, "catalog", "money", "--tax", "")
    assert _ran(capsys, "catalog", "money").out == "Prices are in CHF.\nNo tax is set.\n"
    said = _ran(capsys, "catalog", "money", "--currency", "EUR")
    assert " ".join(said.err.split()) == "No price was converted: what was typed in CHF now stands as EUR."


def test_a_report_of_what_was_sold_and_used(catalog: Catalog, capsys: Capture) -> None:
    today = date.today().isoformat()
    _ran(capsys, "catalog", "money", "--currency", "EUR", "--tax", "19")
    _ran(capsys, "stock", "delivery", "hk-jig-12=100@26", "moss-hackle-12=5")
    _ran(capsys, "stock", "tied", "reed-slip-12=12")
    _ran(capsys, "stock", "sale", "reed-slip-12=3", "reed-slip-12=2@2.50")
    _ran(capsys, "variant", "change", "moss-hackle-12", "--price", "")
    _ran(capsys, "stock", "sale", "moss-hackle-12=1")
    said = _ran(capsys, "stock", "report", "--from", today)
    assert (
        _squeezed(said.out)
        == (
            f"From {today} until {today}: flies sold for EUR 13.70, 19 % tax of EUR 2.19 within it.\n"  # 3 x 2.90 + 2 x 2.50
            "flies why change unit money\n"
            "moss-hackle-12 bought +5 flies\n"
            "moss-hackle-12 sold -1 flies\n"
            "reed-slip-12 tied +12 flies\n"
            "reed-slip-12 sold -5 flies 13.70\n"
            "materials why change unit money\n"
            "hk-jig-12 bought +100 piece 26.00\n"
            "hk-jig-12 used -12 piece\n"
        )
    )
    assert said.err == "moss-hackle-12: 1 was sold without a price, and not counted in the takings.\n"
    told = json.loads(
        _ran(capsys, "stock", "report", "--from", "2026-01-01", "--until", "2026-01-31", "--json").out
    )
    assert (told["takings"], told["flies"], told["materials"]) == ("0", [], [])


def test_what_was_paid_for_flies_is_for_all_of_them(catalog: Catalog, capsys: Capture) -> None:
    said = _ran(capsys, "stock", "delivery", "reed-slip-12=10@12", "moss-hackle-12=3@10")
    assert _squeezed(said.out) == (
        "code name before change now unit price sum\n"
        "reed-slip-12 Reed Slip 0 +10 10 flies 12.00\n"
        "moss-hackle-12 Moss Hackle 0 +3 3 flies 10.00\n"
        "2 lines, 22.00 in all.\n"
    )
    told = json.loads(_ran(capsys, "stock", "report", "--json").out)
    assert [(one["code"], one["amount"], one["money"]) for one in told["flies"]] == [
        ("moss-hackle-12", 3, "10.00"),
        ("reed-slip-12", 10, "12.00"),
    ]
    assert told["takings"] == "0"


def test_several_flies_sold_without_a_price(catalog: Catalog, capsys: Capture) -> None:
    _ran(capsys, "variant", "change", "moss-hackle-12", "--price", "")
    _ran(capsys, "stock", "delivery", "moss-hackle-12=5")
    _ran(capsys, "stock", "sale", "moss-hackle-12=2")
    assert _ran(capsys, "stock", "report").err == (
        "moss-hackle-12: 2 were sold without a price, and not counted in the takings.\n"
    )


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            ["--from", "0001-01-01"],
            "--from: 0001-01-01 is not possible. Give a day from 1900-01-01 to 2999-12-31.",
        ),
        (
            ["--until", "9999-12-31"],
            "--until: 9999-12-31 is not possible. Give a day from 1900-01-01 to 2999-12-31.",
        ),
        (["--from", "March"], '--from: "March" is not a day. Write it as 2026-03-14.'),
        (
            ["--from", "2026-03-02", "--until", "2026-03-01"],
            "--until: 2026-03-01 is before 2026-03-02. Give the later day with --until.",
        ),
    ],
)
def test_days_that_cannot_be(catalog: Catalog, capsys: Capture, words: list[str], message: str) -> None:
    assert _refused(capsys, catalog, "stock", "report", *words) == f"Error: {message}\n"
