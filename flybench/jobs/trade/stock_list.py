"""What is in stock, how low it may fall, and what to order or to tie where it is lower."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from sqlalchemy.orm import Session

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.offered import offered
from flybench.catalog.search.select import Row, find
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.vocabulary import Unit
from flybench.jobs.trade.money import Money, money_of

MATERIALS, FLIES = "material", "variant"
_OF_MATERIALS = (
    "code",
    "name",
    "unit",
    "stock",
    "reorder",
    "pack",
    "price",
    "supplier",
    "bin",
    "retired",
)
_OF_FLIES = ("code", "name", "stock", "reorder", "bin", "retired", "pattern")
_ROUNDING = 1e-9
"""Share of a pack that is none: what is left of arithmetic."""


@dataclass(frozen=True)
class Stocked:
    """One thing on the shelves, counted in its unit: what there is, the level below which more is wanted, None where none was
    set, and what to order, or of flies to tie, 0 where there is enough.

    Materials are ordered by the pack where it is known: ``packs`` of them, and what they cost.
    """

    noun: str
    code: str
    name: str
    unit: str
    on_hand: float
    level: float | None
    to_order: float
    packs: int | None
    cost: Decimal | None
    supplier: str
    bin: str

    @property
    def below(self) -> bool:
        """Tell whether there is less than the level."""
        return self.level is not None and self.on_hand < self.level


@dataclass(frozen=True)
class StockList:
    """Things on the shelves, materials by supplier first, then flies; how many have no level; the shop's money."""

    lines: tuple[Stocked, ...]
    without_level: int
    money: Money

    @property
    def cost(self) -> Decimal | None:
        """Return what all that is to be ordered costs; None where no price is known."""
        costs = [one.cost for one in self.lines if one.cost is not None]
        return sum(costs, Decimal(0)) if costs else None


def stock_list(
    catalog: Catalog,
    query: Sequence[str] = (),
    below: bool = False,
    nouns: Sequence[str] = (MATERIALS, FLIES),
) -> StockList:
    """Return what a query finds of materials, of flies or of both, retired ones left out; ``below``, only what there is less
    of than its level.

    Raises BadValueError for a query that cannot be read, and for a field that one of them has not.
    """
    with catalog.reading() as session:
        found = [*(_materials(session, query) if MATERIALS in nouns else [])]
        found += _flies(session, query) if FLIES in nouns else []
        money = money_of(session)
    lines = tuple(one for one in found if one.below or not below)
    return StockList(lines, sum(one.level is None for one in found), money)


def _materials(session: Session, query: Sequence[str]) -> list[Stocked]:
    rows = find(session, NOUNS[MATERIALS], query, "supplier, code", fields=_OF_MATERIALS).rows
    return [_material(row) for row in rows if row["retired"] is None]


def _flies(session: Session, query: Sequence[str]) -> list[Stocked]:
    rows = find(session, NOUNS[FLIES], query, "code", fields=_OF_FLIES).rows
    return [_fly(row) for row in offered(session, rows)]


def _material(row: Row) -> Stocked:
    missing = _missing(row)
    pack, packs, cost = row["pack"], None, None
    if missing and pack:
        packs = math.ceil(missing / pack - _ROUNDING)
        missing = packs * pack
        cost = None if row["price"] is None else packs * row["price"]
    elif row["unit"] is Unit.PIECE:
        missing = math.ceil(missing)
    texts = (row["supplier"] or "", row["bin"] or "")
    names = (MATERIALS, row["code"], row["name"], row["unit"].value)
    return Stocked(*names, row["stock"], row["reorder"], missing, packs, cost, *texts)


def _fly(row: Row) -> Stocked:
    numbers = (row["stock"], row["reorder"], _missing(row))
    return Stocked(FLIES, row["code"], row["name"], "flies", *numbers, None, None, "", row["bin"] or "")


def _missing(row: Row) -> float:
    level: float | None = row["reorder"]
    return 0.0 if level is None else max(level - float(row["stock"]), 0.0)
