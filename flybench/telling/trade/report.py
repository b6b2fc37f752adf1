"""What was sold and used over a time, in words and as machine form."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from flybench.jobs.trade.money import Money
from flybench.jobs.trade.report import Report, Takings, Turnover
from flybench.telling.table import fitted


def lines(found: Report) -> list[str]:
    """Return the takings first, then a line for each thing and reason: flies, and below them materials."""
    sales = found.sales or (Takings(found.money, Decimal(0)),)
    told = "; ".join(_told(one) for one in sales)
    head = f"From {found.first} until {found.last}: flies sold for {told}."
    if not (found.flies or found.materials):
        return [head, "Nothing came or went in this time."]
    currencies = {one.currency for one in (*found.flies, *found.materials) if one.money is not None}
    mixed = len(currencies) > 1
    return [head, *_table("flies", found.flies, mixed), *_table("materials", found.materials, mixed)]


def _told(sold: Takings) -> str:
    money = sold.money
    within = "" if sold.tax is None else f", {money.tax_percent} % tax of {money.written(sold.tax)} within it"
    return f"{money.written(sold.total)}{within}"


def _table(name: str, rows: Sequence[Turnover], mixed: bool) -> list[str]:
    """Return a line for each thing and reason; the currency stands with the money where there are several."""
    if not rows:
        return []
    cells = [[one.code, one.why, f"{one.amount:+g}", one.unit, _money(one, mixed)] for one in rows]
    return fitted([[name, "why", "change", "unit", "money"], *cells], [False, False, True, False, True], 0)


def _money(one: Turnover, mixed: bool) -> str:
    if one.money is None:
        return ""
    return Money(one.currency if mixed else "").written(one.money)


def remarks(found: Report) -> list[str]:
    """Return what was sold without a price, which is not in the takings."""
    without = [one for one in found.flies if one.why == "sold" and one.without_money]
    return [
        f"{one.code}: {one.without_money:g} {'was' if one.without_money == 1 else 'were'} sold without a price, and not "
        "counted in the takings."
        for one in without
    ]


def record(found: Report) -> dict[str, Any]:
    """Return the machine form; money as texts, which keep every cent."""
    return {
        "from": found.first.isoformat(),
        "until": found.last.isoformat(),
        "currency": found.money.currency,
        "takings": str(found.takings),
        "sales": [_sale(one) for one in found.sales],
        "flies": [_plain(one) for one in found.flies],
        "materials": [_plain(one) for one in found.materials],
    }


def _sale(one: Takings) -> dict[str, Any]:
    percent, tax = one.money.tax_percent, one.tax
    return {
        "currency": one.money.currency,
        "total": str(one.total),
        "tax_percent": None if percent is None else str(percent),
        "tax_within": None if tax is None else str(tax),
    }


def _plain(one: Turnover) -> dict[str, Any]:
    return {name: str(value) if isinstance(value, Decimal) else value for name, value in vars(one).items()}
