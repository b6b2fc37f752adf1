"""Drops left out by hand: what is read, what is refused."""

from __future__ import annotations

from typing import Any

import pytest

from flybench.bench.sheet.left_out import check_numbers
from flybench.bench.sheet.read import read_sheet
from flybench.errors import BadValueError

HOW = 'Write for example without = [[1, "hit the wall"]], with the number of the drop as flybench bench measure lists it.'


def _without(given: Any) -> dict[int, str]:
    tables = {"water": {"temperature": "18 degC"}, "scale": {"card": "in water"}, "drops": {"without": given}}
    return read_sheet(tables).without


def test_drops_with_their_reasons() -> None:
    assert _without([[1, "hit the wall"], [4, " thread touched it "]]) == {
        1: "hit the wall",
        4: "thread touched it",
    }
    assert _without([]) == {}


WRONG: list[tuple[Any, str]] = [
    ("1", "'1' is not a list of drops"),
    ([1], "1 is not a drop and a reason"),
    ([[1, "a", "b"]], "[1, 'a', 'b'] is not a drop and a reason"),
    ([[0, "a"]], "0 is not the number of a drop"),
    ([[True, "a"]], "True is not the number of a drop"),
    ([["1", "a"]], "'1' is not the number of a drop"),
    ([[1, "  "]], "says nothing about why drop 1 does not count"),
    ([[1, 5]], "says nothing about why drop 1 does not count"),
    ([[1, "a\nb"]], "gives a reason for drop 1 that is not one line of at most 80 letters"),
    ([[1, "a" * 81]], "gives a reason for drop 1 that is not one line of at most 80 letters"),
]


@pytest.mark.parametrize(("given", "problem"), WRONG)
def test_what_is_no_drop_with_a_reason(given: Any, problem: str) -> None:
    with pytest.raises(BadValueError) as refused:
        _without(given)
    assert str(refused.value) == f"drops.without: {problem}. {HOW}"


def test_a_drop_named_twice() -> None:
    with pytest.raises(BadValueError) as refused:
        _without([[1, "a"], [1, "b"]])
    assert str(refused.value) == "drops.without: names drop 1 twice. Keep one of the two reasons."


@pytest.mark.parametrize(("seen", "were"), [(1, "1 drop was"), (2, "2 drops were")])
def test_a_drop_that_was_not_seen(seen: int, were: str) -> None:
    check_numbers({seen: "hit the wall"}, seen)
    with pytest.raises(BadValueError) as refused:
        check_numbers({3: "hit the wall"}, seen)
    assert str(refused.value) == (
        f"drops.without: leaves out drop 3, and {were} seen. Measure without it first, and take the number from the list "
        "of drops."
    )
