"""What was sold and what was used over a time: from the movements of stock, with the money where it was kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.stock import Deal, deal_of, money_of_all
from flybench.catalog.shelf.values import read_value
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.materials import Material, MaterialMovement
from flybench.catalog.tables.patterns import FlyMovement, Variant
from flybench.catalog.tables.vocabulary import Why
from flybench.errors import BadValueError
from flybench.jobs.trade.money import Money, money_of, plain_tax

_DAY = NOUNS["fly"].fields["tied"]
_EARLIEST, _LATEST = date(1900, 1, 1), date(2999, 12, 31)
"""Days beyond these are slips of the hand, and the ends of the calendar have no moment in every time zone (judgement)."""


@dataclass(frozen=True)
class Turnover:
    """What moved of one thing for one reason, in one currency: how much, in which unit, and the money of it, None where none
    was kept."""

    code: str
    why: str
    amount: float
    unit: str
    currency: str
    money: Decimal | None
    without_money: float
    """How much of it moved without a price; it is not in the money."""


@dataclass(frozen=True)
class Takings:
    """What flies were sold for in one currency with one tax within the price."""

    money: Money
    total: Decimal

    @property
    def tax(self) -> Decimal | None:
        """Return the tax within it, None where none was set."""
        return self.money.tax_in(self.total)


@dataclass(frozen=True)
class Report:
    """The turnover of flies and of materials from the first day to the last, both included; what flies were sold for, in
    each currency and with each tax that they were sold with; and the currency and tax of today."""

    first: date
    last: date
    flies: tuple[Turnover, ...]
    materials: tuple[Turnover, ...]
    sales: tuple[Takings, ...]
    money: Money

    @property
    def takings(self) -> Decimal:
        """Return what flies were sold for in the currency of today."""
        sold = (one.total for one in self.sales if one.money.currency == self.money.currency)
        return sum(sold, Decimal(0))


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
        flies = _moved(session, FlyMovement, Variant, begin, end)
        materials = _moved(session, MaterialMovement, Material, begin, end)
        sales = _sales([movement for _, movement in flies])
        return Report(begin, end, _turnover(flies), _turnover(materials), sales, money_of(session))


def _day(option: str, text: str) -> date | None:
    try:
        found: date | None = read_value(_DAY, text) if text else None
    except BadValueError as error:
        raise BadValueError(option, f'"{text}" is not a day', "Write it as 2026-03-14") from error
    if found is not None and not _EARLIEST <= found <= _LATEST:
        raise BadValueError(option, f"{found} is not possible", f"Give a day from {_EARLIEST} to {_LATEST}")
    return found


def _moved(session: Session, moved: Any, owner: Any, begin: date, end: date) -> list[tuple[Any, Any]]:
    """Return things and their movements between two days, in the order of codes."""
    start, stop = _moment(begin), _moment(end + timedelta(days=1))
    rows = session.execute(
        select(owner, moved)
        .join(owner)
        .where(moved.at >= start, moved.at < stop)
        .order_by(owner.code, moved.id)
    )
    return [(thing, movement) for thing, movement in rows]


def _turnover(moved: Sequence[tuple[Any, Any]]) -> tuple[Turnover, ...]:
    """Return a row for each thing, reason and currency; what moved without a price stands with what moved with one."""
    sums: dict[tuple[str, str], dict[str, Turnover]] = {}
    for thing, movement in moved:
        deal, key = deal_of(movement), (thing.code, movement.why.value)
        rows = sums.setdefault(key, {})
        currency = next(iter(rows), "") if deal.price is None else deal.currency
        if currency not in rows and "" in rows and rows[""].money is None:
            rows[currency] = replace(rows.pop(""), currency=currency)
        unit = "flies" if isinstance(thing, Variant) else thing.unit.value
        before = rows.get(currency) or Turnover(*key, 0.0, unit, currency, None, 0.0)
        rows[currency] = _with(before, movement.amount, _money(movement, deal))
    return tuple(row for rows in sums.values() for row in rows.values())


def _sales(movements: Sequence[Any]) -> tuple[Takings, ...]:
    sums: dict[Money, Decimal] = {}
    for movement in movements:
        deal = deal_of(movement)
        made = _money(movement, deal) if movement.why is Why.SOLD else None
        if made is not None:
            tax = None if deal.tax_percent is None else plain_tax(deal.tax_percent)
            money = Money(deal.currency, tax)
            sums[money] = sums.get(money, Decimal(0)) + made
    return tuple(Takings(money, total) for money, total in sums.items())


def _money(movement: Any, deal: Deal) -> Decimal | None:
    return money_of_all(deal.price, movement.why, movement.amount)


def _with(before: Turnover, amount: float, money: Decimal | None) -> Turnover:
    total = before.money if money is None else (before.money or Decimal(0)) + money
    without = before.without_money + (abs(amount) if money is None else 0.0)
    return replace(before, amount=before.amount + amount, money=total, without_money=without)


def _moment(day: date) -> datetime:
    return datetime.combine(day, time()).astimezone().astimezone(UTC)
