"""All that came and went of a stock: as a table, and as machine form."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flybench.catalog.shelf.stock import Movement
from flybench.jobs.trade.money import Money, plain_tax
from flybench.telling.table import aligned, filled_columns


def lines(moves: Sequence[Movement]) -> list[str]:
    """Return all movements as a table, its head first, oldest movement at the top."""
    rows = [
        [
            move.at.astimezone().strftime("%Y-%m-%d %H:%M"),
            f"{move.amount:+g}",
            f"{move.on_hand:g}",
            move.why,
            "" if move.money is None else Money(move.deal.currency).written(move.money),
            move.deal.supplier,
            move.note,
        ]
        for move in moves
    ]
    heads = ["when", "change", "in stock", "why", "money", "supplier", "note"]
    return aligned(*filled_columns([heads, *rows], [False, True, True, False, True, False, False]))


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
        "tax_percent": None if deal.tax_percent is None else str(plain_tax(deal.tax_percent)),
        "supplier": deal.supplier,
    }
