"""Stock: what came, what went, what was counted."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flybench.catalog.shelf import stock as stocking
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.vocabulary import Why
from flybench.errors import BadValueError

_MOST = 1_000_000
"""Pieces or units in one movement (judgement; the table of flies holds no more)."""


@dataclass(frozen=True)
class OnHand:
    """What is on hand of something, and in what it is counted."""

    code: str
    amount: float
    unit: str


def move_stock(
    catalog: Catalog, code: str, amount: float, why: str, note: str = "", material: bool = False
) -> OnHand:
    """Write down that stock came (amount above zero) or went (below); flies go by the whole one.

    Raises BadValueError for an unknown code, an amount of zero, or more going than there is.
    """
    _check_amount(amount, material)
    if amount == 0:
        raise BadValueError("AMOUNT", "is zero", "Give how many came or went")
    with catalog.writing() as session:
        owner = stocking.owner_of(session, code, material)
        after = stocking.move(session, owner, amount, Why(why), note)
        return OnHand(owner.code, after, owner.unit.value if material else "flies")


def count_stock(catalog: Catalog, code: str, amount: float, note: str = "", material: bool = False) -> OnHand:
    """Set right what is on hand after a count; the difference is written down as a movement."""
    _check_amount(amount, material)
    if amount < 0:
        raise BadValueError("AMOUNT", f"{amount:g} is below zero", "Give what was counted, zero or more")
    with catalog.writing() as session:
        owner = stocking.owner_of(session, code, material)
        difference = amount - stocking.on_hand(session, owner)
        if difference:
            stocking.move(session, owner, difference, Why.COUNTED, note)
        return OnHand(owner.code, amount, owner.unit.value if material else "flies")


def stock_log(catalog: Catalog, code: str, material: bool = False) -> list[stocking.Movement]:
    """Return every movement of a variant or material, oldest first."""
    with catalog.reading() as session:
        return stocking.movements(session, stocking.owner_of(session, code, material))


def _check_amount(amount: float, material: bool) -> None:
    if not math.isfinite(amount) or abs(amount) > _MOST:
        raise BadValueError("AMOUNT", f"{amount:.10g} is not possible", f"Give a number up to {_MOST}")
    if not material and amount != int(amount):
        raise BadValueError(
            "AMOUNT",
            f"{amount:g} is not a whole number of flies",
            "Give whole flies, or add --material where CODE is a material",
        )
