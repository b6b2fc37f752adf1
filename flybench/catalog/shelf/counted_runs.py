"""The narrow rows of runs that count: put there, read at once for many flies, and what a whole shop's have in common."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import ColumnElement, Select, bindparam, delete, func, insert, or_, select, update
from sqlalchemy.orm import Session

from flybench.catalog.search.select import loaded_rows
from flybench.catalog.shelf.run_records import CountedRecord
from flybench.catalog.store.settings import keep_setting, setting
from flybench.catalog.tables.counted import CountedRun
from flybench.catalog.tables.flies import Fly, FlySpeed, VariantSpeed
from flybench.catalog.tables.patterns import Pattern, Variant

COUNTED = "counted"
"""Key of the setting that says by which rules the runs that count were taken apart and pooled."""
_TABLE: Any = CountedRun.__table__
_VALUES = (
    "speed_m_s",
    "temperature_k",
    "salinity",
    "drops",
    "own",
    "shares",
    "clip",
    "correction",
    "correction_doubt",
    "brought_to_k",
)


def is_counted(session: Session, rules: str) -> bool:
    """Tell whether the runs that count were taken apart and pooled by these rules."""
    return setting(session, COUNTED) == rules


def set_counted(session: Session, rules: str) -> None:
    """Write down by which rules the runs that count were taken apart and pooled."""
    keep_setting(session, COUNTED, rules)
    session.flush()


def count_again(session: Session, variants: Collection[int], records: Iterable[CountedRecord]) -> None:
    """Put the runs that count of these variants, by number, in the place of those that were there."""
    of_these = select(Fly.id).where(Fly.variant_id.in_(variants))
    connection = session.connection()  # rows that are worked out from others are no change to be written down
    connection.execute(delete(_TABLE).where(_TABLE.c.fly_id.in_(of_these)))
    flies: dict[str, int] = {
        code: key
        for key, code in session.execute(select(Fly.id, Fly.code).where(Fly.variant_id.in_(variants)))
    }
    rows = [
        {
            "run_id": one.number,
            "fly_id": flies[one.fly],
            **dict(zip(_VALUES, one[3:], strict=True)),
        }
        for one in records
    ]
    if rows:
        connection.execute(insert(_TABLE), rows)


def _selected() -> Select[Any]:
    columns = [getattr(CountedRun, name) for name in _VALUES]
    return (
        select(CountedRun.run_id, Fly.code, Variant.code, *columns)
        .join(Fly, Fly.id == CountedRun.fly_id)
        .join(Variant, Variant.id == Fly.variant_id)
    )


def newest_counted(session: Session, most: int) -> list[CountedRecord]:
    """Return the newest runs of a shop that count."""
    rows = session.execute(_selected().order_by(CountedRun.run_id.desc()).limit(most))
    return [CountedRecord(*row) for row in rows]


def counted_of(
    session: Session, variants: Collection[int] | None = None, flies: Sequence[str] | None = None
) -> list[CountedRecord]:
    """Return the runs that count, by fly and oldest first: of some variants, by number, or some flies, by code, or all."""
    wanted = _selected()
    if variants is not None:
        wanted = wanted.where(Fly.variant_id.in_(variants))
    rows: Iterable[Any] = (
        session.execute(wanted) if flies is None else loaded_rows(session, wanted, Fly.code, flies)
    )
    return sorted((CountedRecord(*row) for row in rows), key=lambda one: (one.fly, one.number))


def counted_twice(session: Session, most: int) -> list[str]:
    """Return some flies, by code, of which more than one run counts."""
    twice = select(CountedRun.fly_id).group_by(CountedRun.fly_id).having(func.count() > 1).limit(most)
    return list(session.scalars(select(Fly.code).where(Fly.id.in_(twice.subquery().select()))))


def put_steps(session: Session, steps: Sequence[Mapping[str, Any]]) -> None:
    """Keep the steps of runs to the shown water: columns of the table, and the run's ``number``."""
    if steps:
        moved = update(_TABLE).where(_TABLE.c.run_id == bindparam("number"))
        session.connection().execute(moved, [dict(one) for one in steps])


def waters(session: Session) -> list[tuple[float, float, int]]:
    """Return the waters in which runs that count were made, temperature [K] and salinity [kg/kg], with how many of them."""
    kelvin, salt = CountedRun.temperature_k, CountedRun.salinity
    rows = session.execute(select(kelvin, salt, func.count()).group_by(salt, kelvin).order_by(salt, kelvin))
    return [(row[0], row[1], row[2]) for row in rows]


def is_far(kelvin: float, salt: float, near: tuple[float, float]) -> ColumnElement[bool]:
    """Return where a run was made in water farther from this one than ``near``: [K], [kg/kg]."""
    return or_(
        func.abs(CountedRun.temperature_k - kelvin) > near[0], func.abs(CountedRun.salinity - salt) > near[1]
    )


def is_brought() -> ColumnElement[bool]:
    """Return where a run was brought to other water."""
    return CountedRun.brought_to_k.is_not(None)


def variants_where(session: Session, condition: ColumnElement[bool]) -> dict[str, list[str]]:
    """Return the variants of which runs that count meet a condition, with the flies of those runs, by code."""
    rows = session.execute(
        select(Variant.code, Fly.code)
        .join(Fly, Fly.variant_id == Variant.id)
        .where(Fly.id.in_(select(CountedRun.fly_id).where(condition)))
        .order_by(Fly.code)
    )
    found: dict[str, list[str]] = {}
    for variant, fly in rows:
        found.setdefault(variant, []).append(fly)
    return found


def flies_in_two_waters(session: Session, near: tuple[float, float], most: int) -> list[Any]:
    """Return the newest flies whose runs were made in waters farther apart than ``near`` ([K], [kg/kg]): code, code of the
    variant and of the pattern, style, and what is kept of how steep its drag goes (None where nothing is)."""
    kelvin, salt = CountedRun.temperature_k, CountedRun.salinity
    apart = or_(
        func.max(kelvin) - func.min(kelvin) > near[0],
        func.max(salt) - func.min(salt) > near[1],
    )
    newest = (
        select(CountedRun.fly_id)
        .group_by(CountedRun.fly_id)
        .having(apart)
        .order_by(func.max(CountedRun.run_id).desc())
        .limit(most)
    )
    rows = session.execute(
        select(Fly.code, Variant.code, Pattern.code, Pattern.style, FlySpeed.steeper)
        .join(Variant, Variant.id == Fly.variant_id)
        .join(Pattern, Pattern.id == Variant.pattern_id)
        .outerjoin(FlySpeed, FlySpeed.fly_id == Fly.id)
        .where(Fly.id.in_(newest.subquery().select()))
        .order_by(Fly.code)
    )
    return list(rows)


def resting(session: Session) -> list[Any]:
    """Return all variants: number, code, code of the pattern, style, and what its numbers rest on (None without a speed)."""
    return list(
        session.execute(
            select(Variant.id, Variant.code, Pattern.code, Pattern.style, VariantSpeed.rests_on)
            .join(Pattern, Pattern.id == Variant.pattern_id)
            .outerjoin(VariantSpeed, VariantSpeed.variant_id == Variant.id)
            .order_by(Variant.id)
        )
    )
