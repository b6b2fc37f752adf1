"""Kept speeds after any change are those that pooling the whole catalog from its runs gives, and few rows are written."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from invented_runs import add_run, add_runs
from shop import shop
from sqlalchemy import event, select

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.counting import counting_runs
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.flies import Fly, FlySpeed, Variant, VariantSpeed
from flybench.jobs.shelf.one_water import runs_in_one_water, set_water, shown_water
from flybench.jobs.shelf.rows import change_row
from flybench.jobs.shelf.runs import accept_run, remove_run, set_run_aside
from flybench.jobs.sink.ladder import ladder
from flybench.shop.speeds.kept_sides import packed
from flybench.shop.speeds.ladder import LadderRung
from flybench.shop.speeds.pooling import pool_shop

VARIANTS = ("MILL-28-14", "MILL-24-16", "A-0-16")


@pytest.fixture(scope="module")
def ready_made(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """Return the file of a shop of six flies a variant, four of them dropped twice."""
    path = tmp_path_factory.mktemp("kept") / "shop.sqlite"
    found, chance, runs = shop(path), random.Random(7), []
    with found.writing() as session:
        for place, variant in enumerate(VARIANTS):
            for fly in range(6):
                of = get(session, NOUNS["variant"], variant)
                session.add(Fly(code=f"{place}{fly}", variant=of, mass_kg=2e-4, mass_u_kg=1e-6))
                for _ in range(2 if fly < 4 else 1):
                    speed = (0.3 + 0.05 * place) * chance.gauss(1, 0.03)
                    runs.append((f"{place}{fly}", speed, len(runs) + 1, {}))
    add_runs(found, runs)
    return path.read_bytes()


@pytest.fixture
def catalog(tmp_path: Path, ready_made: bytes) -> Catalog:
    (tmp_path / "shop.sqlite").write_bytes(ready_made)
    return open_catalog(str(tmp_path / "shop.sqlite"))


def kept(catalog: Catalog) -> dict[str, tuple[float, float]]:
    with catalog.reading() as session:
        flies = session.execute(select(Fly.code, FlySpeed).join(FlySpeed)).all()
        variants = session.execute(select(Variant.code, VariantSpeed).join(VariantSpeed)).all()
        return {code: (row.free_speed_m_s, row.free_uncertainty_m_s) for code, row in [*flies, *variants]}


def pooled(catalog: Catalog) -> dict[str, tuple[float, float]]:
    """Return what pooling all runs from their sheets and results gives."""
    with catalog.reading() as session:
        found = pool_shop(runs_in_one_water(session, counting_runs(session))[0])
    return {
        code: (one.speed, one.uncertainty) for code, one in [*found.flies.items(), *found.variants.items()]
    }


def same(catalog: Catalog) -> None:
    numbers, wanted = kept(catalog), pooled(catalog)
    assert numbers.keys() == wanted.keys()
    for code, both in wanted.items():
        assert numbers[code] == pytest.approx(both, rel=1e-9), code


def test_a_run_more_or_less_leaves_all_numbers_true(catalog: Catalog) -> None:
    same(catalog)
    set_run_aside(catalog, 3, "thread touched it")
    same(catalog)
    add_run(catalog, "05", 0.31, 100)
    accept_run(catalog, 3)
    same(catalog)
    for number in (8, 9, 10):
        remove_run(catalog, number)
    same(catalog)


def test_a_run_in_other_water_is_brought_and_its_fly_teaches_all_others(catalog: Catalog) -> None:
    add_run(catalog, "15", 0.27, 100, celsius=6.0)
    same(catalog)
    lone = kept(catalog)["15"]
    add_run(catalog, "04", 0.26, 101, celsius=6.0)  # a fly in two waters
    same(catalog)
    assert kept(catalog)["15"] != lone
    assert set(shown_water(catalog).brought) == {"04", "15"}
    change_row(catalog, NOUNS["fly"], "15", {"mass": "0.15 g"})
    same(catalog)
    set_water(catalog, 279.15)
    same(catalog)
    assert "04" in shown_water(catalog).brought and len(shown_water(catalog).brought) > 15
    set_water(catalog, None)
    same(catalog)


def test_more_runs_in_warm_water_make_it_the_usual_one(catalog: Catalog) -> None:
    codes = [f"{number % 3}{number % 6}" for number in range(40)]
    add_runs(catalog, [(code, 0.33, 200 + place, {"celsius": 22.0}) for place, code in enumerate(codes)])
    same(catalog)
    water = shown_water(catalog)
    assert water.water is not None and water.water.temperature == pytest.approx(295.15)
    assert len(water.brought) == 18


def test_a_fly_that_goes_to_another_variant_takes_its_runs_along(catalog: Catalog) -> None:
    change_row(catalog, NOUNS["fly"], "00", {"variant": "A-0-16"})
    same(catalog)
    change_row(catalog, NOUNS["fly"], "00", {"code": "ZERO"})
    add_run(catalog, "20", 0.41, 300)
    same(catalog)


PARTS = 15
"""Words of a kept side before those of what is shared: two for each of six parts, and three counts."""


def sides_kept(catalog: Catalog, variants: bool) -> dict[str, Any]:
    """Return the kept sides of flies, or of variants, by code, as words."""
    noun, kept, key = (
        (Variant, VariantSpeed, VariantSpeed.variant_id) if variants else (Fly, FlySpeed, FlySpeed.fly_id)
    )
    with catalog.reading() as session:
        rows = session.execute(select(noun.code, kept.side).join(kept, key == noun.id))
        return {code: np.frombuffer(side, "<f8") for code, side in rows}


def test_the_ladder_has_the_doubt_of_each_in_parts_as_pooling_has_it(catalog: Catalog) -> None:
    add_run(catalog, "15", 0.27, 100, celsius=6.0)
    for variants in (False, True):
        own, asked = (ladder(catalog, variants=variants, temperature=kelvin) for kelvin in (None, 291.15))
        assert own.ties == asked.ties
        kept = sides_kept(catalog, variants)
        for one, other in zip(own.rungs, asked.rungs, strict=True):
            assert isinstance(other, LadderRung)
            assert (one.code, one.brought) == (other.code, other.brought)
            numbers = (other.speed, other.uncertainty, other.by_water)
            assert (one.speed, one.uncertainty, one.by_water) == pytest.approx(numbers, rel=1e-12)
            found, wanted = kept[one.code], np.frombuffer(packed(other.side), "<f8")
            assert found[:PARTS] == pytest.approx(wanted[:PARTS], rel=1e-12)
            assert sorted(found[PARTS + 1 :: 2]) == pytest.approx(sorted(wanted[PARTS + 1 :: 2]))


def test_a_run_that_changes_nothing_shop_wide_writes_the_rows_of_its_variant_only(catalog: Catalog) -> None:
    written: list[Any] = []

    def note(connection: Any, cursor: Any, statement: str, parameters: Any, context: Any, many: bool) -> None:
        if statement.startswith(("UPDATE fly_speed", "INSERT INTO fly_speed", "INSERT INTO counted_run")):
            written.extend(parameters if many else [parameters])

    many = [
        (f"{place % 3}{place % 6}", 0.3 + 0.05 * (place % 3) + 0.005 * (place % 2)) for place in range(90)
    ]
    add_runs(catalog, [(code, speed, 400 + place, {}) for place, (code, speed) in enumerate(many)])
    event.listen(catalog.engine, "before_cursor_execute", note)
    before, shortest = kept(catalog), 1000
    for number in range(3):
        written.clear()
        add_run(catalog, "00", 0.303, 500 + number)
        shortest = min(shortest, len(written))
    assert shortest < 6 + 60  # its six flies, and the runs of its variant: a third of some hundred and twenty
    assert kept(catalog)["00"] != before["00"]
    same(catalog)
