"""Bench runs of the catalog fitted again: shown first, written only when asked, all or nothing."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from measured_clips import QUICK, measured, worsened
from sqlalchemy import select

from flybench.catalog.shelf.run_records import PooledShop
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import BenchRun
from flybench.errors import FlybenchError
from flybench.jobs.shelf import runs
from flybench.jobs.shelf.refit import refit_runs, write_refits
from flybench.shop.speeds.run_parts import RunParts
from flybench.shop.speeds.shop_spreads import ShopSpreads

ALL = ("moss-hackle", "reed-slip", "slate-plump")


@pytest.mark.slow
@pytest.mark.parametrize("names", [[QUICK], pytest.param([*ALL], marks=pytest.mark.slow)])
def test_refit_of_all_shows_no_change(catalog: Catalog, names: list[str]) -> None:
    for name, fly in zip(names, ("A-1", "A-2", "B-1"), strict=False):
        runs.save_run(catalog, fly, *measured(name))
    found = refit_runs(catalog)
    assert [one.clip for one in found] == [f"{name}.mp4" for name in names]
    for one in found:
        assert one.new == one.old and one.new_free == one.old_free
        assert (one.gained, one.lost) == ([], [])
        assert all(drop.old == drop.new for drop in one.drops) and one.drops


@pytest.mark.slow
def test_refit_writes_only_when_asked(catalog: Catalog) -> None:
    run, tables = measured("reed-slip")
    number = runs.save_run(catalog, "A-1", run, tables)
    runs.set_run_aside(catalog, number, "only to try")
    worsened(catalog, number)
    (told,) = refit_runs(catalog, [number])
    assert (told.old.value, told.new.value, told.lost) == (0.5, run.result.sink_speed, ["tumbling"])
    assert sum(drop.old != drop.new for drop in told.drops) == 1
    assert refit_runs(catalog, [number])[0].old.value == 0.5
    write_refits(catalog, refit_runs(catalog, [number, number]))
    with catalog.reading() as session:
        saved = session.get_one(BenchRun, number)
        assert (saved.sink_speed_m_s, saved.flags, saved.accepted) == (run.result.sink_speed, [], False)
        assert saved.software != "0.0"
        assert saved.drops[0].sink_speed_m_s != 0.5
    assert refit_runs(catalog)[0].new == refit_runs(catalog)[0].old


@pytest.mark.slow
def test_a_damaged_track_or_a_failure_changes_nothing(
    catalog: Catalog, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = runs.save_run(catalog, "A-1", *measured("reed-slip"))
    second = runs.save_run(catalog, "B-1", *measured("reed-slip"), "two flies")
    worsened(catalog, first)
    worsened(catalog, second)
    with catalog.writing() as session:
        run = session.get_one(BenchRun, second)
        track, run.track = run.track, run.track[:-100]
    with pytest.raises(FlybenchError) as refused:
        write_refits(catalog, refit_runs(catalog))
    assert str(refused.value) == (
        f"run {second} of fly B-1: the saved track is damaged (their length is wrong). Restore the catalog from a "
        "backup, or measure the clip again. Nothing was changed."
    )
    with catalog.writing() as session:
        session.get_one(BenchRun, second).track = track

    def fails(runs: Sequence[RunParts], spreads: ShopSpreads | None = None) -> PooledShop:
        raise RuntimeError("pulled out")

    monkeypatch.setattr("flybench.jobs.pooled.kept_speeds.pool_shop", fails)
    with pytest.raises(RuntimeError):
        write_refits(catalog, refit_runs(catalog))
    with catalog.reading() as session:
        assert [run.sink_speed_m_s for run in session.scalars(select(BenchRun))] == [0.5, 0.5]
