"""Measured flies by the water they fell in, and the weight that each has there: catalog before sheet."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from shop import measured
from weighed_flies import GRAM, MILLIGRAM, ROOM, STANDARD_GRAVITY

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import BenchRun, Fly
from flybench.catalog.tables.vocabulary import Verdict
from flybench.hydraulics.water import Water
from flybench.jobs.shelf.weigh import Scale, weigh_fly
from flybench.jobs.sink.drags import drags
from flybench.jobs.sink.learn import measured_flies
from flybench.quantity import Measured
from flybench.shop.fly.weights import Readings, weigh
from flybench.shop.speeds.measured_flies import Remarks
from flybench.sinking.drag.tied_fly import MeasuredFly


def dropped(
    catalog: Catalog, fly: str, kelvin: float, salt: str = "0 g/kg", day: int = 1, **weighed: str
) -> None:
    """Add an invented run; weighed, of the sheet."""
    sheet = {
        "water": {"temperature": f"{kelvin} K", "salinity": salt},
        "scale": {"card": "in water", "gap": "0 mm", "bar": "100 mm"},
        "fly": weighed,
    }
    with catalog.writing() as session:
        run = BenchRun(
            clip_name="invented.mp4",
            clip_sha256="0" * 64,
            measured_at=datetime(2026, 3, day, tzinfo=UTC),
            software="0",
            verdict=Verdict.GOOD,
            sink_speed_m_s=0.4,
            uncertainty_m_s=0.004,
            free_speed_m_s=0.4,
            free_uncertainty_m_s=0.005,
            shared_uncertainty_m_s=0.003,
            temperature_k=kelvin,
            drops_used=5,
            flags=[],
            sheet=sheet,
            result={},
            track=b"",
            track_sha256=f"{fly}{kelvin}{salt}{day}",
        )
        found: Fly = get(session, NOUNS["fly"], fly)
        found.runs.append(run)


def records(catalog: Catalog, fly: str) -> list[MeasuredFly]:
    measured(catalog, fly, 0.4, 0.005)
    with catalog.reading() as session:
        return measured_flies(session, [f"code:{fly}"], Remarks())


def test_runs_pool_within_a_kelvin(catalog: Catalog) -> None:
    for kelvin in (283.15, 283.95, 284.3):
        dropped(catalog, "M1", kelvin)
    found = records(catalog, "M1")
    assert [(one.runs, one.drops) for one in found] == [(2, 10), (1, 5)]
    assert [one.temperature for one in found] == pytest.approx([283.55, 284.3])
    assert [one.shared for one in found] == pytest.approx([0.003, 0.003])
    assert (
        found[1].own > 0.004
    )  # 3, 4, 5: own^2 = whole^2 - shared^2, and the spread from run to run comes on top


def test_fresh_and_salt_water_are_not_pooled(catalog: Catalog) -> None:
    for salt in ("35 g/kg", "0 g/kg", "0.4 g/kg"):
        dropped(catalog, "M1", 283.15, salt)
    found = records(catalog, "M1")
    assert [(one.runs, round(one.salinity, 6)) for one in found] == [(2, 0.0002), (1, 0.035)]
    fresh, salt = (one.weight for one in found)
    assert fresh is not None and salt is not None
    # 10 degC, from memory: 999.70 kg/m3 fresh, 1026.95 kg/m3 at 35 (EOS-80).
    assert salt.water_density - fresh.water_density == pytest.approx(27.2, abs=0.3)
    assert salt.weight.value < fresh.weight.value


def test_the_newest_sheet_says_what_the_fly_weighs(catalog: Catalog, unweighed: str) -> None:
    dropped(catalog, unweighed, 283.15, day=2, mass_in_water="0.180 g")
    dropped(catalog, unweighed, 283.55, day=1, mass_in_water="0.160 g")
    (found,) = records(catalog, unweighed)
    assert found.weight is not None
    assert found.weight.weight.value == pytest.approx(
        STANDARD_GRAVITY * (1 - 1.2 / 8000) * 0.18 * GRAM, rel=1e-4
    )


def test_the_catalog_s_weighing_goes_before_the_sheet_s(catalog: Catalog, unweighed: str) -> None:
    weigh_fly(catalog, unweighed, 0.2 * GRAM, 0.175 * GRAM, Scale(), ROOM)
    dropped(catalog, unweighed, 283.15, mass_in_water="0.16 g")
    (found,) = records(catalog, unweighed)
    assert found.weight is not None
    assert found.weight.weight.value == pytest.approx(
        STANDARD_GRAVITY * (1 - 1.2 / 8000) * 0.175 * GRAM, rel=1e-4
    )


def test_a_sheet_lighter_than_the_bead_gives_no_drag_and_the_rest_goes_on(
    catalog: Catalog, unweighed: str
) -> None:
    dropped(catalog, unweighed, 283.15, mass_in_water="0.02 g")
    measured(catalog, unweighed, 0.4, 0.005)
    measured(catalog, "M1", 0.4, 0.005)
    found = drags(catalog)
    assert [(one.measured.fly, one.drag is None) for one in found.flies] == [("M1", False), (unweighed, True)]
    assert found.remarks[-1] == (
        "fly N1: no weight, so no drag: fly.mass_in_water: 0.02 g is less than its bead alone in water, 0.1416 g. "
        "Weigh again, or correct the size or metal of the part."
    )


def test_a_speed_without_runs_is_all_its_own(catalog: Catalog) -> None:
    (found,) = records(catalog, "M1")
    assert (found.own, found.shared, found.salinity, found.runs) == (0.005, 0.0, 0.0, 1)


def test_what_is_too_uncertain_in_salt_water_is_flagged_there(catalog: Catalog) -> None:
    """A fly of 1.28 g/cm3 loses a tenth of its weight from fresh to sea water of 2 degC: Archimedes."""
    water, sea = Water(275.15), Water(275.15, 0.035)
    light = Readings(Measured(128 * MILLIGRAM, 0.2 * MILLIGRAM), None, Measured(100e-9, 0.38e-9))
    with catalog.reading() as session:
        fresh = weigh(get(session, NOUNS["variant"], "A-0-16"), light, water).weight
    salt = fresh.in_water(sea)
    assert "weight-uncertain" not in fresh.flags
    assert salt.relative_uncertainty > 0.03
    assert salt.flags[0] == "weight-uncertain"
    assert fresh.in_water(water).flags == fresh.flags
    assert salt.in_water(water).weight.value == pytest.approx(fresh.weight.value)
