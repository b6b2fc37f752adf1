"""Runs timed by hand kept in the catalog: they count only for a fly that was never filmed."""

from __future__ import annotations

import hashlib
import json
import math
from datetime import UTC, datetime
from typing import Any

from flybench.catalog.shelf import runs as run_shelf
from flybench.catalog.shelf.run_records import DropRecord, RunRecord
from flybench.catalog.store.open import Catalog
from flybench.jobs.bench.timing import TimedRun
from flybench.jobs.pooled.kept_speeds import keeping
from flybench.shop.speeds.shared_errors import OWN_BY_HAND
from flybench.version import __version__

MARK = b"FBTIME"
"""What the kept times begin with, in the place of a track."""


def save_timed(
    catalog: Catalog, fly_code: str, run: TimedRun, tables: dict[str, Any], machine: dict[str, Any]
) -> int:
    """Save a timed run under a fly and return its number; ``machine`` is its machine form.

    Raises BadValueError for an unknown fly, FlybenchError for one that was retired or has these very times already.
    """
    record = _record(run, tables, machine)
    with catalog.writing() as session:
        return run_shelf.add_run(session, fly_code, record, keeping(session)).id


def _record(run: TimedRun, tables: dict[str, Any], machine: dict[str, Any]) -> RunRecord:
    now = datetime.now(UTC)
    kept = MARK + json.dumps(run.asked | {"day": now.date().isoformat()}, sort_keys=True).encode()
    digest = hashlib.sha256(kept).hexdigest()
    found, free = run.found, run.free
    return RunRecord(
        clip_name="timed by hand",
        clip_sha256=digest,
        measured_at=now,
        software=__version__,
        verdict="usable",
        sink_speed_m_s=found.speed,
        uncertainty_m_s=found.standard_uncertainty,
        free_speed_m_s=None if free is None else free.speed,
        free_uncertainty_m_s=None if free is None else free.uncertainty,
        shared_uncertainty_m_s=None if free is None else _shared(run),
        temperature_k=run.settings.temperature,
        drops_used=len(found.drops),
        flags=run.flags,
        sheet=json.loads(json.dumps(tables | {"timed": run.asked})),
        result=json.loads(json.dumps(machine)),
        track=kept,
        track_sha256=digest,
        drops=_drops(run),
    )


def _shared(run: TimedRun) -> float:
    """Return the part of the free-water uncertainty that all runs in one set-up and by one hand share [m/s]."""
    assert run.free is not None
    own = sum(line.standard_uncertainty**2 for line in run.found.budget if line.source in OWN_BY_HAND)
    return float(max(run.free.uncertainty**2 - own / run.free.wall_factor**2, 0.0) ** 0.5)


def _of_a_drop(run: TimedRun) -> float:
    """Return the standard uncertainty of a single time's speed [m/s]: what all share, and one pair of presses."""
    sizes = {line.source: line.standard_uncertainty for line in run.found.budget}
    shared = [size for source, size in sizes.items() if source not in OWN_BY_HAND]
    return math.hypot(*shared, sizes[OWN_BY_HAND[0]] * math.sqrt(len(run.found.drops)))


def _drops(run: TimedRun) -> list[DropRecord]:
    """Return a drop for each time: from 0 s, in no frames."""
    pairs = zip(run.timing.times, run.found.drops.tolist(), strict=True)
    return [
        DropRecord(
            number=number,
            start_s=0.0,
            end_s=time,
            frames_used=0,
            sink_speed_m_s=speed,
            uncertainty_m_s=_of_a_drop(run),
            fit_uncertainty_m_s=None,
            start_speed_m_s=None,
            response_time_s=None,
            terminal_share=None,
            path_tilt_deg=0.0,
            residual_rms_mm=None,
            used=True,
            flags=[],
        )
        for number, (time, speed) in enumerate(pairs, 1)
    ]
