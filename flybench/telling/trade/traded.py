"""A delivery, a sale, a count, or flies tied, in words and as machine form."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from flybench.jobs.trade.money import Money
from flybench.jobs.trade.stock_moved import Moved, Trade
from flybench.telling.table import fitted
from flybench.telling.wording import counted

_NAME = 1
"""Column of the names: it is cut where the screen is narrow."""


def lines(trade: Trade) -> list[str]:
    """Return a line for each thing: what there was, what came or went, what there is; below them the sum."""
    priced = any(one.total is not None for one in trade.lines)
    heads = ["code", "name", "before", "change", "now", "unit", *(["price", "sum"] if priced else [])]
    rows = [[*_cells(one), *(_prices(one) if priced else [])] for one in trade.lines]
    table = fitted([heads, *rows], [False, False, True, True, True, False, True, True][: len(heads)], _NAME)
    return [*table, *_sum(trade)]


def _cells(one: Moved) -> list[str]:
    return [one.code, one.name, f"{one.before:g}", f"{one.amount:+g}", f"{one.after:g}", one.unit]


def _prices(one: Moved) -> list[str]:
    return ["" if amount is None else f"{amount:.2f}" for amount in (one.price, one.total)]


def _sum(trade: Trade) -> list[str]:
    if trade.total is None:
        return []
    money: Money = trade.money
    within = (
        "" if trade.tax is None else f", {money.tax_percent} % tax of {money.written(trade.tax)} within it"
    )
    priced = sum(one.total is not None for one in trade.lines)
    return [f"{counted(priced, 'line')}, {money.written(trade.total)} in all{within}."]


def record(trade: Trade) -> dict[str, Any]:
    """Return the machine form; amounts of money are texts, which keep every cent."""
    return {
        "lines": [{name: _plain(value) for name, value in vars(one).items()} for one in trade.lines],
        "total": _plain(trade.total),
        "tax_within": _plain(trade.tax),
        "currency": trade.money.currency,
        "remarks": list(trade.remarks),
    }


def _plain(value: Any) -> Any:
    return str(value) if isinstance(value, Decimal) else value
