"""Make-lists by hand: amounts in the unit that stock is counted in, what is short, what a fly costs.

Materials, amounts and prices are invented; a gram has a thousand milligrams by definition.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from flybench.catalog.shelf.needed import Needed
from flybench.catalog.tables.materials import Bead, Hook, Material
from flybench.catalog.tables.patterns import Pattern, Step, Variant
from flybench.catalog.tables.vocabulary import Bore, MaterialKind, Metal, Part, Style, Unit
from flybench.errors import BadValueError
from flybench.shop.next_fly.make_list import (
    FlyCost,
    MaterialLine,
    amount_in_stock_unit,
    fly_cost,
    make_list_of,
    whole_flies,
)


def material(
    number: int, code: str, unit: Unit, pack: float | None = None, price: str | None = None
) -> Material:
    return Material(
        id=number,
        code=code,
        kind=MaterialKind.BODY,
        name=code.title(),
        unit=unit,
        pack_amount=pack,
        pack_price=None if price is None else Decimal(price),
    )


def need(of: Material, amount: float | None, unit: Unit | None) -> Needed:
    return Needed(Part.BODY, of, amount, unit)


@pytest.mark.parametrize(
    ("stock", "amount", "unit", "found"),
    [
        (Unit.GRAM, 8.0, Unit.MILLIGRAM, 0.008),
        (Unit.MILLIGRAM, 0.008, Unit.GRAM, 8.0),
        (Unit.GRAM, 0.5, Unit.GRAM, 0.5),
        (Unit.MILLIGRAM, 8.0, Unit.MILLIGRAM, 8.0),
        (Unit.TURN, 3.0, Unit.TURN, 3.0),
    ],
)
def test_masses_are_turned_into_the_unit_of_the_stock(
    stock: Unit, amount: float, unit: Unit, found: float
) -> None:
    remarks: list[str] = []
    assert amount_in_stock_unit(need(material(1, "fur", stock), amount, unit), remarks) == pytest.approx(
        found
    )
    assert remarks == []


@pytest.mark.parametrize(
    ("amount", "unit", "remark"),
    [
        (None, Unit.GRAM, "fur: the recipe does not say how much of it a fly takes."),
        (8.0, None, "fur: the recipe does not say how much of it a fly takes."),
        (
            8.0,
            Unit.TURN,
            "fur: the recipe takes it in turn, but its stock is counted in g, so it cannot be added up. "
            "Count both in one unit.",
        ),
    ],
)
def test_what_cannot_be_added_up_says_why(amount: float | None, unit: Unit | None, remark: str) -> None:
    remarks: list[str] = []
    assert amount_in_stock_unit(need(material(1, "fur", Unit.GRAM), amount, unit), remarks) is None
    assert remarks == [remark]


def test_a_fly_costs_its_share_of_each_pack() -> None:
    """By hand: 8 mg of a pack of 2 g for 3.20, and one of 25 hooks for 6.00: 0.0128 + 0.24."""
    fur = material(1, "fur", Unit.GRAM, 2.0, "3.20")
    hooks = material(2, "hooks", Unit.PIECE, 25.0, "6.00")
    gift = material(3, "gift", Unit.GRAM, None, "6.00")
    loose = material(4, "loose", Unit.GRAM, 5.0, None)
    needs = [need(fur, 8.0, Unit.MILLIGRAM), need(hooks, 1.0, Unit.PIECE)]
    assert fly_cost("V", 24, needs).cost == pytest.approx(0.0128 + 0.24)
    partly = fly_cost(
        "V", 24, [*needs, need(gift, 1.0, Unit.GRAM), need(loose, None, None), need(fur, 1.0, Unit.TURN)]
    )
    assert (partly.cost, partly.unknown) == (pytest.approx(0.2528), ["gift", "loose", "fur"])
    assert fly_cost("V", 24, [need(gift, 1.0, Unit.GRAM)]) == FlyCost("V", 24, None, ["gift"])


def fly(code: str, fur: Material, milligrams: float | None) -> Variant:
    """Return a variant of a hook, a bead and some fur, as the catalog would give it."""
    hook_material, bead_material = material(10, "hook", Unit.PIECE, 25, "6"), material(11, "bead", Unit.PIECE)
    hook, bead = (
        Hook(size=12, material=hook_material),
        Bead(diameter_m=2.8e-3, metal=Metal.BRASS, bore=Bore.SLOTTED, material=bead_material),
    )
    pattern = Pattern(code="p", name="P", style=Style.DUBBED)
    pattern.steps = [Step(position=1, part=Part.BODY, material=fur, amount=milligrams, unit=Unit.MILLIGRAM)]
    return Variant(code=code, pattern=pattern, hook=hook, bead=bead)


def test_a_list_adds_up_over_variants_and_tells_what_is_short() -> None:
    """By hand: 24 flies of 8 mg and 6 of 20 mg are 312 mg of fur; 0.2 g are there, so 0.112 g are short."""
    fur = material(1, "fur", Unit.GRAM, 2.0, "3.20")
    on_hand = {1: 0.2, 10: 100.0, 11: 0.0}
    found = make_list_of([(fly("A", fur, 8.0), 24), (fly("B", fur, 20.0), 6)], lambda one: on_hand[one.id])
    lines = {line.code: line for line in found.lines}
    assert list(lines) == ["hook", "bead", "fur"]
    assert lines["fur"].needed == pytest.approx(0.312)
    assert lines["fur"].short == pytest.approx(0.112)
    assert lines["fur"].cost == pytest.approx(0.312 * 1.60)
    assert (lines["hook"].needed, lines["hook"].short) == (30, 0.0)
    assert (lines["bead"].needed, lines["bead"].short, lines["bead"].cost) == (30, 30, None)
    assert [(one.code, one.flies) for one in found.flies] == [("A", 24), ("B", 6)]
    assert found.remarks == []


def test_a_sum_with_one_unknown_stays_unknown_and_says_so_once() -> None:
    fur = material(1, "fur", Unit.GRAM, 2.0, "3.20")
    wanted = [(fly("A", fur, None), 12), (fly("B", fur, 20.0), 6), (fly("C", fur, None), 6)]
    found = make_list_of(wanted, lambda one: 0.0)
    (line,) = [line for line in found.lines if line.code == "fur"]
    assert line == MaterialLine("fur", "Fur", "g", None, 0.0, None)
    assert line.short is None
    assert found.remarks == ["fur: the recipe does not say how much of it a fly takes."]


@pytest.mark.parametrize(
    ("dozens", "flies"), [(1, 12), (0.5, 6), (1 / 12, 1), (2 / 3, 8), (100_000 / 12, 100_000)]
)
def test_dozens_of_whole_flies(dozens: float, flies: int) -> None:
    assert whole_flies("V", dozens) == flies


@pytest.mark.parametrize("dozens", [0.0, -1.0, 0.3, 100_001 / 12, float("nan"), float("inf")])
def test_dozens_that_are_no_whole_flies(dozens: float) -> None:
    with pytest.raises(BadValueError) as caught:
        whole_flies("V", dozens)
    assert str(caught.value) == (
        f"V={dozens:g}: {dozens:g} dozen is not a number of whole flies from 1 to 100000. "
        "Write dozens, as in V=2, or V=0.5 for six flies."
    )
