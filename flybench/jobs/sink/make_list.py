"""The make-list: materials for some dozens of flies, what is short, and what a fly costs."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from flybench.catalog.recipe.needed import Needed, needed_for
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf import stock as stocking
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.materials import Material
from flybench.catalog.tables.vocabulary import Unit
from flybench.errors import BadValueError

DOZEN = 12
_MOST_FLIES = 100_000
_GRAMS = {Unit.GRAM: 1.0, Unit.MILLIGRAM: 1e-3}


@dataclass(frozen=True)
class Line:
    """One material: what is needed, on hand and short in its own unit; None where it cannot be told."""

    code: str
    name: str
    unit: str
    needed: float | None
    on_hand: float
    cost: float | None

    @property
    def short(self) -> float | None:
        """Return what has to be got."""
        return None if self.needed is None else max(self.needed - self.on_hand, 0.0)


@dataclass(frozen=True)
class FlyCost:
    """What the materials of one fly cost, None where no cost is known; ``unknown`` names those it is without."""

    code: str
    flies: int
    cost: float | None
    unknown: list[str]


@dataclass
class MakeList:
    """Lines by material, costs by variant, and remarks on what could not be worked out."""

    lines: list[Line] = field(default_factory=list)
    flies: list[FlyCost] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)


def make_list(catalog: Catalog, wanted: Mapping[str, float]) -> MakeList:
    """Return what is needed for dozens of flies by variant code; halves of a dozen are allowed.

    Raises BadValueError for an unknown variant or a number of flies that is not whole or too large.
    """
    if not wanted:
        raise BadValueError("variant", "none was named", "Name variants with dozens, as in MILL-28-14=2")
    found = MakeList()
    sums: dict[int, float | None] = {}
    materials: dict[int, Material] = {}
    with catalog.reading() as session:
        for code, dozens in wanted.items():
            flies = _flies(code, dozens)
            variant = get(session, NOUNS["variant"], code)
            needs = needed_for(variant)
            for need in needs:
                materials[need.material.id] = need.material
                amount = amount_in_stock_unit(need, found.remarks)
                before = sums.get(need.material.id, 0.0)
                sums[need.material.id] = None if amount is None or before is None else before + flies * amount
            found.flies.append(fly_cost(variant.code, flies, needs))
        for key, total in sums.items():
            material = materials[key]
            found.lines.append(_line(material, total, stocking.on_hand(session, material)))
    found.remarks = list(dict.fromkeys(found.remarks))
    return found


def _flies(code: str, dozens: float) -> int:
    flies = dozens * DOZEN
    if not (math.isfinite(flies) and 0 < flies <= _MOST_FLIES and abs(flies - round(flies)) < 1e-6):
        raise BadValueError(
            code, f"{dozens:g} dozen is not possible", f"Give whole flies, up to {_MOST_FLIES // DOZEN} dozen"
        )
    return round(flies)


def amount_in_stock_unit(need: Needed, remarks: list[str]) -> float | None:
    """Return what one fly takes in the unit the material is counted in, or None with a remark why not."""
    material, name = need.material, need.material.code
    if need.amount is None or need.unit is None:
        remarks.append(f"{name}: the recipe gives no amount.")
        return None
    if need.unit is material.unit:
        return need.amount
    if need.unit in _GRAMS and material.unit in _GRAMS:
        return need.amount * _GRAMS[need.unit] / _GRAMS[material.unit]
    remarks.append(
        f"{name}: the recipe takes it in {need.unit.value}, stock is counted in {material.unit.value}; "
        "count both in one unit to have it added up."
    )
    return None


def _price(material: Material) -> float | None:
    """Return the price of one unit."""
    if material.pack_price is None or material.pack_amount is None:
        return None
    return float(material.pack_price) / material.pack_amount


def _line(material: Material, needed: float | None, on_hand: float) -> Line:
    price = _price(material)
    cost = None if needed is None or price is None else needed * price
    return Line(material.code, material.name, material.unit.value, needed, on_hand, cost)


def fly_cost(code: str, flies: int, needs: list[Needed]) -> FlyCost:
    """Return what the materials of one fly cost, of a variant of which ``flies`` are wanted."""
    known, unknown = [], []
    for need in needs:
        amount, price = amount_in_stock_unit(need, []), _price(need.material)
        if amount is None or price is None:
            unknown.append(need.material.code)
        else:
            known.append(amount * price)
    return FlyCost(code, flies, sum(known) if known else None, unknown)
