"""What is in stock, and what to order or to tie, in words and as machine form."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from flybench.jobs.trade.money import Money
from flybench.jobs.trade.stock_list import FLIES, MATERIALS, Stocked, StockList
from flybench.telling.table import filled_columns, fitted
from flybench.telling.wording import counted

_NAME = 1
"""Column of the names: it is cut where the screen is narrow."""


def lines(found: StockList) -> list[str]:
    """Return materials and flies, each as a table; below them what all that is to be ordered costs."""
    materials = [one for one in found.lines if one.noun == MATERIALS]
    flies = [one for one in found.lines if one.noun == FLIES]
    told = [*_table("material", "to order", materials), *_table("fly", "to tie", flies)]
    if found.cost is not None:
        without = sum(one.to_order > 0 and one.cost is None for one in materials)
        but = f"; {counted(without, 'material')} without a price not counted" if without else ""
        told.append(f"To order for {found.money.written(found.cost)}{but}.")
    return told


def _table(head: str, wanted: str, things: Sequence[Stocked]) -> list[str]:
    """Return a table, columns without any value left out."""
    if not things:
        return []
    heads = [head, "name", "in stock", "reorder at", wanted, "unit", "packs", "cost", "supplier", "bin"]
    right = [False, False, True, True, True, False, True, True, False, False]
    return fitted(*filled_columns([heads, *map(_cells, things)], right), _NAME)


def _cells(one: Stocked) -> list[str]:
    return [
        one.code,
        one.name,
        f"{one.on_hand:g}",
        "" if one.level is None else f"{one.level:g}",
        f"{one.to_order:g}" if one.to_order else "",
        one.unit,
        "" if one.packs is None else str(one.packs),
        "" if one.cost is None else Money().written(one.cost),
        one.supplier,
        one.bin,
    ]


def remarks(found: StockList, below: bool) -> list[str]:
    """Return that nothing is there, or nothing too low, and how many things have no level to be compared with."""
    if not below:
        return [] if found.lines else ["Nothing was found."]
    told = [] if found.lines else ["Nothing is below its reorder level."]
    if found.without_level:
        things = counted(found.without_level, "thing has", "things have")
        told.append(
            f"{things} no reorder level. Set one with: flybench material change CODE --reorder 50, "
            "or flybench variant change CODE --reorder 12"
        )
    return told


def record(found: StockList) -> dict[str, Any]:
    """Return the machine form; amounts of money are texts, which keep every cent."""
    return {
        "currency": found.money.currency,
        "cost": None if found.cost is None else str(found.cost),
        "without_level": found.without_level,
        "lines": [{name: _plain(value) for name, value in vars(one).items()} for one in found.lines],
    }


def _plain(value: Any) -> Any:
    return str(value) if isinstance(value, Decimal) else value
