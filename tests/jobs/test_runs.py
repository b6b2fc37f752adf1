"""Bench runs kept in the catalog, fitted again without the clip, and pooled. Flies and codes are invented."""

from __future__ import annotations

import json
import math
import shutil
import tomllib
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from console import flybench
from sqlalchemy import func, select

from flybench.bench.clip.footage import open_clip
from flybench.bench.evaluate import fit_seen
from flybench.bench.fit.drop_pooling import paule_mandel
from flybench.bench.measure import Run, measure
from flybench.bench.saved.kept_run import kept, refit
from flybench.bench.saved.run_bytes import MARK, VERSION
from flybench.bench.sheet.read import read_sheet
from flybench.bench.verdict.result import as_json
from flybench.bench.view.geometry import look
from flybench.catalog.shelf import runs as run_shelf
from flybench.catalog.shelf.run_records import PooledVariant, RunRecord, RunSpeed
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.flies import BenchRun, Fly, FlySpeed, RunDrop, VariantSpeed
from flybench.catalog.tables.materials import Bead, Hook, Material
from flybench.catalog.tables.patterns import Pattern, Variant
from flybench.catalog.tables.vocabulary import Bore, MaterialKind, Metal, Style, Verdict
from flybench.cli import root
from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.demo import shipped_clips
from flybench.jobs.shelf import refit as refits
from flybench.jobs.shelf import runs
from flybench.jobs.shelf.refit import refit_runs
from flybench.jobs.shelf.run_records import OWN_SOURCES, record_of
from flybench.shop.pooling import FLY_SPREAD, Parts, pool_runs, pool_variant, pooled

CLIPS = ("moss-hackle", "reed-slip", "slate-plump")
Capture = pytest.CaptureFixture[str]
_DONE: dict[str, tuple[Run, dict[str, Any]]] = {}


def measured(name: str) -> tuple[Run, dict[str, Any]]:
    """Measure a demo clip, once a session; returns the sheet's tables too."""
    if name not in _DONE:
        path = shipped_clips() / f"{name}.mp4"
        tables = tomllib.loads(path.with_suffix(".toml").read_text(encoding="utf-8"))
        _DONE[name] = measure(open_clip(path), read_sheet(tables)), tables
    return _DONE[name]


def without_drops(run: Run) -> Run:
    """Return a run in which nothing was seen to move."""
    seen = replace(run.seen, spots=[])
    return replace(run, seen=seen, result=fit_seen(seen, run.stage.geometry, run.clock).result)


@pytest.fixture
def catalog(tmp_path: Path) -> Catalog:
    """Return a catalog with two flies A-1, A-2 of one variant and one, B-1, of another."""
    made = open_catalog(str(tmp_path / "flies.sqlite"))
    with made.writing() as session:
        hook = Hook(size=14, material=Material(code="H14", kind=MaterialKind.HOOK, name="hook"))
        bead = Bead(
            diameter_m=0.0031,
            metal=Metal.TUNGSTEN,
            bore=Bore.SLOTTED,
            material=Material(code="T31", kind=MaterialKind.BEAD, name="bead"),
        )
        pattern = Pattern(code="P", name="invented", style=Style.DUBBED)
        for code in "AB":
            variant = Variant(code=code, pattern=pattern, hook=hook, bead=bead)
            session.add_all(Fly(code=f"{code}-{number}", variant=variant) for number in (1, 2))
        session.flush()
        fly = session.scalars(select(Fly).where(Fly.code == "A-1")).one()
        fly.mass_in_water_kg, fly.mass_in_water_u_kg = 0.148e-3, 1e-6
    return made


def record(number: int = 1, speed: float = 0.30, doubt: float = 0.003, shared: float = 0.001) -> RunRecord:
    """Return an invented run; ``number`` makes it another clip."""
    run, tables = measured("reed-slip")
    told = record_of(run.result, tables, kept(run))
    return replace(
        told,
        clip_sha256=f"{number:064d}",
        track_sha256=f"{number:064d}",
        free_speed_m_s=speed,
        free_uncertainty_m_s=doubt,
        shared_uncertainty_m_s=shared,
    )


def speed_of(catalog: Catalog, code: str) -> FlySpeed | None:
    with catalog.reading() as session:
        return session.scalars(select(FlySpeed).join(Fly).where(Fly.code == code)).first()


def variant_speed(catalog: Catalog, code: str) -> VariantSpeed | None:
    with catalog.reading() as session:
        return session.scalars(select(VariantSpeed).join(Variant).where(Variant.code == code)).first()


def count(catalog: Catalog, table: type[Any]) -> int:
    with catalog.reading() as session:
        return session.scalar(select(func.count()).select_from(table)) or 0


def add(catalog: Catalog, fly: str, told: RunRecord) -> int:
    with catalog.writing() as session:
        return run_shelf.add_run(session, fly, told, pool_variant).id


# --- kept and fitted again


@pytest.mark.parametrize("name", CLIPS)
def test_fitted_again_without_the_clip_nothing_changes(name: str) -> None:
    run, tables = measured(name)
    data = kept(run)
    again = refit(data, tables)
    assert again.sink_speed == pytest.approx(run.result.sink_speed, rel=1e-9)
    assert again.standard_uncertainty == pytest.approx(run.result.standard_uncertainty, rel=1e-9)
    assert as_json(again, "") == as_json(run.result, "")
    assert len(data) < 200_000 * run.result.clip.duration_s / 20.0
    assert data == kept(run)


def test_what_is_far_from_every_drop_is_not_kept() -> None:
    run, _ = measured("reed-slip")
    last = max(drop.drop.times[-1] for drop in run.result.drops)
    late = last + 1.5
    index = int(np.argmin(np.abs(run.seen.times / run.clock.stretch - late)))
    spot = replace(run.seen.spots[0], frame=index, clip_time=late * run.clock.stretch)
    spots = sorted([*run.seen.spots, spot], key=lambda one: one.frame)
    assert kept(replace(run, seen=replace(run.seen, spots=spots))) == kept(run)
    near = replace(spot, clip_time=(last + 0.5) * run.clock.stretch)
    assert kept(replace(run, seen=replace(run.seen, spots=[*run.seen.spots, near]))) != kept(run)


def test_a_changed_sheet_is_heeded() -> None:
    run, tables = measured("reed-slip")
    assert run.result.sink_speed is not None
    longer = {**tables, "scale": {**tables["scale"], "bar": "101 mm"}}
    again = refit(kept(run), longer)
    assert again.sink_speed is not None
    # A bar longer by 1 % makes every pixel, hence the speed, larger by 1 % but for the gap and the lens.
    assert again.sink_speed / run.result.sink_speed == pytest.approx(1.01, abs=5e-4)
    straight = measure(open_clip(shipped_clips() / "reed-slip.mp4"), read_sheet(longer)).result
    assert again.sink_speed == pytest.approx(straight.sink_speed, rel=1e-9)
    unmeasured = {**tables, "scale": {key: tables["scale"][key] for key in ("card", "gap")}}
    assert "card-size-unchecked" in refit(kept(run), unmeasured).flags


def test_another_kind_of_scale_is_refused() -> None:
    run, tables = measured("reed-slip")
    points = {"points": [[100, 100], [100, 900]], "length": "200 mm"}
    with pytest.raises(FlybenchError, match="the card as its scale"):
        refit(kept(run), {**tables, "scale": points})


def test_nothing_seen_is_kept_too() -> None:
    run, tables = measured("reed-slip")
    nothing = without_drops(run)
    again = refit(kept(nothing), tables)
    assert (again.verdict, again.drops, again.sink_speed) == ("refused", [], None)


def test_damaged_data_are_told_of() -> None:
    run, tables = measured("reed-slip")
    data = kept(run)
    damaged = [b"", MARK, data[:-1], data[: len(data) // 2], data + b"x", b"x" + data, b"\0" * 100]
    for place in range(0, len(data), 499):
        damaged.append(data[:place] + bytes([data[place] ^ 0x55]) + data[place + 1 :])
    for bad in damaged:
        with pytest.raises(FlybenchError):
            refit(bad, tables)
    newer = MARK + bytes([VERSION + 1]) + data[len(MARK) + 1 :]
    with pytest.raises(FlybenchError, match="Update flybench"):
        refit(newer, tables)


def test_kept_calibration_is_that_of_the_run() -> None:
    run, _ = measured("slate-plump")
    geometry = run.stage.geometry
    assert look(geometry.settings, run.seen.known).metres_per_px == geometry.metres_per_px


# --- pooling


def test_spread_between_groups_as_published() -> None:
    # Kacker (2004), Metrologia 41, 132-136, table 1, first row: s_PM = 0.8399 from nine values and variances,
    # as given in the tests of statsmodels 0.14 (stats/tests/test_meta.py); mean 62.4076199113286 and standard
    # error 0.338030602684471 of the same data by R metafor, method PM (results/results_meta.py there).
    values = np.array([61.00, 61.40, 62.21, 62.30, 62.34, 62.60, 62.70, 62.84, 65.90])
    variances = np.array([0.2025, 1.2100, 0.0900, 0.2025, 0.3844, 0.5625, 0.0676, 0.0225, 1.8225])
    spread = paule_mandel(values, np.sqrt(variances))
    assert f"{spread:.4f}" == "0.8399"
    assert spread**2 == pytest.approx(0.705395309224248, abs=1e-8)
    parts = [Parts(value, variance**0.5, 0.0, 0.0) for value, variance in zip(values, variances, strict=True)]
    found = pooled(parts, spread / float(np.median(values)))  # what is expected is what is found
    assert found.speed == pytest.approx(62.4076199113286, abs=1e-8)
    assert found.own == pytest.approx(0.338030602684471, abs=1e-8)


def test_no_spread_where_the_uncertainties_explain_the_scatter() -> None:
    # By definition: the weighted squares must exceed n - 1 for the spread to be above zero.
    assert paule_mandel(np.array([1.0, 1.1]), np.array([0.1, 0.1])) == 0.0
    assert paule_mandel(np.array([1.0]), np.array([0.1])) == 0.0
    # Two values with no uncertainty to speak of: their own variance, (a - b)^2 / 2.
    assert paule_mandel(np.array([1.0, 1.2]), np.array([1e-6, 1e-6])) == pytest.approx(0.2 / math.sqrt(2))


def test_one_run_stands_as_it_is() -> None:
    fly = pool_variant([[RunSpeed(0.3, 0.004, 0.002, 291.0, 4)]]).flies[0]
    assert (fly.speed, fly.uncertainty, fly.runs, fly.drops) == (0.3, pytest.approx(0.004), 1, 4)


def test_what_runs_share_does_not_average_down() -> None:
    run = RunSpeed(0.3, math.hypot(0.003, 0.002), 0.002, 291.0, 4)
    many = pool_runs([run] * 400)
    assert many.shared == pytest.approx(0.002)
    assert many.own < 0.0005
    assert many.uncertainty > 0.002
    flies = pool_variant([[run]] * 400)
    assert flies.uncertainty > 0.002


def test_more_runs_and_flies_never_know_less() -> None:
    run = RunSpeed(0.3, 0.003, 0.001, 291.0, 4)
    doubts = [pool_runs([run] * number).uncertainty for number in (2, 3, 5, 9)]
    assert doubts == sorted(doubts, reverse=True)
    flies = [pool_variant([[run]] * number).uncertainty for number in (1, 2, 3, 5, 9)]
    assert flies == sorted(flies, reverse=True)


def test_a_variant_known_by_one_fly_says_so() -> None:
    one = pool_variant([[RunSpeed(0.3, 0.003, 0.001, 291.0, 4)]])
    assert one.between is None
    assert one.uncertainty > FLY_SPREAD * 0.3
    two = pool_variant([[RunSpeed(speed, 0.003, 0.001, 291.0, 4)] for speed in (0.28, 0.32)])
    assert two.between == pytest.approx(0.04 / math.sqrt(2), rel=0.35)
    assert two.speed == pytest.approx(0.30, abs=0.0001)


@pytest.mark.parametrize("flies", [2, 3, 6])
def test_pooled_intervals_hold_the_truth(flies: int) -> None:
    """Two standard uncertainties must hold it about 95 times in a hundred, with flies that differ by 3 %."""
    random, truth, held = np.random.default_rng(flies), 0.3, 0
    for _ in range(600):
        common = 0.004 * random.normal()
        speeds = truth * (1 + 0.03 * random.normal(size=flies) + common + 0.006 * random.normal(size=flies))
        doubt = truth * math.hypot(0.006, 0.004)
        found = pool_variant([[RunSpeed(speed, doubt, 0.004 * truth, 291.0, 3)] for speed in speeds])
        held += abs(found.speed - truth) <= 2 * found.uncertainty
    assert held / 600 > 0.92


def test_the_shared_part_is_all_but_reading_and_repeating() -> None:
    run, tables = measured("slate-plump")
    told = record_of(run.result, tables, kept(run))
    assert set(OWN_SOURCES) <= {line.source for line in run.result.budget}
    assert told.shared_uncertainty_m_s is not None and told.free_uncertainty_m_s is not None
    assert 0 < told.shared_uncertainty_m_s < told.free_uncertainty_m_s


# --- the shelf


def test_a_run_is_saved_with_all_it_found(catalog: Catalog) -> None:
    run, tables = measured("moss-hackle")
    number = runs.save_run(catalog, "a-1", run, tables)
    with catalog.reading() as session:
        saved = session.get_one(BenchRun, number)
        assert (saved.fly.code, saved.clip_name, saved.verdict) == ("A-1", "moss-hackle.mp4", Verdict.GOOD)
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
    assert speed.free_uncertainty_m_s == pytest.approx(free.uncertainty)


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
    with pytest.raises(FlybenchError, match=rf"fly A-1: run {number} \(reed-slip.mp4\) is of this clip"):
        runs.save_run(catalog, "A-1", run, tables)
    renamed = replace(record(7), track_sha256=sha256(kept(run)).hexdigest())
    with pytest.raises(FlybenchError, match=f"flybench run remove {number}"):
        add(catalog, "A-1", renamed)
    assert count(catalog, BenchRun) == 1
    runs.save_run(catalog, "A-2", run, tables)  # two flies in one clip


def test_unknown_and_retired_flies_are_refused(catalog: Catalog) -> None:
    with pytest.raises(BadValueError, match='fly: there is no "A-9"'):
        add(catalog, "A-9", record())
    with catalog.writing() as session:
        session.scalars(select(Fly).where(Fly.code == "A-1")).one().retired_on = date(2026, 3, 1)
    with pytest.raises(FlybenchError, match="fly A-1: was retired on 2026-03-01"):
        add(catalog, "A-1", record())
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
    with pytest.raises(BadValueError, match="why: is empty"):
        runs.set_run_aside(catalog, number, "  ")
    for unknown in (number + 1, 0, -3, 2**70):
        with pytest.raises(BadValueError, match=f"run: there is no {unknown}"):
            runs.accept_run(catalog, unknown)


def test_all_or_nothing_is_saved(catalog: Catalog) -> None:
    def broken(flies: Sequence[Sequence[RunSpeed]]) -> PooledVariant:
        raise RuntimeError("pulled out")

    add(catalog, "A-1", record(1))
    before = speed_of(catalog, "A-1")
    with pytest.raises(RuntimeError), catalog.writing() as session:
        run_shelf.add_run(session, "A-1", record(2, 0.5), broken)
    with pytest.raises(RuntimeError), catalog.writing() as session:
        run_shelf.remove(session, 1, pool_variant)
        raise RuntimeError("pulled out")
    after = speed_of(catalog, "A-1")
    assert before is not None and after is not None
    assert (count(catalog, BenchRun), count(catalog, RunDrop)) == (1, len(record().drops))
    assert (after.free_speed_m_s, after.runs) == (before.free_speed_m_s, 1)


# --- refits


def test_refit_of_all_shows_no_change(catalog: Catalog) -> None:
    for name, fly in zip(CLIPS, ("A-1", "A-2", "B-1"), strict=True):
        runs.save_run(catalog, fly, *measured(name))
    found = refit_runs(catalog)
    assert [one.clip for one in found] == [f"{name}.mp4" for name in CLIPS]
    for one in found:
        assert one.new == one.old and one.new_free == one.old_free
        assert (one.gained, one.lost) == ([], [])
        assert all(drop.old == drop.new for drop in one.drops) and one.drops


def worsened(catalog: Catalog, number: int) -> None:
    """Pretend that an older program found something else."""
    with catalog.writing() as session:
        run = session.get_one(BenchRun, number)
        run.sink_speed_m_s, run.flags, run.software = 0.5, ["tumbling"], "0.0"
        run.drops[0].sink_speed_m_s = 0.5


def test_refit_writes_only_when_asked(catalog: Catalog) -> None:
    run, tables = measured("reed-slip")
    number = runs.save_run(catalog, "A-1", run, tables)
    runs.set_run_aside(catalog, number, "only to try")
    worsened(catalog, number)
    (told,) = refit_runs(catalog, [number])
    assert (told.old.value, told.new.value, told.lost) == (0.5, run.result.sink_speed, ["tumbling"])
    assert sum(drop.old != drop.new for drop in told.drops) == 1
    assert refit_runs(catalog, [number])[0].old.value == 0.5
    refit_runs(catalog, [number, number], apply=True)
    with catalog.reading() as session:
        saved = session.get_one(BenchRun, number)
        assert (saved.sink_speed_m_s, saved.flags, saved.accepted) == (run.result.sink_speed, [], False)
        assert saved.software != "0.0"
        assert saved.drops[0].sink_speed_m_s != 0.5
    assert refit_runs(catalog)[0].new == refit_runs(catalog)[0].old


def test_a_damaged_track_or_a_failure_changes_nothing(
    catalog: Catalog, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = runs.save_run(catalog, "A-1", *measured("reed-slip"))
    second = runs.save_run(catalog, "B-1", *measured("slate-plump"))
    worsened(catalog, first)
    worsened(catalog, second)
    with catalog.writing() as session:
        run = session.get_one(BenchRun, second)
        track, run.track = run.track, run.track[:-100]
    with pytest.raises(FlybenchError, match=f"run {second} of fly B-1: the kept track is damaged"):
        refit_runs(catalog, apply=True)
    with catalog.writing() as session:
        session.get_one(BenchRun, second).track = track

    def second_fails(flies: Sequence[Sequence[RunSpeed]]) -> PooledVariant:
        if flies[0][0].speed < 0.3:
            raise RuntimeError("pulled out")
        return pool_variant(flies)

    monkeypatch.setattr(refits, "pool_variant", second_fails)
    with pytest.raises(RuntimeError):
        refit_runs(catalog, apply=True)
    with catalog.reading() as session:
        assert [run.sink_speed_m_s for run in session.scalars(select(BenchRun))] == [0.5, 0.5]


# --- the commands


@pytest.fixture
def clip(tmp_path: Path) -> Path:
    """Return a demo clip whose sheet has neither weights nor a bead."""
    path = tmp_path / "moss-hackle.mp4"
    shutil.copyfile(shipped_clips() / path.name, path)
    sheet = (shipped_clips() / "moss-hackle.toml").read_text(encoding="utf-8")
    path.with_suffix(".toml").write_text(sheet.split("[fly]")[0], encoding="utf-8")
    return path


def test_measure_saves_and_takes_the_weight_from_the_catalog(
    catalog: Catalog, clip: Path, capsys: Capture
) -> None:
    arguments = ["--no-report", "--fly", "a-1", "--catalog", catalog.name, "--json", "-"]
    said = flybench(capsys, "bench", "measure", clip, *arguments)
    assert said.code == 0, said.err
    told = json.loads(said.out)
    # Weight by the standard acceleration of free fall, 9.80665 m/s2 (3rd CGPM, 1901); k = 1 is 1 mg of 148 mg.
    assert told["drag"]["submerged_weight_n"] == pytest.approx(0.148e-3 * 9.80665, rel=1e-9)
    assert told["drag"]["submerged_weight_uncertainty_n"] == pytest.approx(1e-6 * 9.80665, rel=1e-9)
    assert told["drag"]["reference_area_m2"] == pytest.approx(math.pi / 4 * 0.0031**2, rel=1e-9)
    assert said.err == f"saved as run 1 of fly A-1 in {catalog.name}\n"
    with catalog.reading() as session:
        run = session.get_one(BenchRun, 1)
        assert run.sheet["fly"] == {"code": "a-1"}
        assert run.result["sink_speed_m_s"] == told["sink_speed_m_s"]
    assert refit_runs(catalog)[0].new == refit_runs(catalog)[0].old
    again = flybench(capsys, "bench", "measure", clip, *arguments)
    assert (again.code, again.out) == (1, "")
    assert "run 1 (moss-hackle.mp4) is of this clip already" in again.err


def test_weights_in_the_sheet_go_first() -> None:
    weighing = {"mass": "0.2 g", "mass_in_water": "0.15 g", "bead": "3 mm"}
    assert runs.with_weighing({"fly": {"mass": "0.3 g"}}, weighing)["fly"] == {
        "mass": "0.3 g",
        "bead": "3 mm",
    }
    assert runs.with_weighing({"fly": {"bead": "2 mm"}}, weighing)["fly"] == weighing | {"bead": "2 mm"}
    assert runs.with_weighing({"water": {}}, {}) == {"water": {}}


def test_an_unknown_fly_is_refused_before_the_clip_is_read(
    catalog: Catalog, clip: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("flybench.jobs.bench.measure.open_clip", lambda path: pytest.fail("read the clip"))
    said = flybench(capsys, "bench", "measure", clip, "--fly", "A-7", "--catalog", catalog.name)
    assert (said.code, said.out) == (1, "")
    assert said.err.startswith('Error: fly: there is no "A-7". Did you mean A-')
    assert not clip.with_suffix(".bench.png").exists()


def test_a_code_in_the_sheet_alone_opens_no_catalog(
    catalog: Catalog, clip: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv("FLYBENCH_CATALOG", raising=False)
    monkeypatch.setattr(
        "flybench.cli.options.catalog.opened", lambda address: pytest.fail("opened a catalog")
    )
    with clip.with_suffix(".toml").open("a", encoding="utf-8") as handle:
        handle.write('[fly]\ncode = "A-1"\n')
    assert flybench(capsys, "bench", "measure", clip, "--no-report").code == 0
    monkeypatch.undo()
    monkeypatch.setenv("FLYBENCH_CATALOG", catalog.name)
    said = flybench(capsys, "bench", "measure", clip, "--no-report")
    assert said.out.endswith(f"  saved as run 1 of fly A-1 in {catalog.name}\n")


def test_a_catalog_without_a_fly_is_asked_about(catalog: Catalog, clip: Path, capsys: Capture) -> None:
    said = flybench(capsys, "bench", "measure", clip, "--no-report", "--catalog", catalog.name)
    assert said.code == 2
    assert "--catalog needs a fly" in said.err


def run_command(catalog: Catalog, *arguments: str) -> Result:
    return CliRunner().invoke(root, ["run", *arguments, "--catalog", catalog.name])


def test_the_run_commands(catalog: Catalog) -> None:
    runs.save_run(catalog, "A-1", *measured("reed-slip"))
    assert run_command(catalog, "set-aside", "1", "--why", "bumped").stdout == "Set aside run 1.\n"
    told = json.loads(run_command(catalog, "accept", "1", "--json").stdout)
    assert (told["number"], told["accepted"], told["fly"]) == (1, True, "A-1")
    told = json.loads(run_command(catalog, "refit", "--all", "--json").stdout)
    assert told[0]["old"] == told[0]["new"] and told[0]["flags_gained"] == []
    worsened(catalog, 1)
    shown = run_command(catalog, "refit", "1")
    assert "flag lost: tumbling" in shown.stdout and "->" in shown.stdout
    assert "1 run fitted again, nothing was written" in shown.stderr
    assert "1 run fitted again, written" in run_command(catalog, "refit", "1", "--apply").stderr
    assert "unchanged" in run_command(catalog, "refit", "1").stdout
    assert run_command(catalog, "refit").exit_code == 2
    assert run_command(catalog, "refit", "1", "--all").exit_code == 2
    assert run_command(catalog, "remove", "1").exit_code == 1  # nobody answers
    assert count(catalog, BenchRun) == 1
    assert run_command(catalog, "remove", "1", "--yes").stdout == "Removed run 1.\n"
    assert count(catalog, BenchRun) == 0
