"""Runs of the catalog fitted again with this software, without their clips; shown first, written if asked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.bench.saved.refitting import refit
from flybench.catalog.shelf import runs as run_shelf
from flybench.catalog.shelf.counting import BY_HAND
from flybench.catalog.shelf.run_records import RunRecord
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import BenchRun
from flybench.errors import FlybenchError
from flybench.jobs.pooled.kept_speeds import keeping
from flybench.jobs.shelf.record_of_result import record_of
from flybench.jobs.shelf.runs import weighing_of, with_weighing

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class RefitSpeed:
    """A speed and its standard uncertainty [m/s]; None where there is none."""

    value: float | None
    uncertainty: float | None


@dataclass(frozen=True)
class DropRefit:
    """A drop before and after, by when it began [s]; a side is None where it was not found."""

    start_s: float
    old: RefitSpeed | None
    new: RefitSpeed | None


@dataclass(frozen=True)
class Refit:
    """A run before and after: speed in the tank and in free water, verdict, flags and drops."""

    number: int
    fly: str
    clip: str
    old: RefitSpeed
    new: RefitSpeed
    old_free: RefitSpeed
    new_free: RefitSpeed
    old_verdict: str
    new_verdict: str
    gained: list[str]
    lost: list[str]
    drops: list[DropRefit]
    record: RunRecord = field(repr=False, compare=False)
    """What `write_refits` puts in the place of the old result."""


def refit_runs(
    catalog: Catalog,
    numbers: Sequence[int] | None = None,
    progress: Progress | None = None,
) -> list[Refit]:
    """Fit runs again, by number or (None) all; nothing is written.

    Raises BadValueError for an unknown run, FlybenchError naming a run that cannot be fitted again.
    """
    tell = progress or (lambda what, done, whole: None)
    found: list[Refit] = []
    with catalog.reading() as session:
        wanted = list(dict.fromkeys(_all(session) if numbers is None else numbers))
        for done, number in enumerate(wanted):
            tell("fitting again", done, len(wanted))
            run = run_shelf.run_of(session, number)
            found.append(_compared(run, _again(run)))
            session.expunge(run)  # its track is large
    return found


def write_refits(catalog: Catalog, found: Sequence[Refit]) -> None:
    """Put the new results of runs in the place of the old ones, in one transaction with the pooled speeds.

    Raises BadValueError where a run is no longer there, FlybenchError where another took its number.
    """
    with catalog.writing() as session:
        run_shelf.change_results(session, {one.number: one.record for one in found}, keeping(session))


def _all(session: Session) -> Sequence[int]:
    rows = session.execute(select(BenchRun.id, BenchRun.flags).order_by(BenchRun.id)).all()
    return [number for number, flags in rows if BY_HAND not in flags]


def _again(run: BenchRun) -> RunRecord:
    """Return the record of a run fitted again, its weights as the catalog has them now."""
    if BY_HAND in run.flags:
        raise FlybenchError(
            f"run {run.id} of fly {run.fly.code}: was timed by hand, so that there is nothing to fit again. Leave it out."
        )
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
        RefitSpeed(run.sink_speed_m_s, run.uncertainty_m_s),
        RefitSpeed(new.sink_speed_m_s, new.uncertainty_m_s),
        RefitSpeed(run.free_speed_m_s, run.free_uncertainty_m_s),
        RefitSpeed(new.free_speed_m_s, new.free_uncertainty_m_s),
        run.verdict.value,
        new.verdict,
        [flag for flag in new.flags if flag not in run.flags],
        [flag for flag in run.flags if flag not in new.flags],
        _drops(run, new),
        new,
    )


def _drops(run: BenchRun, new: RunRecord) -> list[DropRefit]:
    """Pair drops that overlap in time; the rest stand alone."""
    left: list[Any] = list(new.drops)
    pairs: list[DropRefit] = []
    for old in run.drops:
        same = next((drop for drop in left if drop.start_s < old.end_s and drop.end_s > old.start_s), None)
        left = [drop for drop in left if drop is not same]
        pairs.append(DropRefit(old.start_s, _speed_of(old), None if same is None else _speed_of(same)))
    pairs += [DropRefit(drop.start_s, None, _speed_of(drop)) for drop in left]
    return sorted(pairs, key=lambda pair: pair.start_s)


def _speed_of(drop: Any) -> RefitSpeed:
    return RefitSpeed(drop.sink_speed_m_s, drop.uncertainty_m_s) if drop.used else RefitSpeed(None, None)
