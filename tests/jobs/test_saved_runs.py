"""Bench runs in the catalog: saved, set aside, accepted and removed, with the pooled speeds kept in step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from hashlib import sha256

import pytest
from measured_clips import CLIPS, add, count, measured, record, speed_of, variant_speed, without_drops
from sqlalchemy import select

from flybench.bench.saved.refitting import saved_bytes
from flybench.bench.verdict.result import as_json
from flybench.catalog.shelf import runs as run_shelf
from flybench.catalog.shelf.counted_runs import counted_of
from flybench.catalog.shelf.counting import counting_runs
from flybench.catalog.shelf.run_records import PooledVariant, RunSpeed
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import BenchRun, Fly, RunDrop
from flybench.catalog.tables.vocabulary import Verdict
from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.pooled.kept_speeds import keeping
from flybench.jobs.shelf import runs
from flybench.jobs.shelf.refit import refit_runs, write_refits
from flybench.shop.speeds.shared_errors import whose


def test_the_set_up_and_the_day_count_from_the_first(catalog: Catalog) -> None:
    """A run is pooled with the name of its set-up and the day of its file at once, not only when all is pooled again."""
    run, tables = measured("reed-slip")
    filmed = date(2029, 5, 1)
    number = runs.save_run(catalog, "a-1", replace(run, filmed=filmed), tables, set_up="kitchen")
    with catalog.reading() as session:
        (kept,) = counted_of(session)
        (told,) = [one for one in counting_runs(session) if one.number == number]
        assert (told.place, told.day) == ("kitchen", filmed)
        things = {what: which for what, which, _ in kept.shares}
        assert (things["card"], things["set-up"]) == (whose(told, "card"), whose(told, "set-up"))
    elsewhere, later = replace(told, place=""), replace(told, day=date(2029, 5, 2))
    assert [whose(told, "card") == whose(one, "card") for one in (elsewhere, later)] == [False, True]
    assert [whose(told, "set-up") == whose(one, "set-up") for one in (elsewhere, later)] == [False, False]


@pytest.mark.parametrize("name", CLIPS)
def test_a_run_is_saved_with_all_it_found(catalog: Catalog, name: str) -> None:
    run, tables = measured(name)
    number = runs.save_run(catalog, "a-1", run, tables)
    with catalog.reading() as session:
        saved = session.get_one(BenchRun, number)
        assert (saved.fly.code, saved.clip_name, saved.verdict) == (
            "A-1",
            f"{name}.mp4",
            Verdict(run.result.verdict),
        )
        assert saved.sink_speed_m_s == run.result.sink_speed
        assert saved.sheet == tables
        assert saved.temperature_k == pytest.approx(291.15)
        assert [drop.sink_speed_m_s for drop in saved.drops] == [
            drop["sink_speed_m_s"] for drop in as_json(run.result, "")["drops"]
        ]
        assert run_shelf.drops_taken(session, saved.fly) == len(run.result.drops)
    speed, free = speed_of(catalog, "A-1"), run.result.free_water
    assert speed is not None and free is not None
    assert (speed.free_speed_m_s, speed.runs, speed.drops) == (free.speed, 1, len(run.result.used_drops))
    assert (
        speed.free_uncertainty_m_s > free.uncertainty
    )  # the spread from run to run is in it, and not in the run


def test_a_refused_run_is_saved_without_a_speed_and_not_pooled(catalog: Catalog) -> None:
    run, tables = measured("reed-slip")
    number = runs.save_run(catalog, "A-1", without_drops(run), tables)
    with catalog.reading() as session:
        saved = session.get_one(BenchRun, number)
        assert (saved.verdict, saved.sink_speed_m_s, saved.free_speed_m_s) == (Verdict.REFUSED, None, None)
    assert speed_of(catalog, "A-1") is None
    assert variant_speed(catalog, "A") is None
    add(catalog, "A-1", record())
    speed = speed_of(catalog, "A-1")
    assert speed is not None and speed.runs == 1


def test_the_same_run_twice_is_refused(catalog: Catalog) -> None:
    run, tables = measured("reed-slip")
    number = runs.save_run(catalog, "A-1", run, tables)
    known = (
        f"fly A-1: this clip was measured already, as run {number} (reed-slip.mp4); counted twice, its speed would look "
        "more certain than it is. To measure it again, first remove that run with: "
        f"flybench run remove {number}"
    )
    with pytest.raises(FlybenchError) as refused:
        runs.save_run(catalog, "A-1", run, tables)
    assert str(refused.value) == known
    renamed = replace(record(7), track_sha256=sha256(saved_bytes(run)).hexdigest())
    with pytest.raises(FlybenchError) as refused:
        add(catalog, "A-1", renamed)
    assert str(refused.value) == known
    assert count(catalog, BenchRun) == 1


def test_a_clip_counts_for_two_flies_only_with_a_reason(catalog: Catalog) -> None:
    run, tables = measured("reed-slip")
    number = runs.save_run(catalog, "A-1", run, tables)
    for why in ("", "  "):
        with pytest.raises(FlybenchError) as refused:
            runs.save_run(catalog, "A-2", run, tables, why)
        assert str(refused.value) == (
            f"fly A-2: this very clip is kept under fly A-1 already, as run {number} (reed-slip.mp4), and one clip is no "
            f"measurement of two flies. If that run is of this fly, remove it there: flybench run remove {number}. If the "
            'clip truly shows both, say so: --same-clip "both flies were dropped in it"'
        )
    assert count(catalog, BenchRun) == 1
    second = runs.save_run(catalog, "A-2", run, tables, "both were dropped in it")
    assert runs.show_run(catalog, second)["same-clip"] == "both were dropped in it"
    assert runs.show_run(catalog, number)["same-clip"] == ""
    write_refits(catalog, refit_runs(catalog))
    assert runs.show_run(catalog, second)["same-clip"] == "both were dropped in it"


def test_unknown_and_retired_flies_are_refused(catalog: Catalog) -> None:
    with pytest.raises(BadValueError) as unknown:
        add(catalog, "A-9", record())
    assert str(unknown.value) == (
        'fly: there is no "A-9". Did you mean A-2? If it is a new one, add it with: flybench fly add A-9 --variant CODE.'
    )
    with catalog.writing() as session:
        session.scalars(select(Fly).where(Fly.code == "A-1")).one().retired_on = date(2026, 3, 1)
    with pytest.raises(FlybenchError) as retired:
        add(catalog, "A-1", record())
    assert str(retired.value) == (
        "fly A-1: was retired on 2026-03-01. Measure another fly, or bring this one back with: "
        'flybench fly change A-1 --retired ""'
    )
    assert count(catalog, BenchRun) == 0


def test_set_aside_accept_and_remove_change_the_speed(catalog: Catalog) -> None:
    add(catalog, "A-1", record(1, 0.30))
    second = add(catalog, "A-1", record(2, 0.33))
    both, whole = speed_of(catalog, "A-1"), variant_speed(catalog, "A")
    assert both is not None and 0.30 < both.free_speed_m_s < 0.33
    assert whole is not None and (whole.flies, whole.between_flies_m_s) == (1, None)
    runs.set_run_aside(catalog, second, "thread touched it")
    one, alone = speed_of(catalog, "A-1"), variant_speed(catalog, "A")
    assert one is not None and (one.free_speed_m_s, one.runs) == (0.30, 1)
    assert alone is not None and alone.free_speed_m_s == 0.30
    assert runs.show_run(catalog, second)["why"] == "thread touched it"
    runs.accept_run(catalog, second)
    again = speed_of(catalog, "A-1")
    assert again is not None and again.free_speed_m_s == both.free_speed_m_s
    runs.remove_run(catalog, second)
    runs.set_run_aside(catalog, 1, "bumped")
    assert speed_of(catalog, "A-1") is None and variant_speed(catalog, "A") is None
    assert count(catalog, RunDrop) == len(record().drops)


def test_flies_of_a_variant_are_pooled_and_others_left_alone(catalog: Catalog) -> None:
    add(catalog, "B-1", record(1, 0.20))
    add(catalog, "A-1", record(2, 0.30))
    add(catalog, "A-2", record(3, 0.32))
    of_a, of_b = variant_speed(catalog, "A"), variant_speed(catalog, "B")
    assert of_a is not None and of_a.flies == 2
    assert of_a.between_flies_m_s is not None and of_a.between_flies_m_s > 0
    assert 0.30 < of_a.free_speed_m_s < 0.32
    assert of_b is not None and of_b.free_speed_m_s == 0.20


def test_a_reason_and_a_known_run_are_needed(catalog: Catalog) -> None:
    number = add(catalog, "A-1", record())
    with pytest.raises(BadValueError) as empty:
        runs.set_run_aside(catalog, number, "  ")
    assert str(empty.value) == (
        '--why: is empty. Say why the run does not count, for example --why "thread touched it".'
    )
    for unknown in (number + 1, 0, -3, 2**70):
        with pytest.raises(BadValueError) as missing:
            runs.accept_run(catalog, unknown)
        assert str(missing.value) == (
            f"run: there is no run {unknown}. See what there is: flybench run list."
        )


def test_all_or_nothing_is_saved(catalog: Catalog) -> None:
    def broken(flies: Sequence[Sequence[RunSpeed]]) -> PooledVariant:
        raise RuntimeError("pulled out")

    add(catalog, "A-1", record(1))
    before = speed_of(catalog, "A-1")
    with pytest.raises(RuntimeError), catalog.writing() as session:
        run_shelf.add_run(session, "A-1", record(2, 0.5), broken)
    with pytest.raises(RuntimeError), catalog.writing() as session:
        run_shelf.remove(session, 1, keeping(session))
        raise RuntimeError("pulled out")
    after = speed_of(catalog, "A-1")
    assert before is not None and after is not None
    assert (count(catalog, BenchRun), count(catalog, RunDrop)) == (1, len(record().drops))
    assert (after.free_speed_m_s, after.runs) == (before.free_speed_m_s, 1)


def test_the_set_up_and_the_day_of_filming_are_kept(catalog: Catalog) -> None:
    run, tables = measured("reed-slip")
    number = runs.save_run(
        catalog, "A-1", replace(run, filmed=date(2026, 3, 14)), tables, set_up="kitchen window"
    )
    row = runs.show_run(catalog, number)
    assert (row["set-up"], row["filmed"]) == ("kitchen window", date(2026, 3, 14))
    other, tables = measured("moss-hackle")
    row = runs.show_run(catalog, runs.save_run(catalog, "A-2", other, tables))
    assert (row["set-up"], row["filmed"]) == (None, None)
