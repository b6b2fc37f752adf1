"""Stock that is on hand: words and machine form."""

from __future__ import annotations

from typing import Any

from flybench.jobs.shelf.stock import OnHand
from flybench.telling.numbers import amount_text
from flybench.telling.wording import counted

_UNITS = {"piece": "pieces", "turn": "turns", "drop": "drops"}
"""Plurals of units that are words; mm, g and mg are written as they are."""


def lines(now: OnHand) -> list[str]:
    """Return what is on hand: "B28: 24 pieces in stock."."""
    amount = amount_text(now.amount, _UNITS.get(now.unit, now.unit))
    if now.amount == 1 and now.unit in _UNITS:
        amount = f"1 {now.unit}"
    if now.unit == "flies":
        amount = counted(int(now.amount), "fly", "flies")
    return [f"{now.code}: {amount} in stock."]


def record(now: OnHand) -> dict[str, Any]:
    """Return the machine form of what is on hand."""
    return {"code": now.code, "amount": now.amount, "unit": now.unit, "remarks": list(now.remarks)}
