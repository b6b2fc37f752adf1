"""Imports are all or nothing, twice is once, and what is on the shelf is replaced only when asked for.

All flies, materials and prices are invented.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from imported_files import everything, put
from recipe_texts import SMALL
from sqlalchemy import select

from flybench.catalog.recipe.from_rows import load
from flybench.catalog.recipe.read import read_recipe
from flybench.catalog.shelf.check import check
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.patterns import Variant
from flybench.errors import FlybenchError
from flybench.jobs.shelf.recipes import export_recipes, import_recipes

OTHER = SMALL.replace("mill-test", "mill-other").replace("Mill Test", "Mill Other")
KEEP = "Nothing was changed. Add --replace to take what the file says, or correct the file."


@pytest.fixture
def catalog(tmp_path: Path) -> Catalog:
    return open_catalog(str(tmp_path / "c.db"))


def refused(catalog: Catalog, *paths: Path, replace: bool = False) -> str:
    before = everything(catalog)
    with pytest.raises(FlybenchError) as told:
        import_recipes(catalog, list(paths), replace)
    assert everything(catalog) == before
    return str(told.value)


@pytest.mark.slow
def test_import_twice_changes_nothing(catalog: Catalog, tmp_path: Path) -> None:
    path = put(tmp_path, SMALL)
    first = import_recipes(catalog, [path, tmp_path / "in", path])
    assert (first.patterns.added, first.materials.added) == (1, 4)
    before = everything(catalog)
    again = import_recipes(catalog, [path], replace=True)
    assert (again.patterns.unchanged, again.materials.unchanged) == (1, 4)
    assert everything(catalog) == before
    with catalog.reading() as session:
        assert load(session, "mill-test") == read_recipe(SMALL.encode(), "x")
    assert check(catalog) == []


def test_one_bad_file_keeps_all_out(catalog: Catalog, tmp_path: Path) -> None:
    put(tmp_path, SMALL)
    bad = put(tmp_path, OTHER.replace('hole = "1 mm"', 'hole = "3 mm"').replace("bd-30", "bd-31"), "b.toml")
    assert refused(catalog, tmp_path / "in") == (
        f"{bad}: material bd-31: hole: a bore of 3 mm does not fit in a bead of 3 mm. "
        "Give zero or more, less than the bead's diameter."
    )
    put(tmp_path, OTHER.replace("ribbed", "furry"), "b.toml")
    assert refused(catalog, tmp_path / "in") == (
        f'{bad}: pattern.style: "furry" is not known. Use one of slick, ribbed, dubbed, hackled, soft, bulky.'
    )


def test_files_that_contradict_each_other(catalog: Catalog, tmp_path: Path) -> None:
    one = put(tmp_path, SMALL)
    two = put(tmp_path, OTHER.replace('"0.1 mm"', '"0.12 mm"'), "b.toml")
    assert refused(catalog, tmp_path / "in") == (
        f"{two}: material wi-1 differs from the one in {one}: thickness. "
        "Make the two alike, or give one of them another code."
    )
    put(tmp_path, SMALL.replace('"mill-test"', '"MILL-TEST"'), "b.toml")
    assert refused(catalog, tmp_path / "in") == (
        f"{two}: pattern MILL-TEST is in {one} too. Choose another code, or import one of the two."
    )
    put(tmp_path, OTHER.replace("mill-other-12", "mill-test-12"), "b.toml")
    assert refused(catalog, tmp_path / "in") == (
        f"{two}: variant mill-test-12 is in {one} too. Choose another code, or import one of the two."
    )
    import_recipes(catalog, [one])
    assert refused(catalog, two, replace=True) == (
        f"{two}: variant mill-test-12 belongs to pattern mill-test in the catalog. "
        "Give it another code; nothing was changed."
    )


@pytest.mark.slow
def test_what_differs_is_named_and_replaced_only_when_asked(catalog: Catalog, tmp_path: Path) -> None:
    path = put(tmp_path, SMALL)
    import_recipes(catalog, [path])
    with catalog.writing() as session:
        old = session.scalars(select(Variant).where(Variant.code == "mill-test-12")).one()
        session.add(Fly(code="F-1", variant=old))
        number = old.id
    changed = (
        SMALL.replace("amount = 8", "amount = 9")
        .replace('price = "2.40"', 'price = "2.60"')
        .replace("mill-test-14", "mill-test-14x")
    )
    put(tmp_path, changed)
    assert refused(catalog, path) == (
        f"{path}: pattern mill-test: differs from the catalog in step[1].amount, variant mill-test-12: price, "
        f"variant mill-test-14x (not in the catalog). {KEEP}"
    )
    done = import_recipes(catalog, [path], replace=True)
    assert (done.patterns.changed, done.materials.unchanged) == (1, 4)
    with catalog.reading() as session:
        now, wanted = load(session, "mill-test"), read_recipe(changed.encode(), "x")
        assert [one.code for one in now.variants] == ["mill-test-12", "mill-test-14", "mill-test-14x"]
        assert replace(now, variants=(now.variants[0], now.variants[2])) == wanted
        fly = session.scalars(select(Fly)).one()
        assert (fly.variant_id, fly.variant.code) == (number, "mill-test-12")
    assert check(catalog) == []


def test_a_variant_that_a_file_leaves_out_stays(catalog: Catalog, tmp_path: Path) -> None:
    path = put(tmp_path, SMALL)
    import_recipes(catalog, [path])
    with catalog.writing() as session:
        variant = session.scalars(select(Variant).where(Variant.code == "mill-test-12")).one()
        session.add(Fly(code="F-1", variant=variant))
    put(tmp_path, SMALL.replace("mill-test-12", "mill-test-13"))
    import_recipes(catalog, [path], replace=True)
    with catalog.reading() as session:
        codes = [one.code for one in load(session, "mill-test").variants]
        assert codes == ["mill-test-12", "mill-test-13", "mill-test-14"]
        assert session.scalars(select(Fly)).one().variant.code == "mill-test-12"


def test_materials_are_replaced_only_when_asked(catalog: Catalog, tmp_path: Path) -> None:
    import_recipes(catalog, [put(tmp_path, SMALL)])
    changed = OTHER.replace('"3 mm"', '"3.2 mm"').replace("102 mg +- 2 mg", "120 mg")
    path = put(tmp_path, changed, "b.toml")
    assert refused(catalog, path) == (
        f"{path}: material bd-30: differs from the catalog in diameter, mass. {KEEP}"
    )
    done = import_recipes(catalog, [path], replace=True)
    assert (done.patterns.added, done.materials.changed, done.materials.unchanged) == (1, 1, 3)
    with catalog.reading() as session:
        assert load(session, "mill-other") == read_recipe(changed.encode(), "x")
    kind = OTHER.replace('kind = "wire"', 'kind = "rib"')
    put(tmp_path, kind, "b.toml")
    assert refused(catalog, path, replace=True) == (
        f"{path}: material wi-1: is a wire in the catalog, not a rib. "
        "Give it another code; nothing was changed."
    )


def test_steps_may_be_shortened_and_bases_turned_round(catalog: Catalog, tmp_path: Path) -> None:
    path = put(tmp_path, SMALL)
    import_recipes(catalog, [path])
    turned = SMALL.replace('based_on = "mill-test-12"\n', 'based_on = ""\n').replace(
        'bead = "bd-30"\n', 'bead = "bd-30"\nbased_on = "mill-test-14"\n'
    )
    turned = turned.replace('[[step]]\npart = "finish"\ntext = "Say \\"done\\"."\n\n', "")
    put(tmp_path, turned)
    assert import_recipes(catalog, [path], replace=True).patterns.changed == 1
    (written,) = export_recipes(catalog, None, tmp_path / "out")
    assert written.read_text(encoding="utf-8") == turned.replace('based_on = ""\n', "")


def test_export_leaves_other_files_alone(catalog: Catalog, tmp_path: Path) -> None:
    with pytest.raises(FlybenchError) as told:
        export_recipes(catalog, None, tmp_path / "out")
    assert str(told.value) == ("export: the catalog holds no patterns. Add some, or import recipes first.")
    import_recipes(catalog, [put(tmp_path, SMALL)])
    (written,) = export_recipes(catalog, None, tmp_path / "out")
    assert export_recipes(catalog, None, tmp_path / "out") == [written]
    written.write_text("mine", encoding="utf-8")
    with pytest.raises(FlybenchError) as told:
        export_recipes(catalog, None, tmp_path / "out")
    assert str(told.value) == (
        f"{written}: exists already with other content; nothing was written. "
        "Name another folder, or add --overwrite."
    )
    assert written.read_text(encoding="utf-8") == "mine"
    export_recipes(catalog, None, tmp_path / "out", overwrite=True)
    assert written.read_text(encoding="utf-8") == SMALL
    assert [one.name for one in (tmp_path / "out").iterdir()] == [written.name]


@pytest.mark.slow
def test_a_code_never_becomes_a_path(catalog: Catalog, tmp_path: Path) -> None:
    for number, code in enumerate(("..", "con", "a*b?", "..%2F", "é鱒")):
        text = SMALL.replace('"mill-test"', f'"{code}"').replace("mill-test-", f"v{number}-")
        import_recipes(catalog, [put(tmp_path, text, f"{number}.toml")])
    written = export_recipes(catalog, None, tmp_path / "out")
    assert {path.parent for path in written} == {tmp_path / "out"}
    assert {path.name for path in written} == {
        "%2E..toml",
        "%63on.toml",
        "a%2Ab%3F.toml",
        "%2E.%252F.toml",
        "é鱒.toml",
    }
    assert import_recipes(catalog, [tmp_path / "out"]).patterns.unchanged == 5


def test_more_or_fewer_steps_are_told(catalog: Catalog, tmp_path: Path) -> None:
    path = put(tmp_path, SMALL)
    import_recipes(catalog, [path])
    put(tmp_path, SMALL.replace('[[step]]\npart = "finish"\ntext = "Say \\"done\\"."\n\n', ""))
    assert refused(catalog, path) == (
        f"{path}: pattern mill-test: differs from the catalog in number of steps (1 in the file, 2 in the catalog). {KEEP}"
    )
