"""Stock: what goes out can never be more than what there is, at the very edge and for sums of floats too."""

from __future__ import annotations

from pathlib import Path

import pytest
from shop import shop

from flybench.catalog.shelf.check import check
from flybench.catalog.store.open import Catalog
from flybench.errors import BadValueError
from flybench.jobs.shelf.stock import count_stock, move_stock, stock_log
from flybench.telling.shelf import on_hand

FLIES = "MILL-28-14"


@pytest.fixture
def catalog(tmp_path: Path) -> Catalog:
    return shop(tmp_path / "shop.sqlite")


def refused(catalog: Catalog, code: str, amount: float, *, material: bool = False) -> str:
    before = stock_log(catalog, code, material)
    with pytest.raises(BadValueError) as error:
        move_stock(catalog, code, amount, "sold", material=material)
    assert stock_log(catalog, code, material) == before
    return str(error.value)


def test_all_that_is_there_may_go_and_not_one_more(catalog: Catalog) -> None:
    move_stock(catalog, FLIES, 3, "tied")
    assert refused(catalog, FLIES, -4) == (
        f"AMOUNT: 4 of {FLIES} cannot be taken out; there are 3 in stock. Give less, or correct the stock after a "
        f"count with: flybench stock count {FLIES} AMOUNT."
    )
    assert move_stock(catalog, FLIES, -3, "sold").amount == 0
    assert refused(catalog, FLIES, -1) == (
        f"AMOUNT: 1 of {FLIES} cannot be taken out; there are 0 in stock. Give less, or correct the stock after a "
        f"count with: flybench stock count {FLIES} AMOUNT."
    )


def test_a_thousandth_of_a_gram_too_much_is_refused(catalog: Catalog) -> None:
    move_stock(catalog, "HARE", 2.0, "bought", material=True)
    assert refused(catalog, "HARE", -2.001, material=True) == (
        "AMOUNT: 2.001 of HARE cannot be taken out; there are 2 in stock. Give less, or correct the stock after a "
        "count with: flybench stock count HARE AMOUNT --material."
    )
    assert refused(catalog, "HARE", -2.00001, material=True)


def test_rounding_of_floats_keeps_nothing_back(catalog: Catalog) -> None:
    assert 0.3 - 0.1 - 0.2 < 0  # in binary
    for amount, why in ((0.3, "bought"), (-0.1, "used"), (-0.2, "used")):
        left = move_stock(catalog, "HARE", amount, why, material=True).amount
    assert left == pytest.approx(0, abs=1e-12)
    assert check(catalog) == []


@pytest.mark.parametrize(
    ("amount", "message"),
    [
        (0, "AMOUNT: is zero. Give how many came or went."),
        (
            0.5,
            "AMOUNT: 0.5 is not a whole number of flies. Give whole flies, or add --material where CODE is a material.",
        ),
        (1_000_001, "AMOUNT: 1000001 is not possible. Give a number up to 1000000."),
        (float("nan"), "AMOUNT: nan is not possible. Give a number up to 1000000."),
        (float("inf"), "AMOUNT: inf is not possible. Give a number up to 1000000."),
    ],
)
def test_amounts_that_cannot_be(catalog: Catalog, amount: float, message: str) -> None:
    assert refused(catalog, FLIES, amount) == message


def test_the_largest_amount_is_taken(catalog: Catalog) -> None:
    assert move_stock(catalog, FLIES, 1_000_000, "tied").amount == 1_000_000


def test_a_count_sets_it_right_both_ways_and_the_same_count_writes_nothing(catalog: Catalog) -> None:
    for counted in (5, 5, 2, 0):
        assert count_stock(catalog, FLIES, counted).amount == counted
    assert [(move.amount, move.why, move.on_hand) for move in stock_log(catalog, FLIES)] == [
        (5, "counted", 5),
        (-3, "counted", 2),
        (-2, "counted", 0),
    ]
    with pytest.raises(BadValueError) as error:
        count_stock(catalog, FLIES, -1)
    assert str(error.value) == "AMOUNT: -1 is below zero. Give what was counted, zero or more."


def test_what_is_on_hand_is_told_with_its_unit(catalog: Catalog) -> None:
    assert on_hand.lines(move_stock(catalog, FLIES, 1, "tied")) == [f"{FLIES}: 1 fly in stock."]
    assert on_hand.lines(move_stock(catalog, FLIES, 1, "tied")) == [f"{FLIES}: 2 flies in stock."]
    assert on_hand.lines(move_stock(catalog, "B28", 1, "bought", material=True)) == ["B28: 1 piece in stock."]
    assert on_hand.lines(move_stock(catalog, "HARE", 1.5, "bought", material=True)) == [
        "HARE: 1.5 g in stock."
    ]
