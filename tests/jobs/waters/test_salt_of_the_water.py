"""Salt of the water that speeds are shown for: counted, told, and asked for beside the temperature. Flies are invented."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from console import Said
from invented_runs import add_run
from sinking_shop import flat, refused

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.hydraulics.water import Water
from flybench.jobs.printed.labels import labels_for
from flybench.jobs.shelf.one_water import set_water, shown_water
from flybench.jobs.sink.ladder import ladder
from flybench.shop.fly.builds import build_of
from flybench.shop.speeds.learning import water_asked
from flybench.shop.speeds.one_water import usual_water
from flybench.shop.speeds.run_parts import RunParts
from flybench.sinking.drag.tied_fly import MeasuredFly

Run = Callable[..., Said]


def parts(celsius: float, salinity: float) -> RunParts:
    return RunParts("f", 0.3, 0.01, {}, celsius + 273.15, 5, salinity=salinity)


def test_the_usual_water_is_that_of_most_runs_salt_and_all() -> None:
    """Nine of the sea and one of the tap at one temperature, and at another two of the tap."""
    runs = [*(parts(15.0, 0.035) for _ in range(9)), parts(15.0, 0.0), parts(8.0, 0.0), parts(8.2, 0.0005)]
    found = usual_water(runs)
    assert found is not None
    assert (found.temperature, found.salinity) == (pytest.approx(288.15), pytest.approx(0.035))


def test_four_brines_are_not_more_than_three_of_one_water() -> None:
    runs = [*(parts(15.0, salt) for salt in (0.0, 0.01, 0.02, 0.03)), *(parts(8.0, 0.0) for _ in range(3))]
    found = usual_water(runs)
    assert found is not None
    assert found.temperature == pytest.approx(281.15)


def test_the_salt_is_told_where_the_water_is(catalog: Catalog, run: Run) -> None:
    add_run(catalog, "M1", 0.30, 1, celsius=15.0)
    assert run("catalog", "water", "15 degC", "--salinity", "35 g/kg").out == (
        "Speeds are shown for water of 15 °C with 35 g/kg of salt (as set with flybench catalog water).\n"
        "Flies with runs in other water, brought to it: M1.\n"
    )
    assert shown_water(catalog).water == Water(288.15, 0.035)
    assert "Speeds are for water of 15 °C with 35 g/kg of salt (as set" in flat(run("ladder").out)
    (label,) = labels_for(catalog, ["code:M1"], flies=True)
    assert label.speed is not None
    assert (label.speed.water, label.speed.salinity) == (288.15, 0.035)
    salt = ladder(catalog).rungs[0].speed
    assert salt < 0.30, "it is lighter in the sea"
    set_water(catalog, None)
    assert ladder(catalog, temperature=288.15, salinity=0.035).rungs[0].speed == salt
    assert "at 15 °C with 35 g/kg of salt, cm/s" in flat(
        run("sink", "at", "--temperature", "15 degC", "--salinity", "35 g/kg").out
    )


def test_salt_without_a_temperature_is_refused(run: Run) -> None:
    for command in (("ladder",), ("catalog", "water")):
        refused(
            run(*command, "--salinity", "35 g/kg"),
            "--salinity: no temperature was given with it. Give both, such as 8 degC and 35 g/kg.",
        )


def test_a_prediction_is_for_the_salt_that_the_flies_were_measured_in(catalog: Catalog) -> None:
    with catalog.reading() as session:
        build = build_of(get(session, NOUNS["fly"], "M1").variant)
    flies = [MeasuredFly("M1", build, None, 0.3, 0.01, 0.0, 288.15, salt, 1, 5) for salt in (0.035, 0.033)]
    assert water_asked(flies, None, None)[0].salinity == pytest.approx(0.034)
    assert water_asked(flies, None, 0.0)[0] == Water(288.15, 0.0)
    assert water_asked(flies, 281.15, None)[0] == Water(281.15, 0.0)
