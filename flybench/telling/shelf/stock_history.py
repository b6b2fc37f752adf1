"""All that came and went of a stock: as a table, and as machine form."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from flybench.catalog.shelf.stock import Movement
from flybench.telling.table import aligned


def lines(moves: Sequence[Movement]) -> list[str]:
    """Return all movements as a table, its head first, oldest movement at the top."""
    columns = [
        _Column("when", False, [move.at.astimezone().strftime("%Y-%m-%d %H:%M") for move in moves]),
        _Column("change", True, [f"{move.amount:+g}" for move in moves]),
        _Column("in stock", True, [f"{move.on_hand:g}" for move in moves]),
        _Column("why", False, [move.why for move in moves]),
        _Column("money", True, [_money(move) for move in moves]),
        _Column("supplier", False, [move.deal.supplier for move in moves]),
        _Column("note", False, [move.note for move in moves]),
    ]
    shown = [column for column in columns if any(column.cells)]
    rows = zip(*(column.cells for column in shown), strict=True)
    return aligned([[column.head for column in shown], *rows], [column.right for column in shown])


class _Column(NamedTuple):
    """A column of the table: its head, whether it stands to the right, its cells."""

    head: str
    right: bool
    cells: list[str]


def _money(move: Movement) -> str:
    return "" if move.money is None else f"{move.deal.currency} {move.money:.2f}".strip()


def record(moves: Sequence[Movement]) -> list[dict[str, Any]]:
    """Return the machine form of all movements; money as texts, which keep every cent."""
    return [_record(move) for move in moves]


def _record(move: Movement) -> dict[str, Any]:
    values, deal = vars(move) | {"at": move.at.isoformat(timespec="seconds")}, move.deal
    del values["deal"]
    return values | {
        "price": None if deal.price is None else str(deal.price),
        "money": None if move.money is None else str(move.money),
        "currency": deal.currency,
        "tax_percent": None if deal.tax_percent is None else f"{deal.tax_percent.normalize():f}",
        "supplier": deal.supplier,
    }
