"""What was sold and what was used over a time: from the movements of stock, with the money where it was kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.values import read_value
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.materials import Material, MaterialMovement
from flybench.catalog.tables.patterns import FlyMovement, Variant
from flybench.catalog.tables.vocabulary import Why
from flybench.errors import BadValueError
from flybench.jobs.trade.money import Money, money_of

_DAY = NOUNS["fly"].fields["tied"]
_EARLIEST, _LATEST = date(1900, 1, 1), date(2999, 12, 31)
"""Days beyond these are slips of the hand, and the ends of the calendar have no moment in every time zone (judgement)."""


@dataclass(frozen=True)
class Turnover:
    """What moved of one thing for one reason: how much, in which unit, and the money of it, None where none was kept."""

    code: str
    why: str
    amount: float
    unit: str
    money: Decimal | None
    without_money: float
    """How much of it moved without a price; it is not in the money."""


@dataclass(frozen=True)
class Report:
    """The turnover of flies and of materials from the first day to the last, both included."""

    first: date
    last: date
    flies: tuple[Turnover, ...]
    materials: tuple[Turnover, ...]
    money: Money

    @property
    def takings(self) -> Decimal:
        """Return what flies were sold for."""
        sold = (one.money for one in self.flies if one.why == Why.SOLD.value)
        return sum((money for money in sold if money is not None), Decimal(0))


def report(catalog: Catalog, first: str, last: str) -> Report:
    """Return the turnover between two days, by the clock of this computer; "" for the first of this month, and today.

    Raises BadValueError for a day that cannot be read or is not in the years 1900 to 2999, and for a last day before the
    first.
    """
    today = date.today()
    begin, end = _day("--from", first) or today.replace(day=1), _day("--until", last) or today
    if end < begin:
        raise BadValueError("--until", f"{end} is before {begin}", "Give the later day with --until")
    with catalog.reading() as session:
        flies = _turnover(session, FlyMovement, Variant, begin, end)
        materials = _turnover(session, MaterialMovement, Material, begin, end)
        return Report(begin, end, flies, materials, money_of(session))


def _day(option: str, text: str) -> date | None:
    try:
        found: date | None = read_value(_DAY, text) if text else None
    except BadValueError as error:
        raise BadValueError(option, f'"{text}" is not a day', "Write it as 2026-03-14") from error
    if found is not None and not _EARLIEST <= found <= _LATEST:
        raise BadValueError(option, f"{found} is not possible", f"Give a day from {_EARLIEST} to {_LATEST}")
    return found


def _turnover(session: Session, moved: Any, owner: Any, begin: date, end: date) -> tuple[Turnover, ...]:
    start, stop = _moment(begin), _moment(end + timedelta(days=1))
    rows = session.execute(
        select(owner, moved)
        .join(owner)
        .where(moved.at >= start, moved.at < stop)
        .order_by(owner.code, moved.id)
    )
    money_in: Callable[[Any], Decimal | None] = _of_flies if owner is Variant else _of_material
    sums: dict[tuple[str, str], Turnover] = {}
    for thing, movement in rows:
        key = thing.code, movement.why.value
        unit = "flies" if owner is Variant else thing.unit.value
        sums[key] = _with(
            sums.get(key) or Turnover(*key, 0.0, unit, None, 0.0), movement.amount, money_in(movement)
        )
    return tuple(sums.values())


def _with(before: Turnover, amount: float, money: Decimal | None) -> Turnover:
    total = before.money if money is None else (before.money or Decimal(0)) + money
    without = before.without_money + (abs(amount) if money is None else 0.0)
    return Turnover(before.code, before.why, before.amount + amount, before.unit, total, without)


def _of_flies(movement: FlyMovement) -> Decimal | None:
    """Return the money of flies: kept for one of those that were sold, for all of those that were bought."""
    if movement.price is None or movement.why is Why.BOUGHT:
        return movement.price
    return movement.price * abs(movement.amount)


def _of_material(movement: MaterialMovement) -> Decimal | None:
    return movement.paid


def _moment(day: date) -> datetime:
    return datetime.combine(day, time()).astimezone().astimezone(UTC)
