"""Stock: what is on hand in words, its history as a table, machine forms."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flybench.catalog.shelf.stock import Movement
from flybench.jobs.shelf.stock import OnHand
from flybench.telling.table import aligned
from flybench.telling.wording import counted

_UNITS = {"piece": "pieces", "turn": "turns", "drop": "drops"}
"""Plurals of units that are words; mm, g and mg are written as they are."""


def on_hand_line(now: OnHand) -> str:
    """Return what is on hand: "B28: 24 pieces in stock."."""
    amount = f"{now.amount:g} {_UNITS.get(now.unit, now.unit)}"
    if now.amount == 1 and now.unit in _UNITS:
        amount = f"1 {now.unit}"
    if now.unit == "flies":
        amount = counted(int(now.amount), "fly", "flies")
    return f"{now.code}: {amount} in stock."


def on_hand_record(now: OnHand) -> dict[str, Any]:
    """Return the machine form of what is on hand."""
    return {"code": now.code, "amount": now.amount, "unit": now.unit}


def history_table(moves: Sequence[Movement]) -> list[str]:
    """Return all movements as a table, its head first, oldest movement at the top."""
    lines = [
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
    return aligned([heads, *lines], [False, True, True, False, False])


def history_records(moves: Sequence[Movement]) -> list[dict[str, Any]]:
    """Return the machine form of all movements."""
    return [vars(move) | {"at": move.at.isoformat(timespec="seconds")} for move in moves]
