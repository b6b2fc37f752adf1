"""The price list: every fly that is offered with its price, once, as a page to hand out and as a table."""

from __future__ import annotations

import csv
import json
import math
import sqlite3
from contextlib import closing
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from console import flybench
from PIL import Image

from flybench.catalog.store.open import Catalog

Capture = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def _shop(catalog: Catalog, capsys: Capture) -> None:
    for words in (
        ("catalog", "money", "--currency", "EUR", "--tax", "19"),
        ("variant", "retire", "slate-plump-10"),
        ("pattern", "retire", "wet-errand"),
        ("variant", "change", "reed-slip-12", "--price", ""),
    ):
        assert flybench(capsys, *words).code == 0


def _texts(path: Path) -> list[str]:
    document = pypdfium2.PdfDocument(path)
    return [document[place].get_textpage().get_text_range() for place in range(len(document))]


def test_every_fly_with_a_price_is_on_the_page_once(capsys: Capture) -> None:
    said = flybench(capsys, "print", "prices", "--title", "Spring 2027")
    assert (said.code, said.out) == (0, "")
    assert said.err == "Wrote prices.pdf\nNot on the list, as they have no price: reed-slip-12.\n"
    columns = ("--limit", "0", "--columns", "code,pattern,price,sink", "--json")
    wanted = json.loads(flybench(capsys, "variant", "list", *columns).out)
    codes = [
        one["code"]
        for one in wanted
        if one["price"] and one["pattern"] != "wet-errand" and one["code"] != "slate-plump-10"
    ]
    pages = _texts(Path("prices.pdf"))
    words = [word for page in pages for word in page.split()]
    assert {code: words.count(code) for code in codes} == dict.fromkeys(codes, 1)
    for gone in ("reed-slip-12", "slate-plump-10", "wet-errand-12"):
        assert gone not in words
    assert all(page.startswith("Spring 2027") and "Prices include 19 % tax." in page for page in pages)
    assert ("1 of 2" in pages[0], "2 of 2" in pages[1]) == (True, True)
    speed = next(one for one in wanted if one["code"] == "moss-hackle-12")
    low, high = (100 * (speed["sink_m_s"] + sign * 2 * speed["sink_u_m_s"]) for sign in (-1, 1))
    assert f"{math.floor(low)} to {math.ceil(high)} cm/s" in pages[0]  # as on its label, rounded outwards


def test_the_list_names_the_water_of_its_speeds(capsys: Capture) -> None:
    assert flybench(capsys, "print", "prices", "moss-hackle", "--output", "usual.pdf").code == 0
    assert "Speeds in still water of 18 °C, where they" in " ".join(_texts(Path("usual.pdf"))[0].split())
    before = json.loads(flybench(capsys, "print", "prices", "moss-hackle", "--json").out)
    assert flybench(capsys, "catalog", "water", "8 degC", "--salinity", "20 g/kg").code == 0
    said = flybench(capsys, "print", "prices", "moss-hackle")
    assert " ".join(said.err.split()) == (
        "Wrote prices.pdf Speeds are for water of 8 °C with 20 g/kg of salt (as set with flybench catalog water). Runs in "
        "other water were brought to it, and the ± holds the doubt of that step: moss-hackle-12."
    )
    page = " ".join(_texts(Path("prices.pdf"))[0].split())
    assert "Speeds in still water of 8 °C with 20 g/kg of salt, where they were measured" in page
    told = json.loads(flybench(capsys, "print", "prices", "moss-hackle", "--json").out)
    assert (told["water_k"], told["salinity_kg_kg"]) == (pytest.approx(281.15), pytest.approx(0.02))
    both = [
        next(one for one in found["lines"] if one["code"] == "moss-hackle-12") for found in (before, told)
    ]
    assert (
        both[0]["sink_from_m_s"] > both[1]["sink_from_m_s"]
    )  # colder and denser water, and the doubt of the step


def test_the_same_lines_as_a_table(capsys: Capture) -> None:
    assert flybench(capsys, "print", "prices", "style:hackled", "--output", "p.csv").code == 0
    told = json.loads(flybench(capsys, "print", "prices", "style:hackled", "--json").out)
    with Path("p.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [(row["code"], row["price"], row["currency"]) for row in rows] == [
        (line["code"], line["price"], "EUR") for line in told["lines"]
    ]
    assert rows


def test_the_table_names_the_water_of_its_speeds(capsys: Capture) -> None:
    assert flybench(capsys, "catalog", "water", "8 degC", "--salinity", "20 g/kg").code == 0
    assert flybench(capsys, "print", "prices", "--output", "p.csv").code == 0
    with Path("p.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    waters = {(bool(row["sink_low_cm_s"]), row["water_deg_c"], row["salt_g_kg"]) for row in rows}
    assert waters == {(True, "8", "20"), (False, "", "")}  # a fly that was not measured has no water


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            ["--output", "p.txt"],
            '--output: "p.txt" ends neither in .pdf nor in .csv. Name a file such as prices.pdf.',
        ),
        (
            ["hook:1"],
            "No fly with a price was found. Set prices with: flybench variant change CODE --price 2.40.",
        ),
    ],
)
def test_lists_that_cannot_be(capsys: Capture, words: list[str], message: str) -> None:
    said = flybench(capsys, "print", "prices", *words)
    assert (said.code, said.out) == (1, "")
    assert said.err.splitlines()[-1].rstrip(".") == f"Error: {message}".rstrip(".")
    assert not Path("p.txt").exists() and not Path("prices.pdf").exists()


def test_photos_stand_beside_their_flies(capsys: Capture) -> None:
    """One of the variant goes before one of the pattern; a picture that nobody looked at is not opened."""
    for colour, name in (("red", "own"), ("blue", "pattern")):
        Image.new("RGB", (64, 36), colour).save(f"{name}.png")
    for words in (
        ("variant", "photo", "moss-hackle-12", "own.png"),
        ("pattern", "photo", "moss-hackle", "pattern.png"),
    ):
        assert flybench(capsys, *words).code == 0
    assert flybench(capsys, "print", "prices", "moss-hackle", "--photos").code == 0
    page = pypdfium2.PdfDocument("prices.pdf")[0]
    shown = [one for one in page.get_objects() if isinstance(one, pypdfium2.PdfImage)]
    colours = [np.asarray(one.get_bitmap().to_pil().convert("RGB"))[18, 32].argmax() for one in shown]
    assert colours == [0, 2]  # moss-hackle-12 has its own, red; moss-hackle-12s that of the pattern, blue
    assert flybench(capsys, "print", "prices", "moss-hackle", "--overwrite").code == 0
    page = pypdfium2.PdfDocument("prices.pdf")[0]
    assert [one for one in page.get_objects() if isinstance(one, pypdfium2.PdfImage)] == []


def test_a_damaged_photo_is_named_and_nothing_is_written(capsys: Capture) -> None:
    Image.new("RGB", (64, 36), "red").save("own.png")
    assert flybench(capsys, "variant", "photo", "moss-hackle-12", "own.png").code == 0
    with closing(sqlite3.connect("catalog.sqlite")) as there, there:
        there.execute("UPDATE picture SET content = substr(content, 1, 40) WHERE width = 64")
    said = flybench(capsys, "print", "prices", "moss-hackle", "--photos")
    assert (said.code, said.out, said.err) == (
        1,
        "",
        "Error: --photos: the photo of moss-hackle-12 is damaged. Look for damage with flybench catalog check, or leave "
        "--photos out.\n",
    )
    assert not Path("prices.pdf").exists()
    assert flybench(capsys, "print", "prices", "moss-hackle").code == 0
