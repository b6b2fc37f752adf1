"""What was sold and used over a time, in words and as machine form."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from flybench.jobs.trade.report import Report, Turnover
from flybench.telling.table import fitted


def lines(found: Report) -> list[str]:
    """Return the takings first, then a line for each thing and reason: flies, and below them materials."""
    tax = found.money.tax_in(found.takings)
    within = (
        "" if tax is None else f", {found.money.tax_percent} % tax of {found.money.written(tax)} within it"
    )
    head = (
        f"From {found.first} until {found.last}: flies sold for {found.money.written(found.takings)}{within}."
    )
    if not (found.flies or found.materials):
        return [head, "Nothing came or went in this time."]
    return [head, *_table("flies", found.flies), *_table("materials", found.materials)]


def _table(name: str, rows: Sequence[Turnover]) -> list[str]:
    if not rows:
        return []
    cells = [
        [one.code, one.why, f"{one.amount:+g}", one.unit, "" if one.money is None else f"{one.money:.2f}"]
        for one in rows
    ]
    return fitted([[name, "why", "change", "unit", "money"], *cells], [False, False, True, False, True], 0)


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
        "flies": [_plain(one) for one in found.flies],
        "materials": [_plain(one) for one in found.materials],
    }


def _plain(one: Turnover) -> dict[str, Any]:
    return {name: str(value) if isinstance(value, Decimal) else value for name, value in vars(one).items()}
