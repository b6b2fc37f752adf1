"""From which difference on runs and weights are said to contradict each other, on either side of each limit.

The limits are the product's own and judgements: beyond both doubts (k = 2), and beyond 5 % of what stood there before.
Flies and numbers are invented.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from invented_runs import SHEET, add_run
from shop import shop
from sqlalchemy import select

from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import BenchRun
from flybench.jobs.shelf.contradictions import contradictions


@pytest.fixture
def catalog(tmp_path: Path) -> Catalog:
    return shop(tmp_path / "flies.sqlite")


def last_run(catalog: Catalog) -> int:
    with catalog.reading() as session:
        return max(session.scalars(select(BenchRun.id)))


@pytest.mark.parametrize(
    ("speed", "doubt", "contradicts"),
    [
        (0.3145, 0.0001, False),  # 4.8 % apart and far beyond their doubts
        (0.3155, 0.0001, True),  # 5.2 % apart
        (0.2855, 0.0001, False),
        (0.2845, 0.0001, True),
        (0.3280, 0.0101, False),  # 9.3 % apart; 2 sqrt 2 x 0.0101 = 0.0286
        (0.3280, 0.0098, True),  # 2 sqrt 2 x 0.0098 = 0.0277
    ],
)
def test_runs_that_differ(catalog: Catalog, speed: float, doubt: float, contradicts: bool) -> None:
    add_run(catalog, "M1", 0.300, 1, doubt=doubt, shared=0.0)
    add_run(catalog, "M1", speed, 2, doubt=doubt, shared=0.0)
    found = contradictions(catalog, last_run(catalog))
    assert len(found) == contradicts
    assert all(f"run {last_run(catalog) - 1} " in line for line in found)


@pytest.mark.parametrize(
    ("typed", "contradicts"),
    [("0.220 g", False), ("0.2204 g", False), ("0.221 g", True), ("0.1996 g", False), ("0.199 g", True)],
)
def test_a_weight_in_the_sheet_that_differs(catalog: Catalog, typed: str, contradicts: bool) -> None:
    """The catalog has 0.21 g of M1, so 5 % are 0.0105 g."""
    add_run(catalog, "M1", 0.300, 1, sheet={**SHEET, "fly": {"mass": typed}})
    found = contradictions(catalog, last_run(catalog))
    assert len(found) == contradicts
    assert all(f"({typed})" in line and "210 mg" in line for line in found)


def test_a_run_without_speed_or_set_aside_contradicts_nothing(catalog: Catalog) -> None:
    add_run(catalog, "M1", 0.300, 1, accepted=False)
    add_run(catalog, "M1", 0.400, 2)
    assert contradictions(catalog, last_run(catalog)) == []
