"""Which of the ways to a weight in water is taken: both readings, one in water alone, dry, or parts alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from weighed_flies import GRAM, MILLIGRAM, ROOM, STANDARD_GRAVITY, held

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.errors import BadValueError, FlybenchError
from flybench.hydraulics.water import Water
from flybench.jobs.shelf.recipes import import_recipes
from flybench.jobs.shelf.rows import add_row
from flybench.jobs.shelf.weigh import Scale, weigh_fly
from flybench.quantity import Measured
from flybench.shop.fly.weights import Readings, weigh, weight_of
from flybench.telling.shelf import weighing

RECIPES = Path(__file__).parents[3] / "catalog"


@pytest.mark.parametrize(
    ("masses", "way"),
    [
        ({}, "from its parts alone"),
        ({"mass": "0.22 g"}, "weighed dry, volume from its parts"),
        ({"mass": "0.22 g", "mass-in-water": "0.19 g"}, "weighed dry and in water"),
    ],
)
def test_the_best_way_that_is_known_is_taken(catalog: Catalog, masses: dict[str, str], way: str) -> None:
    add_row(catalog, NOUNS["fly"], {"code": "W1", "variant": "MILL-28-14", **masses})
    with catalog.reading() as session:
        weighed = weight_of(get(session, NOUNS["fly"], "W1"), Water(ROOM))
    assert weighed.way == way
    assert sum("taken as read on a scale of 1 mg" in line for line in weighed.remarks) == len(masses)


def test_a_reading_in_water_alone_is_the_weight(catalog: Catalog) -> None:
    found = weigh_fly(catalog, "M3", None, 0.1 * GRAM, Scale(), ROOM)
    assert found.weight.weight.value == pytest.approx(
        STANDARD_GRAVITY * (1 - 1.2 / 8000) * 0.1 * GRAM, rel=1e-4
    )
    assert found.weight.mass.value > 0.1 * GRAM


def test_a_dressing_that_holds_air_weighs_less_and_less_surely(catalog: Catalog) -> None:
    import_recipes(catalog, [RECIPES / "moss-hackle.toml"])
    add_row(catalog, NOUNS["fly"], {"code": "W2", "variant": "moss-hackle-12"})
    wet, dry = (
        weigh_fly(catalog, "W2", None, None, Scale(), ROOM, soaked).weight for soaked in (True, False)
    )
    assert dry.weight.value < wet.weight.value
    assert dry.weight.standard_uncertainty > wet.weight.standard_uncertainty
    assert "air-held" in dry.flags
    # Archimedes: what the held air displaces is what is lost.
    lost = (dry.displaced.value - wet.displaced.value) * 998.2 * STANDARD_GRAVITY
    assert wet.weight.value - dry.weight.value == pytest.approx(lost, rel=1e-3)


def test_a_reading_in_water_alone_is_not_called_two(catalog: Catalog, unweighed: str) -> None:
    found = weigh_fly(catalog, unweighed, None, 0.17 * GRAM, Scale(), ROOM)
    assert found.weighed.way == "weighed in water, dry mass and volume from its parts"
    assert weighing.record(found)["way"] == "weighed-in-water"
    assert found.weight.flags == ()


def test_a_coarse_reading_in_water_alone_is_flagged(catalog: Catalog, unweighed: str) -> None:
    # 20 mg / sqrt(12) is 5.8 mg, 3.4 % of 170 mg.
    coarse = weigh_fly(catalog, unweighed, None, 0.17 * GRAM, Scale(20 * MILLIGRAM), ROOM)
    assert coarse.weight.flags == ("weight-uncertain",)


def test_in_water_no_fly_weighs_less_than_its_bead(catalog: Catalog, unweighed: str) -> None:
    """150 mg of tungsten, 17 to 19.3 g/cm3 by alloy (from memory), weigh 141.2 to 142.2 mg in water."""
    for share, refused in ((0.93, True), (1.0, False)):
        shown = share * 142.2 * MILLIGRAM
        if refused:
            with pytest.raises(FlybenchError) as told:
                weigh_fly(catalog, unweighed, None, shown, Scale(0.1 * MILLIGRAM), ROOM)
            assert str(told.value) == (
                "--in-water: 0.1322 g is less than its bead alone in water, 0.1416 g. Weigh again, or correct the size "
                "or metal of the part."
            )
            assert held(catalog, unweighed) == (None, None, None, None)
        else:
            assert weigh_fly(catalog, unweighed, None, shown, Scale(0.1 * MILLIGRAM), ROOM).recorded


def test_a_told_volume_does_not_excuse_less_than_the_bead(catalog: Catalog) -> None:
    light = Readings(Measured(50 * MILLIGRAM, MILLIGRAM), None, Measured(20e-9, 1e-9))
    with catalog.reading() as session, pytest.raises(BadValueError) as caught:
        weigh(get(session, NOUNS["variant"], "MILL-28-14"), light, Water(ROOM))
    assert str(caught.value) == (
        "fly.mass: 0.05 g is less than its bead alone, 0.15 g. Weigh again, or correct the size or metal of the part."
    )


def test_held_air_is_not_counted_where_the_fly_was_weighed_in_water(catalog: Catalog) -> None:
    weigh_fly(catalog, "M2", 0.22 * GRAM, 0.2 * GRAM, Scale(), ROOM)
    wet, airy = (weigh_fly(catalog, "M2", None, None, Scale(), ROOM, soaked) for soaked in (True, False))
    assert airy.weight == wet.weight
    assert (
        "M2: its reading in water is used, so air still held in the dressing is not counted."
        in airy.weighed.remarks
    )
