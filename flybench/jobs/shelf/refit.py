"""Runs of the catalog fitted again with this software, without their clips; shown first, written if asked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.bench.saved.kept_run import refit
from flybench.catalog.shelf import runs as run_shelf
from flybench.catalog.shelf.run_records import RunRecord
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import BenchRun
from flybench.errors import FlybenchError
from flybench.jobs.shelf.run_records import record_of
from flybench.jobs.shelf.runs import weighing_of, with_weighing
from flybench.shop.pooling import pool_variant

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class Speed:
    """A speed and its standard uncertainty [m/s]; None where there is none."""

    value: float | None
    uncertainty: float | None


@dataclass(frozen=True)
class DropRefit:
    """A drop before and after, by when it began [s]; a side is None where it was not found."""

    start_s: float
    old: Speed | None
    new: Speed | None


@dataclass(frozen=True)
class Refit:
    """A run before and after: speed in the tank and in free water, verdict, flags and drops."""

    number: int
    fly: str
    clip: str
    old: Speed
    new: Speed
    old_free: Speed
    new_free: Speed
    old_verdict: str
    new_verdict: str
    gained: list[str]
    lost: list[str]
    drops: list[DropRefit]


def refit_runs(
    catalog: Catalog,
    numbers: Sequence[int] | None = None,
    progress: Progress | None = None,
    apply: bool = False,
) -> list[Refit]:
    """Fit runs again, by number or (None) all; with ``apply`` the new results are written in one transaction.

    Raises BadValueError for an unknown run, FlybenchError naming a run that cannot be fitted again; nothing
    is written then.
    """
    tell = progress or (lambda what, done, whole: None)
    found: list[Refit] = []
    records: dict[int, RunRecord] = {}
    with catalog.reading() as session:
        wanted = list(dict.fromkeys(_all(session) if numbers is None else numbers))
        for done, number in enumerate(wanted):
            tell("fitting again", done, len(wanted))
            run = run_shelf.run_of(session, number)
            records[number] = _again(run)
            found.append(_compared(run, records[number]))
            session.expunge(run)  # its track is large
    if apply and records:
        with catalog.writing() as session:
            run_shelf.change_results(session, records, pool_variant)
    return found


def _all(session: Session) -> Sequence[int]:
    return session.scalars(select(BenchRun.id).order_by(BenchRun.id)).all()


def _again(run: BenchRun) -> RunRecord:
    """Return the record of a run fitted again, its weights as the catalog has them now."""
    try:
        result = refit(run.track, with_weighing(run.sheet, weighing_of(run.fly)))
        return record_of(result, run.sheet, run.track, run.measured_at)
    except FlybenchError as error:
        raise FlybenchError(f"run {run.id} of fly {run.fly.code}: {error} Nothing was changed.") from error


def _compared(run: BenchRun, new: RunRecord) -> Refit:
    return Refit(
        run.id,
        run.fly.code,
        run.clip_name,
        Speed(run.sink_speed_m_s, run.uncertainty_m_s),
        Speed(new.sink_speed_m_s, new.uncertainty_m_s),
        Speed(run.free_speed_m_s, run.free_uncertainty_m_s),
        Speed(new.free_speed_m_s, new.free_uncertainty_m_s),
        run.verdict.value,
        new.verdict,
        [flag for flag in new.flags if flag not in run.flags],
        [flag for flag in run.flags if flag not in new.flags],
        _drops(run, new),
    )


def _drops(run: BenchRun, new: RunRecord) -> list[DropRefit]:
    """Pair drops that overlap in time; the rest stand alone."""
    left: list[Any] = list(new.drops)
    pairs: list[DropRefit] = []
    for old in run.drops:
        same = next((drop for drop in left if drop.start_s < old.end_s and drop.end_s > old.start_s), None)
        left = [drop for drop in left if drop is not same]
        pairs.append(DropRefit(old.start_s, _told(old), None if same is None else _told(same)))
    pairs += [DropRefit(drop.start_s, None, _told(drop)) for drop in left]
    return sorted(pairs, key=lambda pair: pair.start_s)


def _told(drop: Any) -> Speed:
    return Speed(drop.sink_speed_m_s, drop.uncertainty_m_s) if drop.used else Speed(None, None)


def as_record(one: Refit) -> dict[str, Any]:
    """Return the machine form: SI units, null where there is no speed."""
    return {
        "number": one.number,
        "fly": one.fly,
        "clip": one.clip,
        "old": _side(one.old, one.old_free, one.old_verdict),
        "new": _side(one.new, one.new_free, one.new_verdict),
        "flags_gained": one.gained,
        "flags_lost": one.lost,
        "drops": [
            {"start_s": drop.start_s, "old": _named(drop.old), "new": _named(drop.new)} for drop in one.drops
        ],
    }


def _side(tank: Speed, free: Speed, verdict: str) -> dict[str, Any]:
    return {"verdict": verdict, "tank": _named(tank), "free_water": _named(free)}


def _named(speed: Speed | None) -> dict[str, float | None] | None:
    if speed is None:
        return None
    return {"sink_speed_m_s": speed.value, "standard_uncertainty_m_s": speed.uncertainty}
