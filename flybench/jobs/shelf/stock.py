"""Stock: what came, what went, what was counted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from flybench.catalog.shelf import stock as stocking
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.materials import Material
from flybench.catalog.tables.patterns import Variant
from flybench.catalog.tables.vocabulary import Why
from flybench.errors import BadValueError

_MOST = 1_000_000
"""Pieces or units in one movement (judgement; the table of flies holds no more)."""


@dataclass(frozen=True)
class OnHand:
    """What is on hand of something, in what it is counted, and remarks."""

    code: str
    amount: float
    unit: str
    remarks: tuple[str, ...] = ()


def move_stock(
    catalog: Catalog, code: str, amount: float, why: str, note: str = "", material: bool = False
) -> OnHand:
    """Write down that stock came (amount above zero) or went (below); flies go by the whole one.

    Raises BadValueError for an unknown code, an amount of zero, or more going than there is.
    """
    _check_amount(amount)
    if amount == 0:
        raise BadValueError("AMOUNT", "is zero", "Give how many came or went")
    with catalog.writing() as session:
        owner = stocking.owner_of(session, code, material)
        _check_whole(owner, amount)
        after = stocking.move(session, owner, amount, Why(why), note)
        return OnHand(owner.code, after, owner.unit.value if material else "flies", retired_ones([owner]))


def count_stock(catalog: Catalog, code: str, amount: float, note: str = "", material: bool = False) -> OnHand:
    """Set right what is on hand after a count; the difference is written down as a movement."""
    _check_amount(amount)
    if amount < 0:
        raise BadValueError("AMOUNT", f"{amount:g} is below zero", "Give what was counted, zero or more")
    with catalog.writing() as session:
        owner = stocking.owner_of(session, code, material)
        _check_whole(owner, amount)
        difference = amount - stocking.on_hand(session, owner)
        if difference:
            stocking.move(session, owner, difference, Why.COUNTED, note)
        return OnHand(owner.code, amount, owner.unit.value if material else "flies")


def stock_log(catalog: Catalog, code: str, material: bool = False) -> list[stocking.Movement]:
    """Return every movement of a variant or material, oldest first."""
    with catalog.reading() as session:
        return stocking.movements(session, stocking.owner_of(session, code, material))


def retired_ones(goods: Sequence[Variant | Material]) -> tuple[str, ...]:
    """Return a remark for each thing that is retired, or whose pattern is."""
    return tuple(dict.fromkeys(remark for one in goods for remark in _retired(one)))


def _retired(goods: Variant | Material) -> list[str]:
    if goods.retired_on is not None:
        return [f"{goods.code} was retired on {goods.retired_on}."]
    if isinstance(goods, Variant) and goods.pattern.retired_on is not None:
        return [f"{goods.code}: its pattern {goods.pattern.code} was retired on {goods.pattern.retired_on}."]
    return []


def _check_amount(amount: float) -> None:
    if not math.isfinite(amount) or abs(amount) > _MOST:
        raise BadValueError("AMOUNT", f"{amount:.10g} is not possible", f"Give a number up to {_MOST}")


def _check_whole(owner: Variant | Material, amount: float) -> None:
    whole = stocking.whole_things(owner)
    if whole and amount != int(amount):
        or_else = ", or add --material where CODE is a material" if whole == "flies" else ""
        problem = f"{abs(amount):g} is not a whole number of {whole}"
        raise BadValueError("AMOUNT", problem, f"Give whole {whole}{or_else}")
