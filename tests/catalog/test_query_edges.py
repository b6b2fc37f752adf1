"""What a query finds at its very edges: values just inside and just outside, by the digits that were typed.

The rule is that of rounding: 2.8 stands for what rounds to it, from 2.75 to below 2.85 (half up, as is taught).
Expected edges are worked out by hand in decimals.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from refusals import fields_of

from flybench.catalog.search.language import Query, Span, Term, narrowed, parse_query, span_of
from flybench.catalog.search.limits import day_limits, number_limits
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import count, field_of, find, loaded, select_rows
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.materials import Bead, Hook, Material
from flybench.catalog.tables.vocabulary import Bore, MaterialKind, Metal
from flybench.errors import BadValueError

BEAD, MATERIAL, FLY, RUN = NOUNS["fly"].fields["bead"], NOUNS["material"], NOUNS["fly"], NOUNS["run"]
TENTHS_OF_A_MICRON = 1e-7


def holds(text: str, millimetres: str) -> bool:
    """Return whether a bead of so many millimetres lies in the limits of a query's value."""
    low, high, low_open, high_open = number_limits(BEAD, text)
    value = float(millimetres) * 1e-3
    above = low is None or (value > low if low_open else value >= low)
    return above and (high is None or (value < high if high_open else value <= high))


@pytest.mark.parametrize(
    ("text", "inside", "outside"),
    [
        ("2.8", "2.75 2.7501 2.8 2.8499", "2.7499 2.85 2.8501 2.7 2.9"),
        ("2.80", "2.795 2.7951 2.8 2.8049", "2.7949 2.805 2.8051 2.75"),
        ("2.800", "2.7995 2.8 2.8004", "2.7994 2.8005"),
        ("3", "2.5 2.5001 3.4999", "2.4999 3.5"),
        (".5", "0.45 0.5 0.5499", "0.4499 0.55"),
        ("+2.8", "2.75", "2.85"),
        ("=2.8", "2.8", "2.7999 2.8001 2.75"),
        ("2.8mm", "2.8", "2.7999 2.8001"),
        ("=0.28cm", "2.8", "2.7999 2.8001"),
        (">2.8", "2.8001", "2.8 2.7999"),
        (">=2.8", "2.8 2.8001", "2.7999"),
        ("<2.8", "2.7999", "2.8 2.8001"),
        ("<=2.8", "2.8 2.7999", "2.8001"),
        ("2.4..2.8", "2.4 2.8", "2.3999 2.8001"),
        ("2.8..2.8", "2.8", "2.7999 2.8001"),
        ("2.4..", "2.4 9", "2.3999"),
        ("..2.4", "0 2.4", "2.4001"),
    ],
)
def test_edges_by_the_digits_typed(text: str, inside: str, outside: str) -> None:
    assert [value for value in inside.split() if not holds(text, value)] == []
    assert [value for value in outside.split() if holds(text, value)] == []


@pytest.mark.parametrize("tenths", range(1, 120))
def test_every_half_belongs_to_one_neighbour_only(tenths: int) -> None:
    """x.x5 mm rounds up: neither to both neighbours nor to none, whatever binary makes of it."""
    half = f"{Decimal(tenths) / 10 + Decimal('0.05'):.2f}"
    assert not holds(f"{Decimal(tenths) / 10:.1f}", half)
    assert holds(f"{Decimal(tenths + 1) / 10:.1f}", half)


@pytest.mark.parametrize("text", [">2.8", "<2.8"])
def test_rounding_of_floats_excludes_and_includes_nothing(text: str) -> None:
    low, high, *_ = number_limits(BEAD, text)
    end = low if high is None else high
    assert end != 2.8e-3
    assert end == pytest.approx(2.8e-3, rel=1.01e-9)
    assert not holds(text, "2.8000000001") and not holds(text, "2.7999999999")  # 4e-11 of it
    assert holds(text, "2.80000001" if text == ">2.8" else "2.79999999")  # 4e-9 of it


def test_counts_and_money_are_meant_exactly() -> None:
    assert number_limits(FLY.fields["hook"], "14") == (14, 14, False, False)
    assert number_limits(FLY.fields["price"], "2.4") == (2.4, 2.4, False, False)
    assert number_limits(FLY.fields["hook"], "=14") == (14, 14, False, False)
    low, high, low_open, high_open = number_limits(FLY.fields["hook"], ">14")
    assert (low, high, low_open, high_open) == (pytest.approx(14), None, True, False)
    assert number_limits(MATERIAL.fields["stock"], "2.5")[:2] == pytest.approx((2.45, 2.55))


@pytest.mark.parametrize(
    ("name", "text", "message"),
    [
        ("bead", "2.9..2.8", "query: bead:2.9..2.8 runs from high to low. Write the lower end first."),
        ("hook", "1x", 'hook: "1x" is not a number. Write it as hook:14, hook:12..16 or hook:>12.'),
        ("hook", "", 'hook: "" is not a number. Write it as hook:14, hook:12..16 or hook:>12.'),
        ("tied", "26-03", 'tied: "26-03" is not a date. Write it as 2026-03-14, 2026-03 or 2026.'),
        ("tied", "0000", 'tied: "0000" is not a date. Write it as 2026-03-14, 2026-03 or 2026.'),
        ("tied", "9999-12-31", 'tied: "9999-12-31" is not a date. Write it as 2026-03-14, 2026-03 or 2026.'),
    ],
)
def test_values_that_are_none(name: str, text: str, message: str) -> None:
    read = day_limits if name == "tied" else number_limits
    with pytest.raises(BadValueError) as refused:
        read(FLY.fields[name], text)
    assert str(refused.value) == message


@pytest.mark.parametrize(
    ("text", "first", "after"),
    [
        ("2026-03-14", date(2026, 3, 14), date(2026, 3, 15)),
        ("2026-3-4", date(2026, 3, 4), date(2026, 3, 5)),
        ("2026-02", date(2026, 2, 1), date(2026, 3, 1)),
        ("2026-11", date(2026, 11, 1), date(2026, 12, 1)),
        ("2026-12", date(2026, 12, 1), date(2027, 1, 1)),
        ("2026", date(2026, 1, 1), date(2027, 1, 1)),
        (">2026-03", date(2026, 4, 1), None),
        (">=2026-03", date(2026, 3, 1), None),
        ("<2026-03", None, date(2026, 3, 1)),
        ("<=2026-03", None, date(2026, 4, 1)),
        ("2026-03..2026-05", date(2026, 3, 1), date(2026, 6, 1)),
        ("..2025", None, date(2026, 1, 1)),
        ("2026..", date(2026, 1, 1), None),
    ],
)
def test_days_months_and_years(text: str, first: date | None, after: date | None) -> None:
    assert day_limits(FLY.fields["tied"], text) == (first, after, False, True)
    moments = [
        None if day is None else datetime(day.year, day.month, day.day, tzinfo=UTC) for day in (first, after)
    ]
    assert day_limits(RUN.fields["when"], text) == (*moments, False, True)


@pytest.mark.parametrize(
    ("text", "span"),
    [
        ("14", Span("14", "14", same=True)),
        ("=14", Span("14", "14", same=True)),
        ("25..35", Span("25", "35")),
        ("25 .. 35", Span("25", "35")),
        ("25..", Span("25", None)),
        ("..35", Span(None, "35")),
        (">25", Span("25", None, low_open=True)),
        (">=25", Span("25", None)),
        ("<25", Span(None, "25", high_open=True)),
        ("<= 25", Span(None, "25")),
        ("1..2..3", Span("1", "2..3")),
    ],
)
def test_spans(text: str, span: Span) -> None:
    assert span_of(text) == span


def term(key: str, *wanted: str, negated: bool = False) -> Term:
    return Term(key, wanted, negated)


@pytest.mark.parametrize(
    ("words", "alternatives"),
    [
        ("", ()),
        ([], ()),
        ("hare", ((term("", "hare"),),)),
        ("Bead:2.8", ((term("bead", "2.8"),),)),
        ('"grey hen" hook:14', ((term("", "grey hen"), term("hook", "14")),)),
        ('notes:"one, two"', ((term("notes", "one, two"),),)),
        ("style:slick,dubbed", ((term("style", "slick", "dubbed"),),)),
        ("not a:1 b:2", ((term("a", "1", negated=True), term("b", "2")),)),
        ("a:1 not b:2", ((term("a", "1"), term("b", "2", negated=True)),)),
        ("a:1 or not b:2 or c", ((term("a", "1"),), (term("b", "2", negated=True),), (term("", "c"),))),
        ("x:y:z", ((term("x", "y:z"),),)),
        ("2:8", ((term("", "2:8"),),)),
        (["notes:grey hen"], ((term("notes", "grey hen"),),)),
        (["a:1", "b:2 c:3"], ((term("a", "1"), term("b", "2"), term("c", "3")),)),
        (['a:"x y"'], ((term("a", "x y"),),)),
        (["or:der"], ((term("or", "der"),),)),
    ],
)
def test_words_of_a_query(words: str | list[str], alternatives: tuple[tuple[Term, ...], ...]) -> None:
    assert parse_query(words) == Query(alternatives)


def test_a_query_is_narrowed_on_both_sides_of_or() -> None:
    more = (term("sink", "any"), term("retired", "none"))
    assert narrowed("a or b", "sink:any retired:none") == Query(
        ((term("", "a"), *more), (term("", "b"), *more))
    )
    assert narrowed("", "sink:any retired:none") == Query((more,))
    assert narrowed("a", "") == Query(((term("", "a"),),))
    assert narrowed("", "") == Query(((),))


OR = 'query: has "or" without a condition on each side. Write it as: hook:14 or hook:16.'
NOT = 'query: has "not" with nothing behind it. Write what is not wanted behind it, such as: not bead:any.'


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("or a", OR),
        ("a or", OR),
        ("a or or b", OR),
        ("or", OR),
        ("not", NOT),
        ("a not", NOT),
        ("a not or b", NOT),
        ("not not a", 'query: has "not" twice in a row. Write it once.'),
        ("bead:", 'query: "bead:" has no value. Write it as bead:VALUE, or bead:any, bead:none.'),
        ("bead:1,,2", 'query: "bead:1,,2" has no value. Write it as bead:VALUE, or bead:any, bead:none.'),
        ('"a', 'query: "a has a quotation mark without its second one. Write it as "two words".'),
        ("a" * 2001, "query: is 2001 letters long. Use at most 2000 letters."),
    ],
)
def test_queries_that_cannot_be_read(text: str, message: str) -> None:
    with pytest.raises(BadValueError) as refused:
        parse_query(text)
    assert str(refused.value) == message


def test_the_longest_query_is_read() -> None:
    assert parse_query("a" * 2000) == Query(((term("", "a" * 2000),),))


# --- over rows


@pytest.fixture(scope="module")
def beads(tmp_path_factory: pytest.TempPathFactory) -> Catalog:
    """Return a catalog of beads B-<hundredths of a millimetre>, a hook, and threads with odd names."""
    made = open_catalog(str(tmp_path_factory.mktemp("beads") / "beads.sqlite"))
    with made.writing() as session:
        for hundredths in (270, 275, 280, 284, 285, 290):
            kind = {"metal": Metal.BRASS if hundredths < 280 else Metal.TUNGSTEN, "bore": Bore.STRAIGHT}
            bead = Bead(diameter_m=hundredths * 1e-5, **kind)
            session.add(Material(code=f"B-{hundredths}", kind=MaterialKind.BEAD, name="bead", bead=bead))
        hook = Hook(size=14)
        session.add(Material(code="H-1", kind=MaterialKind.HOOK, name="hook", hook=hook, colour="Ölgrün"))
        for code, name in (("T-1", "100% silk"), ("T-2", "a_b"), ("T-3", "a/b"), ("T-4", "axb")):
            session.add(Material(code=code, kind=MaterialKind.THREAD, name=name))
    return made


def codes(catalog: Catalog, query: str, sort: str = "", limit: int = 0) -> list[str]:
    with catalog.reading() as session:
        return [row["code"] for row in select_rows(session, MATERIAL, query, sort, limit, ["code"])]


THREADS = ["T-1", "T-2", "T-3", "T-4"]


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("diameter:2.8", ["B-275", "B-280", "B-284"]),
        ("diameter:2.80", ["B-280"]),
        ("diameter:2.9", ["B-285", "B-290"]),
        ("diameter:>2.8", ["B-284", "B-285", "B-290"]),
        ("diameter:>=2.8", ["B-280", "B-284", "B-285", "B-290"]),
        ("diameter:<2.75", ["B-270"]),
        ("diameter:<=2.75", ["B-270", "B-275"]),
        ("diameter:2.75..2.85", ["B-275", "B-280", "B-284", "B-285"]),
        ("diameter:2.7,2.9", ["B-270", "B-285", "B-290"]),
        ("diameter:none", ["H-1", *THREADS]),
        ("not diameter:none metal:brass", ["B-270", "B-275"]),
        ("not diameter:2.8", ["B-270", "B-285", "B-290", "H-1", *THREADS]),
        ("colour:any", ["H-1"]),
        ("colour:none kind:hook", []),
        ("hook:14", ["H-1"]),
        ("hook:13", []),
        ("hook:any or kind:thread name:silk", ["H-1", "T-1"]),
        ("100%", ["T-1"]),
        ("name:a_b", ["T-2"]),
        ("a/b", ["T-3"]),
        ("SILK", ["T-1"]),
        ("ölGRÜN", ["H-1"]),
        ("colour:ÖLGRÜN", ["H-1"]),
        ("kind:BEAD metal:brass", ["B-270", "B-275"]),
        ("silk or a_b", ["T-1", "T-2"]),
    ],
)
def test_rows_found(beads: Catalog, query: str, found: list[str]) -> None:
    assert codes(beads, query) == found
    with beads.reading() as session:
        assert count(session, MATERIAL, query) == (len(found), len(found))


@pytest.mark.parametrize(
    ("sort", "first"),
    [
        ("", ["B-270", "B-275"]),
        ("diameter", ["B-270", "B-275"]),
        ("diameter up", ["B-270", "B-275"]),
        ("diameter down", ["B-290", "B-285"]),
        ("Diameter down , code", ["B-290", "B-285"]),
        ("metal down, diameter down", ["B-290", "B-285"]),
        ("metal, diameter down", ["B-275", "B-270"]),
        ("kind down, name", ["T-1", "T-3"]),
        ("kind", ["B-270", "B-275"]),
        ("code down", ["T-4", "T-3"]),
        ("name down, code down", ["H-1", "B-290"]),
        ("name down", ["H-1", "B-270"]),
    ],
)
def test_rows_in_order(beads: Catalog, sort: str, first: list[str]) -> None:
    """Names by their letters in Unicode: "100%" < "a/b" < "a_b" < "axb" < "bead" < "hook"."""
    assert codes(beads, "", sort)[:2] == first
    assert codes(beads, "", sort, limit=2) == first


def test_rows_without_a_value_come_last_both_ways(beads: Catalog) -> None:
    for sort in ("diameter", "diameter down"):
        assert set(codes(beads, "", sort)[-5:]) == {"H-1", *THREADS}


HOW = 'Write a field, and "down" behind it to begin with the highest, such as "sink down, code".'


@pytest.mark.parametrize(
    ("sort", "message"),
    [
        ("-diameter", f'--sort: "-diameter" cannot be read. {HOW}'),
        ("diameter dwn", f'--sort: "diameter dwn" cannot be read. {HOW}'),
        ("diameter down up", f'--sort: "diameter down up" cannot be read. {HOW}'),
        ("code,", f'--sort: "" cannot be read. {HOW}'),
        ("diametre", '--sort: materials have no field "diametre". Did you mean diameter?'),
    ],
)
def test_sorts_that_cannot_be_read(beads: Catalog, sort: str, message: str) -> None:
    with pytest.raises(BadValueError) as refused:
        codes(beads, "", sort)
    assert str(refused.value) == message


def test_a_page_knows_how_many_there_are(beads: Catalog) -> None:
    with beads.reading() as session:
        for limit, shown in ((0, 11), (3, 3), (10, 10), (11, 11), (12, 11)):
            page = find(session, MATERIAL, "", limit=limit, fields=["code"])
            assert (len(page.rows), page.total) == (shown, 11)
            assert set(page.rows[0]) == {"code"}
        assert count(session, MATERIAL, "", "diameter") == (11, 6)
        assert set(find(session, MATERIAL, "B-270").rows[0]) == set(MATERIAL.fields)


def test_many_keys_are_loaded_in_their_order(beads: Catalog) -> None:
    from sqlalchemy import select

    keys = [f"none-{number}" for number in range(499)] + ["B-270", "B-275"] + ["x"] * 600 + ["T-4"]
    with beads.reading() as session:
        found = list(loaded(session, select(Material.code), Material.code, keys))
    assert found == ["B-270", "B-275", "T-4"]


@pytest.mark.parametrize("name", ["mouth-depth", "mouth_depth", " Mouth-Depth "])
def test_a_field_is_known_however_it_is_written(name: str) -> None:
    assert field_of(MATERIAL, name).name == "mouth-depth"


@pytest.mark.parametrize(
    ("name", "where", "problem"),
    [
        ("styl", "", 'fly: flies have no field "styl". Did you mean style?'),
        ("sink_u2", "--columns", '--columns: flies have no field "sink_u2". Did you mean sink?'),
        ("clip", "query", 'query: flies have no field "clip"; runs have one. The fields of flies are @.'),
        (
            "density",
            "query",
            'query: flies have no field "density"; materials have one. The fields of flies are @.',
        ),
        (
            "diameter",
            "query",
            'query: flies have no field "diameter"; materials have one. The fields of flies are @.',
        ),
        (
            "flies",
            "query",
            'query: flies have no field "flies"; variants have one. The fields of flies are @.',
        ),
    ],
)
def test_a_field_that_there_is_not(name: str, where: str, problem: str) -> None:
    with pytest.raises(BadValueError) as refused:
        field_of(FLY, name, where)
    assert str(refused.value) == problem.replace("@", fields_of("fly"))
