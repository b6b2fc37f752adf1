"""What is made of a condition: decimal commas, alternatives, signs; what is said of it; and every example of the page."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import measured, shop

from flybench.catalog.search.language import parse_query
from flybench.catalog.search.limits import number_limits
from flybench.catalog.search.nouns import FLY, MATERIAL, NOUNS, VARIANT
from flybench.catalog.search.reading import alternatives_of
from flybench.catalog.search.select import find
from flybench.catalog.store.open import Catalog
from flybench.errors import BadValueError
from flybench.telling.shelf.query_read import how_read

PAGE = Path(__file__).resolve().parents[2] / "docs" / "catalog.md"
TWO_WAYS = (
    'query: the commas in "{}" can be read in more than one way. Write numbers with a point, as in {}:2.8, '
    "and put or between alternatives."
)


@pytest.fixture(scope="module")
def catalog(tmp_path_factory: pytest.TempPathFactory) -> Catalog:
    made = shop(Path(tmp_path_factory.mktemp("reading")) / "shop.sqlite")
    measured(made, "M1", 0.28, 0.004)
    return made


def wanted(query: str, noun: str = "fly") -> list[str]:
    (term,) = parse_query(query).terms
    return alternatives_of(NOUNS[noun].fields[term.key], term)


def found(catalog: Catalog, query: str, noun: str = "fly") -> list[str]:
    with catalog.reading() as session:
        return [row["code"] for row in find(session, NOUNS[noun], query).rows]


@pytest.mark.parametrize(
    ("query", "values"),
    [
        ("bead:2,8", ["2.8"]),
        ("bead:2,8mm", ["2.8mm"]),
        ('bead:"2,8 mm"', ["2.8 mm"]),
        ("bead:>2,4", [">2.4"]),
        ("bead=2,8", ["=2.8"]),
        ("bead:2,4..2,8", ["2.4..2.8"]),
        ("bead:2..2,8", ["2..2.8"]),
        ("bead:2.4,2.8", ["2.4", "2.8"]),
        ("bead:2.4,3", ["2.4", "3"]),
        ("bead:2.4mm,3mm", ["2.4mm", "3mm"]),
        ("bead:3mm,4mm", ["3mm", "4mm"]),
        ("bead:none,2.8", ["none", "2.8"]),
        ("price:2,40", ["2.40"]),
        ("mass:0,210g", ["0.210g"]),
        ("hook:14,16", ["14", "16"]),
        ("stock:1,5", ["1", "5"]),
        ("metal=brass,tungsten", ["=brass", "=tungsten"]),
    ],
)
def test_commas_by_the_kind_of_the_field(query: str, values: list[str]) -> None:
    assert wanted(query) == values


@pytest.mark.parametrize(
    "text", ["bead:2,4,2,8", "bead:2,8mm,3mm", "mass:1,200", "mass:150,200", "mass:1,200.5", "bead:1,2,3..4"]
)
def test_commas_that_mean_two_things_are_refused(text: str) -> None:
    with pytest.raises(BadValueError) as refused:
        wanted(text)
    assert str(refused.value) == TWO_WAYS.format(text, text[:4])


@pytest.mark.parametrize("text", ["metal>brass", "name:<Mill", "accepted>yes"])
def test_what_has_no_order_is_neither_above_nor_below(text: str) -> None:
    noun = "run" if "accepted" in text else "fly"
    with pytest.raises(BadValueError) as refused:
        wanted(text, noun)
    key, value = re.split(r"(?<=[a-z]):?(?=[<>])", text)
    assert str(refused.value) == (
        f"query: {key} has no order, so {key}{value} means nothing. Write {key}:VALUE."
    )


@settings(deadline=None)  # the first unit read makes the registry of units
@given(tenths=st.integers(1, 120), decimals=st.integers(0, 3))
def test_unit_comma_and_sign_change_nothing(tenths: int, decimals: int) -> None:
    text = f"{tenths / 10:.{decimals}f}"
    forms = [f"bead:{text}", f"bead:{text}mm", f"bead={text}", f"bead = {text} mm", f'bead:"{text} mm"']
    commas = [form.replace(".", ",") for form in forms if not re.search(r"[1-9][0-9]*\.[0-9]{3}", form)]
    limits = [number_limits(FLY.fields["bead"], one) for form in (*forms, *commas) for one in wanted(form)]
    assert len(limits) == len(forms) + len(commas)
    for other in limits[1:]:
        assert other == pytest.approx(limits[0], rel=1e-9, abs=1e-12)


@pytest.mark.parametrize(
    ("query", "lines"),
    [
        ("bead:2", ["bead:2 finds from 1.95 to below 2.05 mm."]),
        ("bead:2,8", ["bead:2.8 finds from 2.75 to below 2.85 mm."]),
        ("bead:2.80", ["bead:2.80 finds from 2.795 to below 2.805 mm."]),
        ("sink=28cm/s", ["sink=28cm/s finds from 27.5 to below 28.5 cm/s."]),
        ("mass:0.2g", ["mass:0.2g finds from 150 to below 250 mg."]),
        (
            "bead:2.4,2.8 or bead:2.4",
            ["bead:2.4 finds from 2.35 to below 2.45 mm.", "bead:2.8 finds from 2.75 to below 2.85 mm."],
        ),
        ("price:2,40", ["The comma was read as a decimal point: price:2.40."]),
        ("bead:>2,4", ["The comma was read as a decimal point: bead>2.4."]),
        ("bead:>2.4 hook:14 sink:25..35 price:2.40 stock:any retired=none style:slick pond", []),
        ("", []),
        (
            "pond",
            ['Searched for the word "pond". A field is named before a colon, as in bead:2.8.'],
        ),
        (
            'bead "2.8 mm" or 28',
            [
                'Searched for the words "bead", "2.8 mm" and "28". '
                "A field is named before a colon, as in bead:2.8."
            ],
        ),
    ],
)
def test_what_is_said_of_a_query(query: str, lines: list[str]) -> None:
    assert how_read(FLY, query) == lines


def test_amounts_are_told_without_a_unit() -> None:
    assert how_read(MATERIAL, "stock:0") == ["stock:0 finds from -0.05 to below 0.05."]
    (line,) = how_read(MATERIAL, "bead")
    assert line.endswith("as in kind:bead.")


EXAMPLES = {
    "bead:2.8": ["M1", "M2"],
    "bead:2,8": ["M1", "M2"],
    "bead:2.8mm": ["M1", "M2"],
    'bead:"2.8 mm"': ["M1", "M2"],
    "bead:2.80": ["M1", "M2"],
    "bead:3": [],
    "bead:3mm": [],
    "sink:28": ["M1"],
    "sink:28cm/s": ["M1"],
    "mass:0.26g": [],
    "hook:14": ["M1", "M2"],
    "price:2.40": ["M1", "M2"],
    "price:2,40": ["M1", "M2"],
    "sink:25..35": ["M1"],
    "sink:25..": ["M1"],
    "mass:>200": ["M1", "M2"],
    '"mass > 0.2 g"': ["M1", "M2"],
    "hook:<=14": ["M1", "M2"],
    "tied:2026-03": ["M1"],
    "tied:>2026-03-01": ["M2"],
    "style:hackled,dubbed": ["A1"],
    "hook:14,16": ["A1", "M1", "M2", "M3"],
    "bead:2.4,2.8": ["M1", "M2", "M3"],
    "retired:any": ["M3"],
    "sink:none": ["A1", "M2", "M3"],
    "not metal:brass": ["A1", "M1", "M2"],
    "bead:2.8 hook:14 or stock:0": ["A1", "M1", "M2", "M3"],
    "metal=brass": ["M3"],
    '"stock < 5"': ["A1", "M1", "M2", "M3"],
    "hare": [],
    '"grey hen"': [],
}
"""Each query of the page's table, and which of the invented shop's four flies it finds, worked out by hand."""


def test_the_table_of_the_page_holds_these_examples() -> None:
    table = PAGE.read_text(encoding="utf-8").split("| you write |")[1].split("\n\n")[0]
    cells = [line.split(" | ")[0] for line in table.splitlines()[2:]]
    written = [one for cell in cells for one in re.findall(r"`([^`]+)`", cell)]
    written += re.findall(r"`(bead:[^`]+)` is from", table)
    assert sorted(written) == sorted(EXAMPLES)


@pytest.mark.parametrize("query", EXAMPLES)
def test_examples_of_the_page(catalog: Catalog, query: str) -> None:
    """A query in quotation marks, but for a text of two words, reaches the program without them."""
    words = query.strip('"') if re.match(r'"[a-z]+ [<>]', query) else query
    assert found(catalog, words) == EXAMPLES[query]


def test_whole_sizes_whole_names_and_masses(catalog: Catalog) -> None:
    assert found(catalog, "bead:2") == found(catalog, "bead:3") == []
    assert found(catalog, "mass:0.2g") == ["M1", "M2"]
    assert found(catalog, 'name="mill pond"') == found(catalog, "pattern=mill") == ["M1", "M2", "M3"]
    assert found(catalog, "name=mill") == []
    assert VARIANT.fields["bead"].step == FLY.fields["bead"].step == MATERIAL.fields["diameter"].step == 1e-4
