"""The ladder, a comparison, other water, a label and the rig agree about one fly to the last digit shown, in any shop.

Shops are drawn: flies with one to four runs, in set-ups and on evenings that have names and days or not, with budgets or
without, in waters up to 15 K apart, with a water that was set or none. Nothing here says what a number should be.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from invented_runs import SHEET, add_runs

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import Catalog
from flybench.hydraulics.water import Water
from flybench.jobs.printed.labels import labels_for
from flybench.jobs.river.box import CatalogFlies
from flybench.jobs.shelf.one_water import set_water
from flybench.jobs.shelf.rows import add_row
from flybench.jobs.sink.compare import compare_measured
from flybench.jobs.sink.ladder import ladder
from flybench.jobs.sink.other_water import in_other_water
from flybench.telling.numbers import plus_minus

CODES = ("M1", "M2", "A1", "M4", "M5")
LINES = (
    "reading the track",
    "drop-to-drop spread",
    "card corners",
    "print size of the card",
    "camera distance",
)


def _run(draw: np.random.Generator, truth: float, celsius: float) -> tuple[float, dict[str, Any]]:
    """Return the speed of a run [m/s], and how it was made."""
    speed = truth * float(np.exp(0.03 * draw.normal()))
    doubt = speed * float(draw.uniform(0.004, 0.03))
    lines = draw.permutation(LINES)[: int(draw.integers(len(LINES) + 1))]
    budget = [
        {"source": str(one), "standard_uncertainty_m_s": doubt * float(draw.uniform(0.1, 0.6))}
        for one in lines
    ]
    distance = str(draw.choice(["500 mm", "620 mm"]))
    how: dict[str, Any] = {
        "doubt": doubt,
        "shared": None if draw.random() < 0.2 else doubt * float(draw.uniform(0.1, 0.95)),
        "sheet": {**SHEET, "camera": {"distance": distance}},
        "celsius": round(celsius + float(draw.normal(0, 0.4)), 1),
        "result": {"clip": {"width": 1080, "height": 1920, "rotation": 0}, "budget": budget},
        "set_up": None if draw.random() < 0.3 else str(draw.choice(["kitchen", "cellar"])),
        "filmed": None if draw.random() < 0.3 else date(2030, 1, 1) + timedelta(int(draw.integers(3))),
    }
    return speed, how


def _shop(catalog: Catalog, seed: int) -> None:
    draw = np.random.default_rng(seed)
    for code in ("M4", "M5"):
        add_row(catalog, NOUNS["fly"], {"code": code, "variant": "MILL-24-16"})
    runs, waters = [], draw.choice([4.0, 11.0, 18.0], size=2)
    for code in CODES:
        truth = float(np.exp(draw.uniform(np.log(0.15), np.log(0.55))))
        for _ in range(int(draw.integers(1, 5))):
            speed, how = _run(draw, truth, float(draw.choice(waters)))
            runs.append((code, speed, len(runs) + 1, how))
    add_runs(catalog, runs)
    if seed % 2:
        set_water(catalog, 273.15 + float(draw.choice([6.0, 14.0])))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(3))
def test_five_answers_are_one(catalog: Catalog, seed: int) -> None:
    _shop(catalog, seed)
    found = ladder(catalog)
    water = found.water.water
    assert water is not None
    sides = compare_measured(catalog, CODES).flies.sides
    rig = CatalogFlies(lambda: catalog)
    rungs = {one.code: one for one in found.rungs}
    assert set(rungs) == set(CODES)
    there = {
        one.measured.fly: one for one in in_other_water(catalog, [], water.temperature, water.salinity).flies
    }
    told_by_all = 0
    for code, rung in rungs.items():
        (label,) = labels_for(catalog, [f"code:{code}"], flies=True)
        assert label.speed is not None
        told = {
            "ladder": (rung.speed, rung.uncertainty),
            "comparison": (sides[code].speed, sides[code].uncertainty),
            "at": (there[code].speed, there[code].uncertainty),
            "label": (label.speed.value, label.speed.expanded / 2),
        }
        if there[code].measured.weight is not None:
            point = rig.fly(code, Water(water.temperature, water.salinity), "point").speed
            told["rig"] = point.value, point.standard_uncertainty
        told_by_all += len(told) == 5
        assert len({plus_minus(speed, doubt, 100) for speed, doubt in told.values()}) == 1, told
        for speed, doubt in told.values():
            assert (speed, doubt) == (
                pytest.approx(rung.speed, rel=1e-6),
                pytest.approx(rung.uncertainty, rel=1e-5),
            )
    assert told_by_all >= 2  # of the rest nobody knows what they weigh, so they are in no rig
