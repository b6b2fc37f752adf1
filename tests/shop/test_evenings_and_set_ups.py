"""Which runs share an error: one card under a name, one evening in one set-up; and what that makes of comparisons.

Truth: the worlds of ``evening_worlds``, whose errors are drawn once for what has them; ``benchmarks/truth_evenings.py`` is
the long version. 95.45 % is what k = 2 promises.
"""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest
from evening_worlds import CARD, DISTANCE, LEAN, EveningShop, met, unnamed
from evenings_judged import as_made, away
from invented_runs import add_run
from sqlalchemy import select

from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import FlySpeed
from flybench.jobs.sink.compare import compare_measured
from flybench.shop.speeds.kept_sides import all_unpacked
from flybench.shop.speeds.run_parts import RunParts, parts_of_run

BUDGET = [
    {"source": "print size of the card", "standard_uncertainty_m_s": 0.002},
    {"source": "camera distance", "standard_uncertainty_m_s": 0.002},
]
TOLD = {"budget": BUDGET, "clip": {"width": 1080, "height": 1920, "rotation": 0}}
MONDAY, TUESDAY = date(2030, 1, 7), date(2030, 1, 8)


def _runs(kind: str) -> tuple[RunParts, RunParts]:
    shop = EveningShop(1)
    one, other = (shop.runs(fly, 0.3, where)[0] for fly, where in zip(("a", "b"), met(kind, 1), strict=True))
    return parts_of_run(one), parts_of_run(other)


@pytest.mark.parametrize(
    ("kind", "shared"),
    [
        ("one evening", {"card", "set-up", "tank", "thermometer"}),
        ("one card", {"card", "tank", "thermometer"}),
        ("two cards", {"tank", "thermometer"}),
    ],
)
def test_each_error_is_shared_by_what_shares_it(kind: str, shared: set[str]) -> None:
    one, other = _runs(kind)
    assert {what for what, which in one.shares if (what, which) in other.shares} == shared - _unsized(one)
    by_name = {what: size for (what, _), size in one.shares.items()}
    assert by_name["card"] == pytest.approx(CARD, rel=1e-6)
    assert by_name["set-up"] == pytest.approx(math.hypot(DISTANCE, LEAN), rel=1e-6)


def _unsized(run: RunParts) -> set[str]:
    """Return things that nothing is left for: free water added no doubt in these worlds."""
    return {"tank", "thermometer"} - {what for what, _ in run.shares}


@pytest.mark.parametrize(
    ("one", "other", "set_up", "differs", "cancels"),
    [
        (("kitchen", MONDAY), ("kitchen", MONDAY), "one", (), ("card", "set-up")),
        (("kitchen", MONDAY), ("kitchen", TUESDAY), "different", ("evening",), ("card",)),
        (("kitchen", MONDAY), ("cellar", MONDAY), "different", ("name of the set-up",), ()),
        ((None, MONDAY), (None, TUESDAY), "different", ("evening",), ("card",)),
        ((None, None), (None, None), "one", (), ("card", "set-up")),
    ],
)
def test_clips_of_two_evenings_measured_on_one_day_are_of_two_evenings(
    catalog: Catalog,
    one: tuple[str | None, date | None],
    other: tuple[str | None, date | None],
    set_up: str,
    differs: tuple[str, ...],
    cancels: tuple[str, ...],
) -> None:
    for number, (code, where) in enumerate((("M1", one), ("M2", other)), 1):
        add_run(catalog, code, 0.300, number, result=TOLD, set_up=where[0], filmed=where[1])
    (pair,) = compare_measured(catalog, ["M1", "M2"]).pairs
    told = tuple(what for what in pair.cancels if what not in ("tank", "thermometer"))
    assert (pair.set_up, pair.differs, told) == (set_up, differs, cancels)
    with catalog.reading() as session:  # the kept sides name the same things
        kept = session.execute(select(FlySpeed.free_speed_m_s, FlySpeed.side)).all()
    columns = all_unpacked([one.free_speed_m_s for one in kept], [one.side for one in kept]).columns
    assert columns.own.min() > 0
    things = [set(of[sizes > 0].tolist()) for of, sizes in zip(columns.things, columns.sizes, strict=True)]
    assert len(things[0] & things[1]) == len(pair.cancels)


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["one evening", "one card", "two cards"])
def test_differences_hold_the_truth_wherever_flies_were_filmed(kind: str) -> None:
    found = np.abs(away(kind, runs=1, shops=40))
    assert np.mean(found <= 2) >= 0.88  # of 40; 95 % less two standard deviations of what so many show


@pytest.mark.slow
def test_without_name_and_day_other_evenings_would_pass_for_one() -> None:
    """The same flies without them: errors that are two would cancel, and the interval is narrower by a fifth or more."""
    told, bare = (away("two cards", runs=1, shops=20, seen=seen) for seen in (as_made, unnamed))
    assert np.all(np.abs(bare) > 1.2 * np.abs(told))
