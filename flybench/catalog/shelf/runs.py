"""Bench runs added, set aside and removed; pooled speeds are worked out again in the same transaction."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from datetime import date
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.counting import BY_HAND, pool_again
from flybench.catalog.shelf.rows import get
from flybench.catalog.shelf.run_records import Pool, RunRecord
from flybench.catalog.shelf.values import read_value
from flybench.catalog.tables.base import NAME_LENGTH
from flybench.catalog.tables.flies import SAME_CLIP, BenchRun, Fly, RunDrop
from flybench.catalog.tables.vocabulary import Verdict
from flybench.errors import BadValueError, FlybenchError

_LARGEST = 2**31 - 1
"""Largest number of a run that PostgreSQL can hold in its column (its documentation of integer types)."""


def fly_to_measure(session: Session, fly_code: str) -> Fly:
    """Return the fly; raises BadValueError where there is none, FlybenchError where it was retired."""
    fly: Fly = get(session, NOUNS["fly"], fly_code)
    if fly.retired_on is not None:
        raise FlybenchError(
            f"fly {fly.code}: was retired on {fly.retired_on}. Measure another fly, or bring this one back with: "
            f'flybench fly change {fly.code} --retired ""'
        )
    return fly


def refuse_known(session: Session, fly: Fly, clip_sha256: str, track_sha256: str = "") -> None:
    """Raise FlybenchError where the fly has a run of this clip or this track already."""
    same = (BenchRun.clip_sha256 == clip_sha256) | (BenchRun.track_sha256 == track_sha256)
    known = session.scalars(select(BenchRun).where(BenchRun.fly_id == fly.id, same)).first()
    if known is not None and BY_HAND in known.flags:
        raise FlybenchError(
            f"fly {fly.code}: these very times over this distance were kept today already, as run {known.id}; counted "
            f"twice, its speed would look more certain than it is. If they are of other drops, remove that run and give "
            f"the times of all drops at once: flybench run remove {known.id}"
        )
    if known is not None:
        raise FlybenchError(
            f"fly {fly.code}: this clip was measured already, as run {known.id} ({known.clip_name}); counted twice, "
            f"its speed would look more certain than it is. To measure it again, first remove that run with: "
            f"flybench run remove {known.id}"
        )


def refuse_of_another(session: Session, fly: Fly, clip_sha256: str, why: str, track_sha256: str = "") -> str:
    """Return why a clip that another fly has already may count for this one too, "" where none has it.

    Raises FlybenchError where another has it and no reason is given. Times taken by hand are no clip.
    """
    same = (BenchRun.clip_sha256 == clip_sha256) | (BenchRun.track_sha256 == track_sha256)
    others = session.scalars(select(BenchRun).where(BenchRun.fly_id != fly.id, same).order_by(BenchRun.id))
    other = next((run for run in others if BY_HAND not in run.flags), None)
    if other is None:
        return ""
    reason = " ".join(why.split())
    if not reason:
        raise FlybenchError(
            f"fly {fly.code}: this very clip is kept under fly {other.fly.code} already, as run {other.id} "
            f"({other.clip_name}), and one clip is no measurement of two flies. If that run is of this fly, remove it "
            f"there: flybench run remove {other.id}. If the clip truly shows both, say so: --same-clip "
            '"both flies were dropped in it"'
        )
    return reason


def add_run(
    session: Session,
    fly_code: str,
    record: RunRecord,
    pool: Pool,
    same_clip: str = "",
    where: tuple[str | None, date | None] = (None, None),
) -> BenchRun:
    """Add a run of a fly and pool again; same_clip, why its clip counts for it though another fly has it; where, the name
    of its set-up and the day on which it was filmed, as far as they are known.

    Raises BadValueError for an unknown fly, FlybenchError for one that was retired or has this run already, and for a clip
    that another fly has, without a reason.
    """
    fly = fly_to_measure(session, fly_code)
    refuse_known(session, fly, record.clip_sha256, record.track_sha256)
    reason = ""
    if BY_HAND not in record.flags:
        reason = refuse_of_another(session, fly, record.clip_sha256, same_clip, record.track_sha256)
    run = BenchRun(fly=fly, set_up=where[0], filmed_on=where[1])
    _fill(run, record)
    if reason:
        run.result = {**run.result, SAME_CLIP: reason}
    session.add(run)
    pool_again(session, pool, [fly.variant_id])
    return run


def change_results(session: Session, records: Mapping[int, RunRecord], pool: Pool) -> None:
    """Put new results in the place of those of runs, by number; whether they count stays as it is.

    Raises BadValueError where a run is there no more, FlybenchError where another took its number.
    """
    runs = {number: run_of(session, number) for number in records}
    for number, record in records.items():
        _replace(session, runs[number], record)
    pool_again(session, pool, {run.fly.variant_id for run in runs.values()})


def _replace(session: Session, run: BenchRun, record: RunRecord) -> None:
    if run.track_sha256 != record.track_sha256:
        raise FlybenchError(
            f"run {run.id}: was replaced by another run meanwhile. Nothing was changed. Fit it again."
        )
    reason = run.result.get(SAME_CLIP)
    run.drops.clear()
    session.flush()
    _fill(run, record)
    if reason:
        run.result = {**run.result, SAME_CLIP: reason}


def set_aside(session: Session, number: int, why: str, pool: Pool) -> BenchRun:
    """Take a run out of the fly's speed and say why. Raises BadValueError for no reason or an unknown run."""
    run = run_of(session, number)
    reason = read_value(NOUNS["run"].fields["why"], why)
    if not reason:
        raise BadValueError(
            "--why", "is empty", 'Say why the run does not count, for example --why "thread touched it"'
        )
    run.accepted, run.set_aside_why = False, reason
    pool_again(session, pool, [run.fly.variant_id])
    return run


def accept(session: Session, number: int, pool: Pool) -> BenchRun:
    """Let a run count again. Raises BadValueError for an unknown run."""
    run = run_of(session, number)
    run.accepted, run.set_aside_why = True, ""
    pool_again(session, pool, [run.fly.variant_id])
    return run


def remove(session: Session, number: int, pool: Pool) -> None:
    """Take a run off for good. Raises BadValueError for an unknown run."""
    run = run_of(session, number)
    variant = run.fly.variant_id
    session.delete(run)
    pool_again(session, pool, [variant])


def run_of(session: Session, number: int) -> BenchRun:
    """Return a run by its number; raises BadValueError where there is none."""
    run = session.get(BenchRun, number) if 0 < number <= _LARGEST else None
    if run is None:
        raise BadValueError("run", f"there is no run {number}", "See what there is: flybench run list")
    return run


def drops_taken(session: Session, fly: Fly) -> int:
    """Return how often a fly was dropped: all drops of all its runs, whether they count or not."""
    count = select(func.count()).select_from(RunDrop).join(BenchRun).where(BenchRun.fly_id == fly.id)
    return session.scalar(count) or 0


def _fill(run: BenchRun, record: RunRecord) -> None:
    values: dict[str, Any] = {name: getattr(record, name) for name in vars(record)}
    values["drops"] = [RunDrop(**asdict(drop)) for drop in record.drops]
    values["verdict"] = Verdict(record.verdict)
    values["clip_name"] = record.clip_name[:NAME_LENGTH]
    for name, value in values.items():
        setattr(run, name, value)
