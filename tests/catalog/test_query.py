"""The query language against plain Python over the same rows, and its messages."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from refusals import fields_of
from shop import measured, shop

from flybench.catalog.search.language import Query, Span, Term, parse_query, span_of
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import find
from flybench.catalog.store.open import Catalog
from flybench.errors import BadValueError


@pytest.fixture(scope="module")
def catalog(tmp_path_factory: pytest.TempPathFactory) -> Catalog:
    made = shop(Path(tmp_path_factory.mktemp("query")) / "shop.sqlite")
    measured(made, "M1", 0.30, 0.004)
    measured(made, "A1", 0.18, 0.003)
    return made


def _codes(catalog: Catalog, query: str | list[str], noun: str = "fly", sort: str = "code") -> list[str]:
    with catalog.reading() as session:
        return [row["code"] for row in find(session, NOUNS[noun], query, sort).rows]


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("", ["A1", "M1", "M2", "M3"]),
        ("bead:2.8", ["M1", "M2"]),
        ("bead:2.8mm", ["M1", "M2"]),
        ("bead:2.80", ["M1", "M2"]),
        ("bead:2.7", []),
        ("bead:>2.8", []),
        ("bead:>=2.8", ["M1", "M2"]),
        ("bead:<2.8", ["M3"]),
        ("bead:2.4..2.8", ["M1", "M2", "M3"]),
        ("bead:none", ["A1"]),
        ("not bead:any", ["A1"]),
        ("not bead:2.8", ["A1", "M3"]),
        ("metal:tungsten,brass", ["M1", "M2", "M3"]),
        ("style:hackled or metal:brass", ["A1", "M3"]),
        ("sink:25..35", ["M1"]),
        ("sink:any", ["A1", "M1"]),
        ("mass:210", ["M1"]),
        ("mass:0.22g", ["M2"]),
        ("tied:2026-03", ["M1"]),
        ("tied:2026", ["M1", "M2"]),
        ("tied:>2026-03-01", ["M2"]),
        ("tied:2026-03-01..2026-04-02", ["M1", "M2"]),
        ("retired:any", ["M3"]),
        ("hook:14 sink:none", ["M2"]),
        ("variant:mill-28-14", ["M1", "M2"]),
        ("pond", ["M1", "M2", "M3"]),
        ("POND sink:any", ["M1"]),
        ('"mill pond"', ["M1", "M2", "M3"]),
        ("straße", ["A1"]),
        ("STRASSE", []),
        ("äsche", ["A1"]),
        ("stiff", ["A1"]),
        ("price:2.40", ["M1", "M2"]),
        ("stock:0", ["A1", "M1", "M2", "M3"]),
        ('notes:"first of"', ["A1"]),
        ("100%", []),
        ("m_", []),
    ],
)
def test_queries_find(catalog: Catalog, query: str, found: list[str]) -> None:
    assert _codes(catalog, query) == found


def test_words_of_a_command_line_keep_their_blanks(catalog: Catalog) -> None:
    assert _codes(catalog, ["notes:first of", "bead:none"]) == ["A1"]


def test_sorts_put_what_is_unknown_last(catalog: Catalog) -> None:
    assert _codes(catalog, "", sort="sink") == ["A1", "M1", "M2", "M3"]
    assert _codes(catalog, "", sort="sink down") == ["M1", "A1", "M2", "M3"]
    assert _codes(catalog, "", sort="bead down, code") == ["M1", "M2", "M3", "A1"]


@pytest.mark.parametrize(
    ("query", "message"),
    [
        ("style:slik", 'style: "slik" is not known. Did you mean slick?'),
        ("hook:many", 'hook: "many" is not a number. Write it as hook:14, hook:12..16 or hook:>12.'),
        ("sink:30..20", "query: sink:30..20 runs from high to low. Write the lower end first."),
        ("sink:..", 'query: ".." has neither a lower nor an upper end. Write it as 25..35, 25.. or ..35.'),
        ("sink:>", 'query: ">" has no number. Write it as >25.'),
        ("bead:", 'query: "bead:" has no value. Write it as bead:VALUE, or bead:any, bead:none.'),
        ('"pond', 'query: "pond has a quotation mark without its second one. Write it as "two words".'),
        ("or pond", 'query: has "or" without a condition on each side. Write it as: hook:14 or hook:16.'),
        (
            "pond not",
            'query: has "not" with nothing behind it. Write what is not wanted behind it, such as: not bead:any.',
        ),
        ("tied:2026-13", 'tied: "2026-13" is not a date. Write it as 2026-03-14, 2026-03 or 2026.'),
        ("sinks:30", 'query: flies have no field "sinks". Did you mean sink?'),
        ("bead:2.8g", 'bead: "2.8g" is not a length. Write it with its unit, for example "2.8 mm".'),
    ],
)
def test_bad_queries_say_what_to_do(catalog: Catalog, query: str, message: str) -> None:
    with pytest.raises(BadValueError) as caught:
        _codes(catalog, query)
    assert str(caught.value) == message


def test_a_field_of_another_noun_is_told(catalog: Catalog) -> None:
    with pytest.raises(BadValueError) as caught:
        _codes(catalog, "verdict:good")
    assert str(caught.value) == (
        f'query: flies have no field "verdict"; runs have one. The fields of flies are {fields_of("fly")}.'
    )


def test_parsing() -> None:
    assert parse_query("a:1,2 not b or c") == Query(
        ((Term("a", ("1", "2")), Term("", ("b",), True)), (Term("", ("c",)),))
    )
    assert span_of("..3") == Span(None, "3")
    assert span_of("<3") == Span(None, "3", high_open=True)


@pytest.mark.slow
@given(st.text(max_size=60))
def test_no_text_makes_the_parser_fall_over(text: str) -> None:
    with suppress(BadValueError):
        parse_query(text)


@given(low=st.integers(0, 400), high=st.integers(0, 400), values=st.lists(st.integers(0, 400)))
def test_spans_hold_what_plain_comparison_holds(low: int, high: int, values: list[int]) -> None:
    """A range in tenths of a millimetre against integers in Python."""
    from flybench.catalog.search.limits import number_limits

    if low > high:
        low, high = high, low
    field = NOUNS["fly"].fields["bead"]
    least, most, _, _ = number_limits(field, f"{low / 10}..{high / 10}")
    for value in values:
        assert (least <= value * 1e-4 <= most) == (low <= value <= high)
