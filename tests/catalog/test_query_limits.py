"""Values of a query to limits: a number means what it says to its last digit, days and months are whole."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from flybench.catalog.search.language import Span, span_of
from flybench.catalog.search.limits import day_limits, number_limits
from flybench.catalog.search.materials import MATERIAL
from flybench.catalog.search.nouns import FLY, RUN
from flybench.errors import BadValueError

BEAD = FLY.fields["bead"]


def holds(text: str, millimetres: str) -> bool:
    """Return whether a bead of so many millimetres lies in the limits of a query's value."""
    low, high, low_open, high_open = number_limits(BEAD, text)
    value = float(millimetres) * 1e-3
    above = low is None or (value > low if low_open else value >= low)
    return above and (high is None or (value < high if high_open else value <= high))


@pytest.mark.parametrize(
    ("text", "inside", "outside"),
    [
        ("2.8", "2.75 2.7501 2.8 2.8499", "2.7499 2.85 2.8501 2.7 2.9"),
        ("2.80", "2.795 2.7951 2.8 2.8049", "2.7949 2.805 2.8051 2.75"),
        ("2.800", "2.7995 2.8 2.8004", "2.7994 2.8005"),
        ("3", "2.95 3 3.0499", "2.9499 3.05 2.8 3.3"),
        ("2", "1.95 2.0499", "1.9499 2.05 2.4"),
        (".5", "0.45 0.5 0.5499", "0.4499 0.55"),
        ("+2.8", "2.75", "2.85"),
        ("=2.8", "2.75 2.8499", "2.7499 2.85"),
        ("2.8mm", "2.75 2.7501 2.8 2.8499", "2.7499 2.85 2.8501"),
        ("2.8 mm", "2.75 2.7501 2.8 2.8499", "2.7499 2.85 2.8501"),
        ("2.80mm", "2.795 2.8049", "2.7949 2.805"),
        ("=0.28cm", "2.75 2.8499", "2.7499 2.85"),
        ("0.3cm", "2.95 3 3.0499", "2.9499 3.05"),
        ("3mm", "2.95 3 3.0499", "2.9499 3.05"),
        ("0.110in", "2.7813 2.8066", "2.7812 2.8068"),
        (">2.8", "2.8001", "2.8 2.7999"),
        (">=2.8", "2.8 2.8001", "2.7999"),
        ("<2.8", "2.7999", "2.8 2.8001"),
        ("<=2.8", "2.8 2.7999", "2.8001"),
        ("2.4..2.8", "2.4 2.8", "2.3999 2.8001"),
        ("2.8..2.8", "2.8", "2.7999 2.8001"),
        ("2.4..", "2.4 9", "2.3999"),
        ("..2.4", "0 2.4", "2.4001"),
    ],
)
def test_edges_by_the_digits_typed(text: str, inside: str, outside: str) -> None:
    assert [value for value in inside.split() if not holds(text, value)] == []
    assert [value for value in outside.split() if holds(text, value)] == []


@pytest.mark.parametrize("tenths", range(1, 120))
def test_every_half_belongs_to_one_neighbour_only(tenths: int) -> None:
    """x.x5 mm rounds up: neither to both neighbours nor to none, whatever binary makes of it."""
    half = f"{Decimal(tenths) / 10 + Decimal('0.05'):.2f}"
    assert not holds(f"{Decimal(tenths) / 10:.1f}", half)
    assert holds(f"{Decimal(tenths + 1) / 10:.1f}", half)


@pytest.mark.parametrize("text", [">2.8", "<2.8"])
def test_rounding_of_floats_excludes_and_includes_nothing(text: str) -> None:
    low, high, *_ = number_limits(BEAD, text)
    end = low if high is None else high
    assert end != 2.8e-3
    assert end == pytest.approx(2.8e-3, rel=1.01e-9)
    assert not holds(text, "2.8000000001") and not holds(text, "2.7999999999")  # 4e-11 of it
    assert holds(text, "2.80000001" if text == ">2.8" else "2.79999999")  # 4e-9 of it


def test_counts_and_money_are_meant_exactly() -> None:
    assert number_limits(FLY.fields["hook"], "14") == (14, 14, False, False)
    assert number_limits(FLY.fields["price"], "2.4") == (2.4, 2.4, False, False)
    assert number_limits(FLY.fields["hook"], "=14") == (14, 14, False, False)
    low, high, low_open, high_open = number_limits(FLY.fields["hook"], ">14")
    assert (low, high, low_open, high_open) == (pytest.approx(14), None, True, False)
    assert number_limits(MATERIAL.fields["stock"], "2.5")[:2] == pytest.approx((2.45, 2.55))
    assert number_limits(MATERIAL.fields["stock"], "2")[:2] == pytest.approx((1.95, 2.05))


@pytest.mark.parametrize(
    ("name", "text", "low", "high"),
    [
        ("sink", "28", 0.275, 0.285),
        ("sink", "28cm/s", 0.275, 0.285),
        ("sink", "28.0cm/s", 0.2795, 0.2805),
        ("sink", "0.28m/s", 0.275, 0.285),
        ("mass", "0.2g", 150e-6, 250e-6),
        ("mass", "0.21 g", 205e-6, 215e-6),
        ("mass", "210", 209.5e-6, 210.5e-6),
    ],
)
def test_a_unit_changes_nothing_about_the_digits(name: str, text: str, low: float, high: float) -> None:
    assert number_limits(FLY.fields[name], text) == (pytest.approx(low), pytest.approx(high), False, True)


@pytest.mark.parametrize(
    ("name", "text", "message"),
    [
        ("bead", "2.9..2.8", "query: bead:2.9..2.8 runs from high to low. Write the lower end first."),
        ("hook", "1x", 'hook: "1x" is not a number. Write it as hook:14, hook:12..16 or hook:>12.'),
        ("hook", "", 'hook: "" is not a number. Write it as hook:14, hook:12..16 or hook:>12.'),
        ("tied", "26-03", 'tied: "26-03" is not a date. Write it as 2026-03-14, 2026-03 or 2026.'),
        ("tied", "0000", 'tied: "0000" is not a date. Write it as 2026-03-14, 2026-03 or 2026.'),
        ("tied", "9999-12-31", 'tied: "9999-12-31" is not a date. Write it as 2026-03-14, 2026-03 or 2026.'),
    ],
)
def test_values_that_are_none(name: str, text: str, message: str) -> None:
    read = day_limits if name == "tied" else number_limits
    with pytest.raises(BadValueError) as refused:
        read(FLY.fields[name], text)
    assert str(refused.value) == message


@pytest.mark.parametrize(
    ("text", "first", "after"),
    [
        ("2026-03-14", date(2026, 3, 14), date(2026, 3, 15)),
        ("2026-3-4", date(2026, 3, 4), date(2026, 3, 5)),
        ("2026-02", date(2026, 2, 1), date(2026, 3, 1)),
        ("2026-11", date(2026, 11, 1), date(2026, 12, 1)),
        ("2026-12", date(2026, 12, 1), date(2027, 1, 1)),
        ("2026", date(2026, 1, 1), date(2027, 1, 1)),
        (">2026-03", date(2026, 4, 1), None),
        (">=2026-03", date(2026, 3, 1), None),
        ("<2026-03", None, date(2026, 3, 1)),
        ("<=2026-03", None, date(2026, 4, 1)),
        ("2026-03..2026-05", date(2026, 3, 1), date(2026, 6, 1)),
        ("..2025", None, date(2026, 1, 1)),
        ("2026..", date(2026, 1, 1), None),
    ],
)
def test_days_months_and_years(text: str, first: date | None, after: date | None) -> None:
    assert day_limits(FLY.fields["tied"], text) == (first, after, False, True)
    moments = [
        None if day is None else datetime(day.year, day.month, day.day, tzinfo=UTC) for day in (first, after)
    ]
    assert day_limits(RUN.fields["when"], text) == (*moments, False, True)


@pytest.mark.parametrize(
    ("text", "span"),
    [
        ("14", Span("14", "14", same=True)),
        ("=14", Span("14", "14", same=True)),
        ("25..35", Span("25", "35")),
        ("25 .. 35", Span("25", "35")),
        ("25..", Span("25", None)),
        ("..35", Span(None, "35")),
        (">25", Span("25", None, low_open=True)),
        (">=25", Span("25", None)),
        ("<25", Span(None, "25", high_open=True)),
        ("<= 25", Span(None, "25")),
        ("1..2..3", Span("1", "2..3")),
    ],
)
def test_spans(text: str, span: Span) -> None:
    assert span_of(text) == span
