"""A bench result as a record for the catalog, and the part of its uncertainty that other runs share."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from flybench.bench.sheet.read import read_sheet
from flybench.bench.sheet.values import Tables
from flybench.bench.verdict.result import BenchResult, as_json
from flybench.catalog.shelf.run_records import DropRecord, RunRecord
from flybench.shop.speeds.shared_errors import OWN_OF_CLIP
from flybench.version import __version__

_OTHER_NAMES = {"uncertainty_m_s": "standard_uncertainty_m_s"}


def record_of(result: BenchResult, tables: Tables, track: bytes, at: datetime | None = None) -> RunRecord:
    """Return the record of a result measured (now, or ``at``) under the sheet's tables, with its kept track."""
    free, machine = result.free_water, _plain(as_json(result, __version__))
    return RunRecord(
        clip_name=result.clip.name,
        clip_sha256=result.clip.sha256,
        measured_at=at or datetime.now(UTC),
        software=__version__,
        verdict=result.verdict,
        sink_speed_m_s=result.sink_speed,
        uncertainty_m_s=result.standard_uncertainty,
        free_speed_m_s=None if free is None else free.speed,
        free_uncertainty_m_s=None if free is None else free.uncertainty,
        shared_uncertainty_m_s=shared_uncertainty(result),
        temperature_k=read_sheet(tables).temperature,
        drops_used=len(result.used_drops),
        flags=result.all_flags,
        sheet=_plain(tables),
        result=machine,
        track=track,
        track_sha256=hashlib.sha256(track).hexdigest(),
        drops=[_drop(number, drop) for number, drop in enumerate(machine["drops"], 1)],
    )


def shared_uncertainty(result: BenchResult) -> float | None:
    """Return the part of the free-water speed's uncertainty that all runs in one set-up share [m/s].

    All but reading and drop-to-drop spread: scale, camera, clock, walls and temperature, and the history
    force, which is the same for the same fly.
    """
    if result.free_water is None:
        return None
    lines = [line.standard_uncertainty for line in result.budget if line.source in OWN_OF_CLIP]
    own = math.hypot(*lines) / result.free_water.wall_factor
    return math.sqrt(max(result.free_water.uncertainty**2 - own**2, 0.0))


def _plain(value: Mapping[str, Any]) -> dict[str, Any]:
    """Return what JSON makes of a mapping, so that it is stored as it will be read."""
    plain: dict[str, Any] = json.loads(json.dumps(value, allow_nan=False))
    return plain


def _drop(number: int, record: Mapping[str, Any]) -> DropRecord:
    names = [name for name in DropRecord.__dataclass_fields__ if name != "number"]
    return DropRecord(number=number, **{name: record[_OTHER_NAMES.get(name, name)] for name in names})
