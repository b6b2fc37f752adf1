"""Tables and paragraphs that keep to the width of the screen, and numbers as a reader takes them."""

from __future__ import annotations

import pytest

from flybench.charts.comparison import odds_text
from flybench.shop.next_fly.make_list import FlyCost, MakeList, MaterialLine
from flybench.shop.speeds.ladder import Ladder, LadderRung, ties_of
from flybench.statistics.comparing import DoubtPart, Repeat, Side
from flybench.telling.numbers import percent, plus_minus, temperature_text
from flybench.telling.shelf import make_list
from flybench.telling.sink import ladder
from flybench.telling.table import fitted, paragraph

ROWS = [
    ["code", "name", "cm/s"],
    ["M1", "A long name of an invented fly", "30 ± 1"],
    ["M2", "Short", "9 ± 1"],
]
RIGHT = [False, False, True]


@pytest.fixture(autouse=True)
def eighty(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")


def test_what_fits_stands_under_its_head() -> None:
    assert fitted(ROWS, RIGHT, 1) == [
        "code  name                              cm/s",
        "M1    A long name of an invented fly  30 ± 1",
        "M2    Short                            9 ± 1",
    ]


def test_a_name_is_cut_where_the_screen_is_narrow(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    assert fitted(ROWS, RIGHT, 1) == [
        "code  name                          cm/s",
        "M1    A long name of an invente…  30 ± 1",
        "M2    Short                        9 ± 1",
    ]


def test_where_nothing_may_be_cut_each_row_is_an_entry(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    assert fitted(ROWS, RIGHT) == [
        "code",
        "M1",
        "  name: A long name of an invented\n  fly; cm/s: 30 ± 1",
        "M2",
        "  name: Short; cm/s: 9 ± 1",
    ]


def test_a_value_stays_with_its_sign_and_unit() -> None:
    text = paragraph("x " * 34 + "30.4 ± 0.5 cm/s (k = 2), 15 %")
    assert text.splitlines()[1] == "30.4 ± 0.5 cm/s (k = 2), 15 %"


def test_numbers() -> None:
    """Half of 0.0034 is doubled again; JCGM 100:2008, 7.2.6, for the rounding."""
    assert plus_minus(0.3141, 0.0017, 100) == "31.4 ± 0.4"
    assert (percent(0.126), percent(0.0154, 1)) == ("13 %", "1.5 %")
    assert (temperature_text(291.15), temperature_text(274.65)) == ("18 °C", "1.5 °C")
    assert [odds_text(odds) for odds in (0.995, 0.99, 0.01, 0.005)] == [
        "over 99 %",
        "99 %",
        "1 %",
        "under 1 %",
    ]


def test_a_ladder_names_ties_and_what_is_not_shown() -> None:
    whole = (DoubtPart("clip", Repeat.NOTHING, 0.01),)
    rungs = [
        LadderRung(code, name, Side(code, speed, whole, {}, {}))
        for code, name, speed in (("M1", "One", 0.30), ("M2", "Two", 0.31))
    ]
    found = Ladder(rungs, ties_of(rungs), 1, 3)
    head, *table, scale, question, ties = ladder.lines(found)
    assert head.split("  ")[0] == "code"
    assert head.endswith("cm/s  band, cm/s")
    assert [line.split()[0] for line in table] == ["M1", "M2"]
    assert all(max(map(len, (line, scale))) <= 80 for line in table)
    assert question == 'A band with "?": the interval (k = 2) reaches into the next band.'
    assert ties == "These cannot be told apart (k = 2): M1 and M2."
    assert ladder.remarks(found) == [
        "1 more was found but is not measured yet, so not shown.",
        "1 faster one is not shown. Raise --limit.",
    ]
    assert ladder.lines(Ladder([], [], 0, 0)) == []
    assert ladder.remarks(Ladder([], [], 0, 0, all_retired=3)) == [
        "All 3 that were measured are retired, so they are left out. Bring one back with: flybench fly retire CODE --back, "
        "or flybench variant retire CODE --back"
    ]


def test_a_make_list_counts_right_and_says_what_to_buy() -> None:
    lines = [
        MaterialLine("fur", "Fur", "g", 0.312, 0.2, 0.5),
        MaterialLine("hook", "Hook", "piece", 12, 100, None),
        MaterialLine("odd", "Odd", "g", None, 0, None),
    ]
    costs = [
        FlyCost("A", 1, 0.25, []),
        FlyCost("B", 12, 0.25, ["odd", "hook"]),
        FlyCost("C", 2, None, ["odd"]),
    ]
    text = make_list.lines(MakeList(lines, costs, []))
    assert text[-4:] == [
        "A, 1 fly: the materials of one fly cost 0.25.",
        "B, 12 flies: the materials of one fly cost 0.25, without odd and hook.",
        "C, 2 flies: what the materials cost is not known, as none has a price and a\npack.",
        "To be bought, as there is not enough: fur.",
    ]
