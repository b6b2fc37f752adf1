"""All that came and went of a stock: as a table, and as machine form."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flybench.catalog.shelf.stock import Movement
from flybench.telling.table import aligned


def lines(moves: Sequence[Movement]) -> list[str]:
    """Return all movements as a table, its head first, oldest movement at the top."""
    rows = [
        [
            move.at.astimezone().strftime("%Y-%m-%d %H:%M"),
            f"{move.amount:+g}",
            f"{move.on_hand:g}",
            move.why,
            move.note,
        ]
        for move in moves
    ]
    heads = ["when", "change", "in stock", "why", "note"]
    return aligned([heads, *rows], [False, True, True, False, False])


def record(moves: Sequence[Movement]) -> list[dict[str, Any]]:
    """Return the machine form of all movements."""
    return [vars(move) | {"at": move.at.isoformat(timespec="seconds")} for move in moves]
