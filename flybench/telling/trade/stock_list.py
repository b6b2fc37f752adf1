"""What is in stock, and what to order or to tie, in words and as machine form."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from flybench.jobs.trade.money import Money
from flybench.jobs.trade.stock_list import FLIES, MATERIALS, Stocked, StockList
from flybench.telling.table import fitted
from flybench.telling.wording import counted

_NAME = 1
"""Column of the names: it is cut where the screen is narrow."""


class _Column(NamedTuple):
    """A column of a table: its head, whether it stands to the right, and its cell for a thing."""

    head: str
    right: bool
    cell: Callable[[Stocked], str]


def lines(found: StockList) -> list[str]:
    """Return materials and flies, each as a table; below them what all that is to be ordered costs."""
    materials = [one for one in found.lines if one.noun == MATERIALS]
    flies = [one for one in found.lines if one.noun == FLIES]
    told = [*_table(_columns("material", "to order"), materials), *_table(_columns("fly", "to tie"), flies)]
    if found.cost is not None:
        without = sum(one.to_order > 0 and one.cost is None for one in materials)
        but = f"; {counted(without, 'material')} without a price not counted" if without else ""
        told.append(f"To order for {found.money.written(found.cost)}{but}.")
    return told


def _columns(head: str, wanted: str) -> list[_Column]:
    return [
        _Column(head, False, lambda one: one.code),
        _Column("name", False, lambda one: one.name),
        _Column("in stock", True, lambda one: f"{one.on_hand:g}"),
        _Column("reorder at", True, lambda one: "" if one.level is None else f"{one.level:g}"),
        _Column(wanted, True, lambda one: f"{one.to_order:g}" if one.to_order else ""),
        _Column("unit", False, lambda one: one.unit),
        _Column("packs", True, lambda one: "" if one.packs is None else str(one.packs)),
        _Column("cost", True, lambda one: "" if one.cost is None else Money().written(one.cost)),
        _Column("supplier", False, lambda one: one.supplier),
        _Column("bin", False, lambda one: one.bin),
    ]


def _table(columns: Sequence[_Column], rows: Sequence[Stocked]) -> list[str]:
    """Return a table, columns without any value left out."""
    if not rows:
        return []
    shown = [column for column in columns if any(column.cell(one) for one in rows)]
    cells = [[column.cell(one) for column in shown] for one in rows]
    heads = [column.head for column in shown]
    return fitted([heads, *cells], [column.right for column in shown], _NAME)


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
