"""One fly has one speed and one ±, wherever it is shown: ladder, lists, labels, comparison, other water, drag and rig.

Nothing here says what the number should be (tests/shop/test_pooling_runs_and_flies.py does): only that it is one number.
"""

from __future__ import annotations

import pytest
from invented_runs import SHEET, add_run

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import Catalog
from flybench.hydraulics.water import Water
from flybench.jobs.printed.labels import labels_for
from flybench.jobs.river.box import CatalogFlies
from flybench.jobs.shelf.rows import list_rows
from flybench.jobs.sink.compare import compare_measured
from flybench.jobs.sink.drags import drags
from flybench.jobs.sink.ladder import ladder
from flybench.jobs.sink.other_water import in_other_water
from flybench.telling.numbers import plus_minus

HERE = 291.15
BUDGET = [
    {"source": "reading the track", "standard_uncertainty_m_s": 0.0015},
    {"source": "card corners", "standard_uncertainty_m_s": 0.001},
    {"source": "print size of the card", "standard_uncertainty_m_s": 0.002},
    {"source": "camera distance", "standard_uncertainty_m_s": 0.0015},
]


@pytest.fixture
def measured(catalog: Catalog) -> Catalog:
    """A shop of one water: one run, two that agree, three that do not, before one card in two places."""
    other = {**SHEET, "camera": {"distance": "500 mm"}}
    told = {"budget": BUDGET, "clip": {"width": 1080, "height": 1920, "rotation": 0}}
    add_run(catalog, "M1", 0.300, 1, result=told)
    add_run(catalog, "M2", 0.310, 2, result=told)
    add_run(catalog, "M2", 0.311, 3, sheet=other)
    for number, speed in enumerate((0.19, 0.20, 0.22), 4):
        add_run(catalog, "A1", speed, number, result=told, shared=None if number == 5 else 0.003)
    return catalog


@pytest.mark.parametrize("code", ["M1", "M2", "A1"])
def test_a_fly_has_one_speed_and_one_doubt_wherever_it_is_shown(measured: Catalog, code: str) -> None:
    others = [one for one in ("M1", "M2", "A1") if one != code]
    (rung,) = [one for one in ladder(measured).rungs if one.code == code]
    (row,) = list_rows(measured, NOUNS["fly"], [f"code:{code}"]).rows
    (label,) = labels_for(measured, [f"code:{code}"], flies=True)
    side = compare_measured(measured, [code, *others]).flies.sides[code]
    (there,) = in_other_water(measured, [f"code:{code}"], HERE).flies
    (drag,) = [one.measured for one in drags(measured).flies if one.measured.fly == code]
    shown = {
        "list": (row["sink"], row["sink-u"]),
        "comparison": (side.speed, side.uncertainty),
        "other water": (there.speed, there.uncertainty),
        "drag": (drag.speed, (drag.own**2 + drag.shared**2) ** 0.5),
    }
    assert label.speed is not None
    shown["label"] = label.speed.value, label.speed.expanded / 2
    if there.measured.weight is not None:
        fly = CatalogFlies(lambda: measured).fly(code, Water(HERE), "point")
        shown["rig"] = fly.speed.value, fly.speed.standard_uncertainty
    for speed, doubt in shown.values():
        assert (speed, doubt) == (
            pytest.approx(rung.speed, rel=1e-9),
            pytest.approx(rung.uncertainty, rel=1e-6),
        )
        assert plus_minus(speed, doubt, 100) == plus_minus(rung.speed, rung.uncertainty, 100)
    assert label.band == f"{rung.shown_band} cm/s"


def test_a_variant_has_one_speed_and_one_doubt_too(measured: Catalog) -> None:
    (rung,) = [one for one in ladder(measured, variants=True).rungs if one.code == "MILL-28-14"]
    (row,) = list_rows(measured, NOUNS["variant"], ["code:MILL-28-14"]).rows
    (label,) = labels_for(measured, ["code:MILL-28-14"])
    side = compare_measured(measured, ["MILL-28-14", "A-0-16"], variants=True).flies.sides["MILL-28-14"]
    assert label.speed is not None
    for speed, doubt in (
        (row["sink"], row["sink-u"]),
        (side.speed, side.uncertainty),
        (label.speed.value, label.speed.expanded / 2),
    ):
        assert (speed, doubt) == (
            pytest.approx(rung.speed, rel=1e-9),
            pytest.approx(rung.uncertainty, rel=1e-9),
        )
    assert label.band == f"{rung.shown_band} cm/s"


def test_the_ladder_ties_what_the_comparison_cannot_tell_apart(measured: Catalog) -> None:
    ties = ladder(measured).ties
    for one, other in (("M1", "M2"), ("M1", "A1"), ("M2", "A1")):
        (pair,) = compare_measured(measured, [one, other]).pairs
        assert pair.found.told_apart is not any({one, other} <= set(group) for group in ties)


def test_what_one_fly_shows_of_runs_moves_the_doubt_of_the_others(measured: Catalog) -> None:
    """And the list, which is kept and not worked out anew, moves with it."""
    before = {one.code: one.uncertainty for one in ladder(measured).rungs}
    for number, speed in enumerate((0.300, 0.340, 0.280), 7):
        add_run(measured, "M3", speed, number)
    after = {one.code: one.uncertainty for one in ladder(measured).rungs}
    (row,) = list_rows(measured, NOUNS["fly"], ["code:M1"]).rows
    assert after["M1"] > 1.05 * before["M1"]
    assert row["sink-u"] == pytest.approx(after["M1"], rel=1e-9)
