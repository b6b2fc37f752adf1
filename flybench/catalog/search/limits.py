"""Values in a query to limits in SI units; a number means what it says to its last written digit."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from flybench.catalog.search.fields import Field
from flybench.catalog.search.language import span_of
from flybench.errors import BadValueError
from flybench.quantity import parse
from flybench.units import QUANTITY

Limits = tuple[Any, Any, bool, bool]

_NUMBER = re.compile(r"[+-]?([0-9]+(\.[0-9]+)?|\.[0-9]+)")
EXACT = ("count", "money")
"""Kinds of field in which a number is meant exactly."""
_DATE = re.compile(r"(\d{4})(?:-(\d{1,2})(?:-(\d{1,2}))?)?")
_ROUNDING = 1e-9
"""Share of a value by which the end of a range is widened, so that rounding of floats excludes nothing (judgement)."""


def number_limits(field: Field, text: str) -> Limits:
    """Return low, high and whether each end is open, for a number field.

    2.8 means from 2.75 to below 2.85, 2.80 from 2.795 to below 2.805, with a unit and without one; without one it is in
    the field's own unit. Where the field has a step, no number is taken more coarsely than half of it to either side:
    a bead of 2 mm is from 1.95 to below 2.05 mm. Counts and money are meant exactly, and so are the ends of ranges.
    Raises BadValueError for what is not a number.
    """
    span = span_of(text)
    if span.same:
        return _around(field, span.low or "")
    low = None if span.low is None else _value(field, span.low)
    high = None if span.high is None else _value(field, span.high)
    if low is not None and high is not None and low > high:
        raise BadValueError(
            "query", f"{field.name}:{text} runs from high to low", "Write the lower end first"
        )
    return _widened(low, -1, span.low_open), _widened(high, +1, span.high_open), span.low_open, span.high_open


def ends_of_one(field: Field, text: str) -> tuple[float, float] | None:
    """Return from where to below where a single number reaches [SI unit]; None where it is meant exactly.

    Raises BadValueError for what is not a number.
    """
    if field.kind in EXACT:
        return None
    value, half = _value(field, text), _half_digit(field, text)
    return value - half, value + half


def _around(field: Field, text: str) -> Limits:
    """Return the limits of a single number: half of its last digit on either side, the upper end not in them."""
    ends = ends_of_one(field, text)
    if ends is None:
        value = _value(field, text)
        return value, value, False, False
    return _widened(ends[0], -1, False), _widened(ends[1], +1, True), False, True


def _widened(value: float | None, sign: int, is_open: bool) -> float | None:
    """Return an end moved by rounding alone, so that a value equal to it but for that counts as equal."""
    if value is None:
        return None
    return value + (-sign if is_open else sign) * abs(value) * _ROUNDING


def _value(field: Field, text: str) -> float:
    if _NUMBER.fullmatch(text):
        number = float(text)
        return number * field.display.factor if field.display else number
    if field.unit:
        example = field.display.example if field.display else None
        return parse(text, field.unit, field.name, example=example)
    raise BadValueError(
        field.name,
        f'"{text}" is not a number',
        f"Write it as {field.name}:14, {field.name}:12..16 or {field.name}:>12",
    )


def _half_digit(field: Field, text: str) -> float:
    """Return half of the last written digit, or half of the field's step where that is less, in SI units."""
    written = QUANTITY.fullmatch(text)
    assert written is not None  # ``_value`` has read it
    exponent = Decimal(written[1]).as_tuple().exponent
    assert isinstance(exponent, int)
    half = _value(field, f"{5 * Decimal(1).scaleb(exponent - 1):f} {written[2] or ''}".strip())
    return half if field.step is None else min(half, field.step / 2)


def day_limits(field: Field, text: str) -> Limits:
    """Return first and last moment of a day, month, year or span of them; 2026-03, 2026..2027, >2026-03-01."""
    span = span_of(text)
    low = None if span.low is None else _days(field, span.low)
    high = None if span.high is None else _days(field, span.high)
    first = None if low is None else (low[1] if span.low_open else low[0])
    last = None if high is None else (high[0] if span.high_open else high[1])
    return _moment(field, first), _moment(field, last), False, True


def _days(field: Field, text: str) -> tuple[date, date]:
    """Return the first day and the day after the last."""
    match = _DATE.fullmatch(text)
    try:
        if match is None:
            raise ValueError(text)
        year, month, day = (None if part is None else int(part) for part in match.groups())
        assert year is not None
        first = date(year, month or 1, day or 1)
        if day is not None:
            return first, first + timedelta(days=1)
        after = month or 12
        return first, date(year + after // 12, after % 12 + 1, 1)
    except (ValueError, OverflowError):
        raise BadValueError(
            field.name, f'"{text}" is not a date', "Write it as 2026-03-14, 2026-03 or 2026"
        ) from None


def _moment(field: Field, day: date | None) -> date | datetime | None:
    if day is None or field.kind == "date":
        return day
    return datetime.combine(day, time(), UTC)
