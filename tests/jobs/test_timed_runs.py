"""Runs timed by hand in the catalog: they count only where no run was filmed, and are never fitted again."""

from __future__ import annotations

from pathlib import Path

import pytest
from invented_runs import add_run
from shop import shop

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.errors import FlybenchError
from flybench.jobs.bench.timed_runs import save_timed
from flybench.jobs.bench.timing import time_run
from flybench.jobs.shelf.refit import refit_runs
from flybench.telling.bench.timing import timed_record

TABLES = {"water": {"temperature": "18 degC"}, "tank": {"width": "200 mm", "depth": "200 mm"}}


def _timed(catalog: Catalog, code: str) -> int:
    run = time_run("60 cm +- 1 cm", ["2.1", "2.2", "2.0"], None, TABLES)
    return save_timed(catalog, code, run, dict(TABLES), timed_record(run))


def _speed(catalog: Catalog, code: str) -> tuple[float, int]:
    with catalog.reading() as session:
        speed = get(session, NOUNS["fly"], code).speed
        assert speed is not None
        return speed.free_speed_m_s, speed.runs


def test_a_timed_run_counts_until_the_fly_is_filmed(tmp_path: Path) -> None:
    catalog = shop(tmp_path / "shop.db")
    code = "A1"
    number = _timed(catalog, code)
    by_hand, runs = _speed(catalog, code)
    assert (by_hand, runs) == (pytest.approx(0.293, abs=0.002), 1)
    assert refit_runs(catalog) == []
    add_run(catalog, code, 0.31, 7)
    assert _speed(catalog, code) == (pytest.approx(0.31), 1)

    with pytest.raises(FlybenchError) as refused:
        refit_runs(catalog, [number])
    assert str(refused.value) == (
        f"run {number} of fly {code}: was timed by hand, so that there is nothing to fit again. Leave it out."
    )


def test_the_same_times_on_one_day_count_once(tmp_path: Path) -> None:
    catalog = shop(tmp_path / "shop.db")
    number = _timed(catalog, "A1")
    with pytest.raises(FlybenchError) as refused:
        _timed(catalog, "A1")
    assert str(refused.value).startswith(
        f"fly A1: this clip was measured already, as run {number} (timed by hand)"
    )
