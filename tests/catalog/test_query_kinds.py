"""What is found goes by the kind of a field: yes and no, days, flags, stock; and words found in steps of a recipe."""

from __future__ import annotations

from pathlib import Path

import pytest
from invented_runs import add_run
from shop import shop
from sqlalchemy import select

from flybench.catalog.search.nouns import FLY, NOUNS, RUN
from flybench.catalog.search.select import choice_of, field_of, find, loaded, select_rows
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import BenchRun
from flybench.catalog.tables.materials import Material
from flybench.catalog.tables.patterns import Pattern, Step
from flybench.catalog.tables.vocabulary import Part
from flybench.errors import BadValueError


@pytest.fixture(scope="module")
def catalog(tmp_path_factory: pytest.TempPathFactory) -> Catalog:
    """Return the invented shop with three runs, one set aside, and two steps in one of its two recipes."""
    made = shop(Path(tmp_path_factory.mktemp("kinds")) / "shop.sqlite")
    for number, accepted in ((1, True), (2, True), (3, False)):
        add_run(made, "M1", 0.3, number, accepted=accepted)
    with made.writing() as session:
        for number, flags in ((1, ["card not flat"]), (2, ["card not flat", "drops disagree"])):
            session.get_one(BenchRun, number).flags = flags
        mill = session.scalars(select(Pattern).where(Pattern.code == "MILL")).one()
        hare = session.scalars(select(Material).where(Material.code == "HARE")).one()
        session.add(Step(pattern=mill, position=1, part=Part.BODY, material=hare))
        session.add(Step(pattern=mill, position=2, part=Part.RIB, text="five even turns"))
    return made


def found(catalog: Catalog, noun: str, query: str) -> list[object]:
    one = NOUNS[noun]
    with catalog.reading() as session:
        return [row[one.key] for row in find(session, one, query).rows]


@pytest.mark.parametrize(
    ("query", "numbers"),
    [
        ("accepted:yes", [1, 2]),
        ("accepted:TRUE", [1, 2]),
        ("accepted:1", [1, 2]),
        ("accepted:no", [3]),
        ("accepted:0", [3]),
        ("not accepted:yes", [3]),
        ("flags:flat", [1, 2]),
        ('flags:"drops disagree"', [2]),
        ("not flags:flat", [3]),
        ("flags:none", [3]),
        ("flags:any", [1, 2]),
        ("why:INVENTED", [3]),
        ("when:2030-01-31", [1, 2, 3]),
        ("when:2030-01-30", []),
        ("when:<2030-01-31", []),
        ("when:>2030-01-30", [1, 2, 3]),
        ("number:2", [2]),
    ],
)
def test_runs_by_yes_and_no_flags_and_days(catalog: Catalog, query: str, numbers: list[int]) -> None:
    """All three were measured at midnight, which is the end of one day and the beginning of the next."""
    assert found(catalog, "run", query) == numbers


@pytest.mark.parametrize(
    ("noun", "query", "codes"),
    [
        ("fly", "hare", ["M1", "M2", "M3"]),
        ("fly", '"hare dubbing"', ["M1", "M2", "M3"]),
        ("fly", '"FIVE even"', ["M1", "M2", "M3"]),
        ("pattern", "turns", ["MILL"]),
        ("pattern", "hare", ["MILL"]),
        ("variant", "not hare", ["A-0-16"]),
        ("fly", "tied:2026-02", []),
        ("fly", "tied:..2026-03-31", ["M1"]),
        ("fly", "stock:>0", []),
        ("fly", "stock:<0", []),
        ("material", "stock:>=0 kind:bead", ["B24", "B28"]),
    ],
)
def test_words_of_steps_first_days_and_empty_bins(
    catalog: Catalog, noun: str, query: str, codes: list[str]
) -> None:
    """M1 was tied on 2026-03-01, the day after February; nothing was ever put into stock."""
    assert found(catalog, noun, query) == codes


def test_a_page_of_one_knows_that_there_are_more(catalog: Catalog) -> None:
    with catalog.reading() as session:
        page = find(session, FLY, "", limit=1, fields=["code"])
        assert (page.rows, page.total) == ([{"code": "A1"}], 4)
        assert [row["code"] for row in select_rows(session, FLY)] == ["A1", "M1", "M2", "M3"]


def test_the_first_of_many_keys_is_loaded(catalog: Catalog) -> None:
    with catalog.reading() as session:
        assert set(loaded(session, select(Material.code), Material.code, ["HARE", "B28"])) == {"B28", "HARE"}
        assert list(loaded(session, select(Material.code), Material.code, [])) == []


def test_a_word_that_is_neither_yes_nor_no_is_refused(catalog: Catalog) -> None:
    with pytest.raises(BadValueError) as refused:
        found(catalog, "run", "accepted:maybe")
    assert str(refused.value) == (
        'accepted: "maybe" is neither yes nor no. Write accepted:yes or accepted:no.'
    )


def test_a_choice_is_told_the_nearest_word_or_all_of_them() -> None:
    """Of two words alike the nearest is told; of none alike, every word there is."""
    verdict = field_of(RUN, "verdict")
    for word, cure in (("goood", "Did you mean good?"), ("xyz", "Use one of good, usable, refused.")):
        with pytest.raises(BadValueError) as refused:
            choice_of(verdict, word)
        assert str(refused.value) == f'verdict: "{word}" is not known. {cure}'
