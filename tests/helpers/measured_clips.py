"""Demo clips measured once a session, and invented bench runs made of them."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from typing import Any

import pytest
from clips import read_once
from made_once import shared
from sqlalchemy import func, select

from flybench.bench.clip.footage import open_clip
from flybench.bench.evaluate import evaluate
from flybench.bench.measure import Measurement
from flybench.bench.saved.refitting import saved_bytes
from flybench.bench.sheet.read import read_sheet
from flybench.catalog.shelf import runs as run_shelf
from flybench.catalog.shelf.run_records import RunRecord
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import BenchRun, Fly, FlySpeed, VariantSpeed
from flybench.catalog.tables.patterns import Variant
from flybench.jobs.demo import shipped_clips
from flybench.jobs.pooled.kept_speeds import keeping
from flybench.jobs.shelf.record_of_result import record_of

QUICK = "reed-slip"
"""The clip that most tests share, so that it is measured once."""
SLOW = [pytest.param(name, marks=pytest.mark.slow) for name in ("moss-hackle", "slate-plump")]
CLIPS = [QUICK, *SLOW]
_DONE: dict[str, tuple[Measurement, dict[str, Any]]] = {}


def measured(name: str) -> tuple[Measurement, dict[str, Any]]:
    """Measure a demo clip, once for all workers; returns the sheet's tables too."""
    if name not in _DONE:
        path = shipped_clips() / f"{name}.mp4"
        tables = tomllib.loads(path.with_suffix(".toml").read_text(encoding="utf-8"))
        _DONE[name] = read_once(shared(), open_clip(path), read_sheet(tables)), tables
    return _DONE[name]


def without_drops(run: Measurement) -> Measurement:
    """Return a run in which nothing was seen to move."""
    seen = replace(run.observed, spots=[])
    return replace(run, observed=seen, result=evaluate(seen, run.view.geometry, run.clock).result)


def record(number: int = 1, speed: float = 0.30, doubt: float = 0.003, shared: float = 0.001) -> RunRecord:
    """Return an invented run; ``number`` makes it another clip."""
    run, tables = measured("reed-slip")
    told = record_of(run.result, tables, saved_bytes(run))
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
        return run_shelf.add_run(session, fly, told, keeping(session)).id


def worsened(catalog: Catalog, number: int) -> None:
    """Pretend that an older program found something else."""
    with catalog.writing() as session:
        run = session.get_one(BenchRun, number)
        run.sink_speed_m_s, run.flags, run.software = 0.5, ["tumbling"], "0.0"
        run.drops[0].sink_speed_m_s = 0.5
