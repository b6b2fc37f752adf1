"""Rows found, their order and their number, and fields by name."""

from __future__ import annotations

import pytest
from refusals import fields_of

from flybench.catalog.search.materials import MATERIAL
from flybench.catalog.search.nouns import FLY
from flybench.catalog.search.select import count, field_of, find, loaded, select_rows
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.materials import Bead, Hook, Material
from flybench.catalog.tables.vocabulary import Bore, MaterialKind, Metal
from flybench.errors import BadValueError


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
