"""A fly dropped in two waters: one speed for a water that is asked about, and retired ones teach as the others do.

Nothing here says what the number should be, only that it is one number wherever it is shown. Flies are invented.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from invented_runs import add_run
from shop import shop

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import Catalog
from flybench.hydraulics.water import Water
from flybench.jobs.river.box import CatalogFlies
from flybench.jobs.shelf.rows import add_row, change_row
from flybench.jobs.sink.ladder import ladder
from flybench.jobs.sink.learn import law_of_water, learn
from flybench.jobs.sink.other_water import in_other_water
from flybench.telling.numbers import plus_minus
from flybench.telling.sink import other_water as telling


@pytest.fixture
def catalog(tmp_path: Path) -> Catalog:
    """A shop where M1 was dropped at 4 and 18 degrees, M2 at 18 only."""
    found = shop(tmp_path / "shop.sqlite")
    for number, (code, speed, celsius) in enumerate(
        (("M1", 0.35, 4.0), ("M1", 0.42, 18.0), ("M1", 0.425, 18.2), ("M2", 0.40, 18.0)), 1
    ):
        add_run(found, code, speed, number, celsius=celsius)
    return found


@pytest.mark.parametrize("celsius", [4.0, 10.0, 18.0])
def test_sink_at_and_the_rig_show_what_the_ladder_shows(catalog: Catalog, celsius: float) -> None:
    water = Water(celsius + 273.15)
    rungs = {one.code: one for one in ladder(catalog, temperature=water.temperature).rungs}
    there = in_other_water(catalog, (), water.temperature)
    box = {one.name: one.speed for one in CatalogFlies(lambda: catalog).box((), water).flies}
    alone = CatalogFlies(lambda: catalog).fly("M1", water, "point").speed
    assert [one.measured.fly for one in there.flies].count("M1") == 2
    assert set(box) == {"M1", "M2"}
    for one in there.flies:
        rung = rungs[one.measured.fly]
        assert plus_minus(one.speed, one.uncertainty, 100) == plus_minus(rung.speed, rung.uncertainty, 100)
    for code, speed in (*box.items(), ("M1", alone)):
        rung = rungs[code]
        shown = plus_minus(speed.value, speed.standard_uncertainty, 100)
        assert shown == plus_minus(rung.speed, rung.uncertainty, 100)
    assert telling.remarks(there)[0] == (
        "Measured in more than one water, so the speed is that of all runs together, as on the ladder: M1."
    )


def test_a_retired_fly_teaches_as_before_and_is_not_shown(catalog: Catalog) -> None:
    """How it sank in two waters stays true; the ladder, other water and the model learn the same from it."""
    add_row(catalog, NOUNS["fly"], {"code": "M4", "variant": "MILL-28-14"})
    add_run(catalog, "M4", 0.36, 9, celsius=4.0)

    def shown() -> list[tuple[float, float]]:
        (rung,) = [one for one in ladder(catalog, temperature=291.15).rungs if one.code == "M4"]
        (there,) = in_other_water(catalog, ["code:M4"], 291.15).flies
        return [(rung.speed, rung.uncertainty), (there.speed, there.uncertainty), (there.change, 0.0)]

    before = shown()
    change_row(catalog, NOUNS["fly"], "M1", {"retired": "2026-06-01"})
    assert [pytest.approx(one, rel=1e-9) for one in before] == shown()
    with catalog.reading() as session:
        assert [one.fly for one in learn(session).shop.data.viscosity.seen] == ["M1"]
    assert "M1" not in {one.measured.fly for one in in_other_water(catalog, (), 291.15).flies}


def test_the_law_that_is_kept_is_the_one_that_all_flies_teach(catalog: Catalog) -> None:
    """To the last digit: nothing is fitted for it, and few flies are read."""
    add_row(catalog, NOUNS["fly"], {"code": "M5", "variant": "A-0-16"})
    for number, (speed, celsius) in enumerate(((0.31, 4.0), (0.36, 18.0), (0.38, 26.0)), 20):
        add_run(catalog, "M5", speed, number, celsius=celsius)
    with catalog.reading() as session:
        learned = learn(session)
        assert [one.fly for one in learned.viscosity.seen] == ["M1", "M5"]
        laws = law_of_water(session), learned.viscosity, learned.shop.data.viscosity
    kept, told, fitted = (
        [(one.fly, one.steeper, one.variance, one.shared) for one in law.seen] for law in laws
    )
    assert kept == told == fitted
    builds = [one.build for one in learned.measured]
    assert [laws[0].of("", build) for build in builds] == [laws[1].of("", build) for build in builds]


def test_what_other_water_rests_on_is_worked_out_where_it_is_asked_for(catalog: Catalog) -> None:
    plain, whole = (in_other_water(catalog, (), 281.15, rests_on=asked) for asked in (False, True))
    assert plain.flies == whole.flies
    assert plain.learned is None
    assert telling.record(plain)["learned_from"] is None
    assert telling.record(whole)["learned_from"]["flies"] == 2
