"""Bench runs that count: which they are, and the pooled speeds of flies and variants kept in step with them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from itertools import groupby
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.shelf.run_records import Pool, PooledFly, PooledShop, PooledVariant, RunSpeed
from flybench.catalog.tables.flies import BenchRun, Fly, FlySpeed, VariantSpeed
from flybench.catalog.tables.patterns import Variant

BY_HAND = "by-the-clock"
"""Flag of runs that were timed by hand and not filmed; there is nothing to fit again."""
_COLUMNS = (
    BenchRun.id,
    Fly.code,
    Variant.code,
    BenchRun.free_speed_m_s,
    BenchRun.free_uncertainty_m_s,
    BenchRun.shared_uncertainty_m_s,
    BenchRun.temperature_k,
    BenchRun.drops_used,
    BenchRun.sink_speed_m_s,
    BenchRun.measured_at,
    BenchRun.sheet,
    BenchRun.result["budget"],
    BenchRun.result["clip"],
    BenchRun.clip_sha256,
    BenchRun.flags,
)


def counting_runs(session: Session) -> list[RunSpeed]:
    """Return the runs that count, fly by fly, oldest first: accepted, with a free-water speed, and those timed by hand
    only where none of the fly was filmed."""
    wanted = (
        select(*_COLUMNS)
        .join(Fly, Fly.id == BenchRun.fly_id)
        .join(Variant, Variant.id == Fly.variant_id)
        .where(BenchRun.accepted, BenchRun.free_speed_m_s.is_not(None))
    )
    rows = sorted(session.execute(wanted).all(), key=lambda row: (row[1], row[0]))
    by_fly = groupby(rows, key=lambda row: row[1])
    return [_speed(row) for _, of_fly in by_fly for row in _filmed(list(of_fly))]


def _filmed(rows: list[Any]) -> list[Any]:
    """Return the runs of a fly that count: those timed by hand only where none was filmed."""
    return [row for row in rows if BY_HAND not in row[-1]] or rows


def _speed(row: Any) -> RunSpeed:
    number, fly, variant, speed, doubt, shared, kelvin, drops, tank, at, sheet, budget, clip, sha256 = row[
        :-1
    ]
    picture = tuple((clip or {}).get(name) for name in ("width", "height", "rotation"))
    return RunSpeed(
        number,
        fly,
        variant,
        speed,
        doubt,
        shared,
        kelvin,
        drops,
        tank or speed,
        at.date(),
        sheet,
        budget or [],
        picture,
        clip="" if BY_HAND in row[-1] else sha256,
    )


def pool_again(session: Session, pool: Pool, changed: Collection[int]) -> None:
    """Work out the pooled speeds of all flies and variants again after runs of the variants with these numbers changed.

    What one fly shows of spreads goes into all others.
    """
    session.flush()
    keep_pooled(session, pool(counting_runs(session)), changed)


def keep_pooled(session: Session, pooled: PooledShop, changed: Collection[int] = ()) -> None:
    """Keep pooled speeds: only rows that moved are written. Of the variants with the numbers of ``changed``, and of their
    flies, those that have no run left that counts lose their speed."""
    flies = {key: (code, of) for key, code, of in session.execute(select(Fly.id, Fly.code, Fly.variant_id))}
    variants = {row.id: row.code for row in session.execute(select(Variant.id, Variant.code))}
    _keep(
        session,
        FlySpeed,
        "fly_id",
        {key: _of_fly(pooled.flies[code]) for key, (code, _) in flies.items() if code in pooled.flies},
        [key for key, (_, of) in flies.items() if of in changed],
    )
    _keep(
        session,
        VariantSpeed,
        "variant_id",
        {
            key: _of_variant(pooled.variants[code])
            for key, code in variants.items()
            if code in pooled.variants
        },
        changed,
    )
    session.flush()


def _of_fly(one: PooledFly) -> dict[str, Any]:
    return {
        "free_speed_m_s": one.speed,
        "free_uncertainty_m_s": one.uncertainty,
        "temperature_k": one.temperature,
        "runs": one.runs,
        "drops": one.drops,
    }


def _of_variant(one: PooledVariant) -> dict[str, Any]:
    return {
        "free_speed_m_s": one.speed,
        "free_uncertainty_m_s": one.uncertainty,
        "between_flies_m_s": one.between,
        "temperature_k": one.temperature,
        "flies": one.flies,
    }


def _keep(
    session: Session,
    table: type[Any],
    key: str,
    wanted: Mapping[int, Mapping[str, Any]],
    changed: Iterable[int],
) -> None:
    """Bring the rows of a table of pooled speeds to what they must be; of what changed, those not wanted are taken off."""
    there = {getattr(row, key): row for row in session.scalars(select(table))}
    for number in changed:
        if number in there and number not in wanted:
            session.delete(there[number])
    for number, values in sorted(wanted.items()):
        row = there.get(number)
        if row is None:
            session.add(table(**{key: number}, **values))
        elif any(getattr(row, name) != value for name, value in values.items()):
            for name, value in values.items():
                setattr(row, name, value)
