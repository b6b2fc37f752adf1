"""Stock of finished flies and of materials: movements, and what they add up to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get, named
from flybench.catalog.tables.materials import Material, MaterialMovement
from flybench.catalog.tables.patterns import FlyMovement, Variant
from flybench.catalog.tables.vocabulary import Why
from flybench.errors import BadValueError

_ROUNDING = 1e-9
"""Share of a stock by which a sum of floats may fall below zero and still count as nothing left (judgement)."""


@dataclass(frozen=True)
class Movement:
    """One movement of stock: when, how much came (above zero) or went, why, and what was in stock after it."""

    at: datetime
    amount: float
    why: str
    note: str
    on_hand: float


def owner_of(session: Session, code: str, material: bool) -> Any:
    """Return the variant or material of a code; a writing session keeps other writers out by itself."""
    if not material and named(session, Variant, code) is None and named(session, Material, code) is not None:
        raise BadValueError("CODE", f'"{code}" is a material, not a variant', "Add --material")
    return get(session, NOUNS["material" if material else "variant"], code)


def on_hand(session: Session, owner: Variant | Material) -> float:
    """Return what is on hand."""
    table, column = _table(owner)
    return float(
        session.scalar(select(func.coalesce(func.sum(table.amount), 0)).where(column == owner.id)) or 0
    )


def move(
    session: Session,
    owner: Variant | Material,
    amount: float,
    why: Why,
    note: str = "",
    price: Decimal | None = None,
) -> float:
    """Write down a movement and return what is on hand after it.

    Parameters: price, of one fly where flies are sold, else what was paid for all of it, in the catalog's currency.

    Raises BadValueError where more would go than there is.
    """
    before = on_hand(session, owner)
    after = before + amount
    if after < -_ROUNDING * max(1.0, before):
        flag = "" if isinstance(owner, Variant) else " --material"
        raise BadValueError(
            "AMOUNT",
            f"{-amount:g} of {owner.code} cannot be taken out; there are {before:g} in stock",
            f"Give less, or correct the stock after a count with: flybench stock count {owner.code} AMOUNT{flag}",
        )
    table, _ = _table(owner)
    key: dict[str, Any] = (
        {"variant_id": owner.id, "price": price}
        if isinstance(owner, Variant)
        else {"material_id": owner.id, "paid": price}
    )
    session.add(table(at=datetime.now(UTC), amount=amount, why=why, note=note, **key))
    session.flush()
    return after


def movements(session: Session, owner: Variant | Material) -> list[Movement]:
    """Return all movements, oldest first."""
    table, column = _table(owner)
    history, total = [], 0.0
    for row in session.scalars(select(table).where(column == owner.id).order_by(table.id)):
        total += row.amount
        history.append(Movement(row.at, row.amount, row.why.value, row.note, total))
    return history


def _table(owner: Variant | Material) -> tuple[Any, Any]:
    if isinstance(owner, Variant):
        return FlyMovement, FlyMovement.variant_id
    return MaterialMovement, MaterialMovement.material_id
