"""Bench runs of an invented shop, written into its catalog without a clip."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime
from hashlib import sha256
from typing import Any

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.counting import pool_again
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import BenchRun, Fly
from flybench.catalog.tables.vocabulary import Verdict
from flybench.jobs.pooled.kept_speeds import keeping

SHEET = {
    "water": {"temperature": "18 degC"},
    "tank": {"width": "200 mm", "depth": "140 mm"},
    "camera": {"distance": "620 mm"},
    "scale": {"card": "in water"},
}


def add_run(catalog: Catalog, code: str, speed: float, number: int, **how: Any) -> None:
    """Give a fly an invented run, made as ``invented_run`` says, and pool again."""
    add_runs(catalog, [(code, speed, number, how)])


def add_runs(catalog: Catalog, runs: Iterable[tuple[str, float, int, Mapping[str, Any]]]) -> None:
    """Give flies invented runs, each made as ``invented_run`` says, and pool once behind them."""
    with catalog.writing() as session:
        changed = set()
        for code, speed, number, how in runs:
            fly: Fly = get(session, NOUNS["fly"], code)
            session.add(invented_run(fly, speed, number, **how))
            changed.add(fly.variant_id)
        pool_again(session, keeping(session), changed)


def invented_run(
    fly: Fly,
    speed: float,
    number: int,
    *,
    doubt: float = 0.004,
    shared: float | None = 0.003,
    sheet: dict[str, Any] | None = None,
    celsius: float = 18.0,
    salt: float = 0.0,
    accepted: bool = True,
    result: dict[str, Any] | None = None,
    clip: int | None = None,
    set_up: str | None = None,
    filmed: date | None = None,
) -> BenchRun:
    """Return an invented run of a fly: speed in the tank as in free water, with its doubt and what of it is shared [m/s].

    set_up, the name of its set-up; filmed, the day that its file tells; all were measured on one day."""
    return BenchRun(
        fly=fly,
        clip_name=f"{number}.mp4",
        clip_sha256=f"{number if clip is None else clip:064d}",
        set_up=set_up,
        filmed_on=filmed,
        measured_at=datetime(2030, 1, 31, tzinfo=UTC),
        software="0",
        verdict=Verdict.GOOD,
        accepted=accepted,
        set_aside_why="" if accepted else "invented",
        sink_speed_m_s=speed,
        uncertainty_m_s=doubt,
        free_speed_m_s=speed,
        free_uncertainty_m_s=doubt,
        shared_uncertainty_m_s=shared,
        temperature_k=celsius + 273.15,
        drops_used=5,
        flags=[],
        sheet={
            **(sheet or SHEET),
            "water": {"temperature": f"{celsius} degC", "salinity": f"{salt} g/kg"},
        },
        result=result or {"clip": {"width": 1080, "height": 1920, "rotation": 0}},
        track=b"x",
        track_sha256=sha256(str(number).encode()).hexdigest(),
    )
