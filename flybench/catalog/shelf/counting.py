"""Bench runs that count: which they are, and the pooled speeds of flies and variants kept in step with them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import groupby
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.search.select import loaded
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
    BenchRun.set_up,
    BenchRun.filmed_on,
    BenchRun.flags,
)


def counting_runs(
    session: Session, variants: Collection[int] | None = None, flies: Sequence[str] | None = None
) -> list[RunSpeed]:
    """Return the runs that count, fly by fly, oldest first: accepted, with a free-water speed, and those timed by hand
    only where none of the fly was filmed. Of some variants, by number, or some flies, by code, where these are given."""
    wanted = (
        select(*_COLUMNS)
        .join(Fly, Fly.id == BenchRun.fly_id)
        .join(Variant, Variant.id == Fly.variant_id)
        .where(BenchRun.accepted, BenchRun.free_speed_m_s.is_not(None))
    )
    if variants is not None:
        wanted = wanted.where(Fly.variant_id.in_(variants))
    if flies is not None:
        wanted = wanted.where(Fly.code.in_(flies))
    rows = sorted(session.execute(wanted).all(), key=lambda row: (row[1], row[0]))
    by_fly = groupby(rows, key=lambda row: row[1])
    return [_speed(row) for _, of_fly in by_fly for row in _filmed(list(of_fly))]


def _filmed(rows: list[Any]) -> list[Any]:
    """Return the runs of a fly that count: those timed by hand only where none was filmed."""
    return [row for row in rows if BY_HAND not in row[-1]] or rows


def _speed(row: Any) -> RunSpeed:
    number, fly, variant, speed, doubt, shared, kelvin, drops, tank, at, sheet, budget = row[:12]
    clip, sha256, place, filmed, flags = row[12:]
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
        filmed or at.date(),
        sheet,
        budget or [],
        picture,
        clip="" if BY_HAND in flags else sha256,
        place=place or "",
    )


def pool_again(session: Session, pool: Pool, changed: Collection[int]) -> None:
    """Bring pooled speeds in step after runs of the variants with these numbers changed.

    What one fly shows of spreads goes into all others.
    """
    session.flush()
    pool(changed)


def keep_pooled(
    session: Session,
    pooled: PooledShop,
    of: Collection[int],
    rests_on: Mapping[str, str],
    steeper: Mapping[str, list[float]],
    emptied: Collection[int] = (),
) -> None:
    """Keep the pooled speeds of variants, and of their flies, by the numbers of the variants: only rows that moved are
    written.

    Parameters: rests_on, by variant; steeper, by fly; emptied, variants that lose their speed, and those of their flies,
    where no run is left that counts.
    """
    flies = session.execute(select(Fly.id, Fly.code, Fly.variant_id).where(Fly.variant_id.in_(of))).all()
    variants = session.execute(select(Variant.id, Variant.code).where(Variant.id.in_(of))).all()
    _keep(
        session,
        FlySpeed,
        "fly_id",
        {
            key: _of_fly(pooled.flies[code]) | ({"steeper": steeper[code]} if code in steeper else {})
            for key, code, _ in flies
            if code in pooled.flies
        },
        [key for key, _, variant in flies if variant in emptied],
    )
    _keep(
        session,
        VariantSpeed,
        "variant_id",
        {
            key: _of_variant(pooled.variants[code], rests_on.get(code))
            for key, code in variants
            if code in pooled.variants
        },
        emptied,
    )


def _of_fly(one: PooledFly) -> dict[str, Any]:
    return {
        "free_speed_m_s": one.speed,
        "free_uncertainty_m_s": one.uncertainty,
        "temperature_k": one.temperature,
        "runs": one.runs,
        "drops": one.drops,
        "side": one.side,
        "brought": one.brought,
    }


def _of_variant(one: PooledVariant, rests_on: str | None) -> dict[str, Any]:
    return {
        "free_speed_m_s": one.speed,
        "free_uncertainty_m_s": one.uncertainty,
        "between_flies_m_s": one.between,
        "temperature_k": one.temperature,
        "flies": one.flies,
        "side": one.side,
        "brought": one.brought,
        "rests_on": rests_on,
    }


def _keep(
    session: Session,
    table: type[Any],
    key: str,
    wanted: Mapping[int, Mapping[str, Any]],
    emptied: Iterable[int],
) -> None:
    """Bring rows of a table of pooled speeds to what they must be; of what was emptied, those not wanted are taken off."""
    column = getattr(table, key)
    gone = [number for number in emptied if number not in wanted]
    there = {getattr(row, key): row for row in loaded(session, select(table), column, [*wanted, *gone])}
    for number in gone:
        if number in there:
            session.delete(there[number])
    for number, values in sorted(wanted.items()):
        row = there.get(number)
        if row is None:
            session.add(table(**{key: number}, **values))
        else:
            for name, value in values.items():
                if getattr(row, name) != value:
                    setattr(row, name, value)
    session.flush()
