"""The make-list: materials for some dozens of flies, what is short, and what the materials of a fly cost."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from flybench.catalog.shelf.needed import Needed, needed_for
from flybench.catalog.tables.materials import Material
from flybench.catalog.tables.patterns import Variant
from flybench.catalog.tables.vocabulary import Unit
from flybench.errors import BadValueError

DOZEN = 12
"""Flies in a dozen."""
MOST_FLIES = 100_000
"""More flies of one variant than this are a slip of the hand (judgement)."""
_WHOLE = 1e-6
"""A number of flies this near to a whole one is whole: dozens such as 1/3 do not come out exactly in floats."""
GRAMS = {Unit.GRAM: 1.0, Unit.MILLIGRAM: 1e-3}
"""Units of mass in grams, exact by definition."""


@dataclass(frozen=True)
class MaterialLine:
    """One material: what is needed, on hand and short in its own unit; None where it cannot be told."""

    code: str
    name: str
    unit: str
    needed: float | None
    on_hand: float
    cost: float | None

    @property
    def short(self) -> float | None:
        """Return what has to be bought."""
        return None if self.needed is None else max(self.needed - self.on_hand, 0.0)


@dataclass(frozen=True)
class FlyCost:
    """What the materials of one fly cost, None where no price is known; ``unknown`` names those it is without."""

    code: str
    flies: int
    cost: float | None
    unknown: list[str]


@dataclass(frozen=True)
class MakeList:
    """Lines by material, costs by variant, and remarks on what could not be worked out."""

    lines: list[MaterialLine]
    flies: list[FlyCost]
    remarks: list[str]


def whole_flies(code: str, dozens: float) -> int:
    """Return the number of flies of some dozens; raises BadValueError where it is not whole, or too large."""
    flies = dozens * DOZEN
    if not (math.isfinite(flies) and 0 < flies <= MOST_FLIES and abs(flies - round(flies)) < _WHOLE):
        raise BadValueError(
            f"{code}={dozens:g}",
            f"{dozens:g} dozen is not a number of whole flies from 1 to {MOST_FLIES}",
            f"Write dozens, as in {code}=2, or {code}=0.5 for six flies",
        )
    return round(flies)


def make_list_of(wanted: Sequence[tuple[Variant, int]], on_hand: Callable[[Material], float]) -> MakeList:
    """Return what is needed for so many flies of each variant, the materials in the order in which they are met.

    Parameters: on_hand, what there is of a material in its own unit.
    """
    sums: dict[int, float | None] = {}
    materials: dict[int, Material] = {}
    costs: list[FlyCost] = []
    remarks: list[str] = []
    for variant, flies in wanted:
        needs = needed_for(variant)
        for need in needs:
            materials[need.material.id] = need.material
            amount = amount_in_stock_unit(need, remarks)
            before = sums.get(need.material.id, 0.0)
            sums[need.material.id] = None if amount is None or before is None else before + flies * amount
        costs.append(fly_cost(variant.code, flies, needs))
    lines = [_line(materials[key], total, on_hand(materials[key])) for key, total in sums.items()]
    return MakeList(lines, costs, list(dict.fromkeys(remarks)))


def amount_in_stock_unit(need: Needed, remarks: list[str]) -> float | None:
    """Return what one fly takes in the unit the material is counted in, or None with a remark why not."""
    material, name = need.material, need.material.code
    if need.amount is None or need.unit is None:
        remarks.append(f"{name}: the recipe does not say how much of it a fly takes.")
        return None
    if need.unit is material.unit:
        return need.amount
    if need.unit in GRAMS and material.unit in GRAMS:
        return need.amount * GRAMS[need.unit] / GRAMS[material.unit]
    remarks.append(
        f"{name}: the recipe takes it in {need.unit.value}, but its stock is counted in {material.unit.value}, so "
        "it cannot be added up. Count both in one unit."
    )
    return None


def _price(material: Material) -> float | None:
    """Return the price of one unit."""
    if material.pack_price is None or material.pack_amount is None:
        return None
    return float(material.pack_price) / material.pack_amount


def _line(material: Material, needed: float | None, on_hand: float) -> MaterialLine:
    price = _price(material)
    cost = None if needed is None or price is None else needed * price
    return MaterialLine(material.code, material.name, material.unit.value, needed, on_hand, cost)


def fly_cost(code: str, flies: int, needs: Sequence[Needed]) -> FlyCost:
    """Return what the materials of one fly cost, of a variant of which ``flies`` are wanted."""
    known, unknown = [], []
    for need in needs:
        amount, price = amount_in_stock_unit(need, []), _price(need.material)
        if amount is None or price is None:
            unknown.append(need.material.code)
        else:
            known.append(amount * price)
    return FlyCost(code, flies, sum(known) if known else None, unknown)
