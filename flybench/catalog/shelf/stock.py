"""Stock of finished flies and of materials: movements, and what they add up to."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from flybench.catalog.search.fields import Field
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get, named
from flybench.catalog.shelf.values import read_value
from flybench.catalog.tables.materials import Material, MaterialMovement
from flybench.catalog.tables.patterns import FlyMovement, Variant
from flybench.catalog.tables.vocabulary import MaterialKind, Unit, Why
from flybench.errors import BadValueError

NOTE: Field = replace(NOUNS["variant"].fields["notes"], name="note")
"""A remark on a movement: one line, and shorter than notes of other things."""
_ROUNDING = 1e-9
"""Share of a stock by which a sum of floats may fall below zero and still count as nothing left (judgement)."""


@dataclass(frozen=True)
class Deal:
    """What goods were sold or bought at: the price, of one fly where flies are sold, else of all of it; its currency, the
    tax within it in per cent, and whom the goods were bought from. Empty and None where not said."""

    price: Decimal | None = None
    currency: str = ""
    tax_percent: Decimal | None = None
    supplier: str = ""


_NO_DEAL = Deal()


@dataclass(frozen=True)
class Movement:
    """One movement of stock: when, how much came (above zero) or went, why, what was in stock after it, and the deal."""

    at: datetime
    amount: float
    why: str
    note: str
    on_hand: float
    deal: Deal

    @property
    def money(self) -> Decimal | None:
        """Return the money that went with it, None where none was kept."""
        return money_of_all(self.deal.price, Why(self.why), self.amount)


def owner_of(session: Session, code: str, material: bool) -> Any:
    """Return the variant or material of a code; a writing session keeps other writers out by itself."""
    if not material and named(session, Variant, code) is None and named(session, Material, code) is not None:
        raise BadValueError("CODE", f'"{code}" is a material, not a variant', "Add --material")
    return get(session, NOUNS["material" if material else "variant"], code)


def whole_things(owner: Variant | Material) -> str:
    """Return the name of things that come and go by the whole one, flies, hooks and beads; "" for any other."""
    if isinstance(owner, Variant):
        return "flies"
    by_piece = owner.unit is Unit.PIECE and owner.kind in (MaterialKind.HOOK, MaterialKind.BEAD)
    return f"{owner.kind.value}s" if by_piece else ""


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
    deal: Deal = _NO_DEAL,
) -> float:
    """Write down a movement, with the deal that it was part of, and return what is on hand after it.

    Raises BadValueError where more would go than there is, and for a note that cannot be kept.
    """
    note = read_value(NOTE, note) or ""
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
    session.add(table(at=datetime.now(UTC), amount=amount, why=why, note=note, **_columns(owner, deal)))
    session.flush()
    return after


def _columns(owner: Variant | Material, deal: Deal) -> dict[str, Any]:
    """Return the columns of a movement that say whose it is and what the deal was; money without a price says nothing."""
    priced = deal.price is not None
    both = {"currency": deal.currency or None if priced else None, "supplier": deal.supplier or None}
    if isinstance(owner, Variant):
        tax = deal.tax_percent if priced else None
        return {"variant_id": owner.id, "price": deal.price, "tax_percent": tax, **both}
    return {"material_id": owner.id, "paid": deal.price, **both}


def movements(session: Session, owner: Variant | Material) -> list[Movement]:
    """Return all movements, oldest first."""
    table, column = _table(owner)
    history, total = [], 0.0
    for row in session.scalars(select(table).where(column == owner.id).order_by(table.id)):
        total += row.amount
        history.append(Movement(row.at, row.amount, row.why.value, row.note, total, deal_of(row)))
    return history


def money_of_all(price: Decimal | None, why: Why, amount: float) -> Decimal | None:
    """Return the money of all that moved: a price is of one where flies were sold, of all of it where it was bought."""
    if price is None or why is Why.BOUGHT:
        return price
    return price * Decimal(f"{abs(amount):g}")


def deal_of(row: FlyMovement | MaterialMovement) -> Deal:
    """Return the deal of a movement."""
    currency, supplier = row.currency or "", row.supplier or ""
    if isinstance(row, FlyMovement):
        return Deal(row.price, currency, row.tax_percent, supplier)
    return Deal(row.paid, currency, None, supplier)


def _table(owner: Variant | Material) -> tuple[Any, Any]:
    if isinstance(owner, Variant):
        return FlyMovement, FlyMovement.variant_id
    return MaterialMovement, MaterialMovement.material_id
