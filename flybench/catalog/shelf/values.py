"""What a user writes for a field, checked and turned into what is stored."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from flybench.catalog.search.fields import Field, Noun
from flybench.catalog.search.select import choice_of, field_of
from flybench.catalog.tables.base import CODE_LENGTH, NAME_LENGTH, NOTE_LENGTH
from flybench.errors import BadValueError
from flybench.quantity import parse_with_uncertainty

_PLAIN = re.compile(r"[A-Za-z0-9._+-]+")
_MONEY_LIMIT = Decimal("1e9")
_COUNT_LIMIT = 1_000_000
_HAIR = 1e-12


def read_values(noun: Noun, given: Mapping[str, str]) -> dict[str, Any]:
    """Return stored values by field name; a quantity is (value, standard uncertainty or None), "" empties.

    Raises BadValueError naming the field for one that cannot be set and for a value it cannot have.
    """
    values: dict[str, Any] = {}
    for name, text in given.items():
        field = field_of(noun, name)
        if not field.settable:
            raise BadValueError(field.name, "is worked out, not given", f"{field.what}: leave it out")
        values[field.name] = read_value(field, text)
    return values


def read_value(field: Field, text: str) -> Any:
    """Return the stored form of one value; None where the text is empty and the field may be."""
    text = text.strip() if field.name != "notes" else text
    if not text:
        if field.needed:
            raise BadValueError(field.name, "is empty", f"{field.what}: give it a value")
        return "" if field.name == "notes" else None
    reader = _READERS.get(field.kind, _text)
    return reader(field, text)


def _text(field: Field, text: str) -> str:
    longest = {"code": CODE_LENGTH, "notes": NOTE_LENGTH}.get(field.name, NAME_LENGTH)
    longest = CODE_LENGTH if field.kind == "code" else longest
    if len(text) <= longest and _PLAIN.fullmatch(text):  # most of them; what follows is for the others
        return text
    if len(text) > longest:
        raise BadValueError(field.name, f"is {len(text)} letters long", f"Keep it to {longest}")
    allowed = "\n\t" if field.name == "notes" else ""
    for letter in text:
        if unicodedata.category(letter) in ("Cc", "Cs") and letter not in allowed:
            raise BadValueError(field.name, f"holds the control character {letter!r}", "Take it out")
    if (field.name == "code" or field.kind == "code") and any(mark in text for mark in ' ,:"/\\'):
        raise BadValueError(
            field.name, f'"{text}" holds a blank or one of , : " / \\', "Write it in one word, such as AB-12"
        )
    return unicodedata.normalize("NFC", text)


def _quantity(field: Field, text: str) -> tuple[float, float | None]:
    assert field.display is not None
    value, spread = parse_with_uncertainty(text, field.unit, field.name)
    check_limits(field, value, text)
    return value, spread


def check_limits(field: Field, value: float, text: str) -> None:
    """Refuse a value [SI] outside its field's limits, a hair of rounding aside; ``text`` is how it was written."""
    low, high, factor = field.low, field.high, field.display.factor if field.display else 1.0
    unit = f" {field.display.unit}" if field.display else ""
    slack = _HAIR * abs(value)
    if (low is not None and value + slack < low) or (high is not None and value - slack > high):
        limits = (
            f"{_end(low, factor)} to {_end(high, factor)}{unit}"
            if high is not None
            else f"{low:g} or more{unit}"
        )
        raise BadValueError(field.name, f"{text} is not possible", f"{field.what}: give {limits}")


def _end(value: float | None, factor: float) -> str:
    return "0" if value is None else f"{value / factor:g}"


def _count(field: Field, text: str) -> int:
    try:
        number = int(text)
    except ValueError:
        raise BadValueError(
            field.name, f'"{text}" is not a whole number', f"{field.what}: write it as 14"
        ) from None
    if abs(number) > _COUNT_LIMIT:
        raise BadValueError(field.name, f"{text} is not possible", f"Give at most {_COUNT_LIMIT}")
    check_limits(field, number, text)
    return number


def _number(field: Field, text: str) -> float:
    try:
        number = float(text)
    except ValueError:
        number = float("nan")
    if not abs(number) <= 1e9:
        raise BadValueError(field.name, f'"{text}" is not a number', f"{field.what}: write it as 25")
    check_limits(field, number, text)
    return number


def _money(field: Field, text: str) -> Decimal:
    try:
        amount = Decimal(text)
    except InvalidOperation:
        amount = Decimal("NaN")
    if not amount.is_finite() or not 0 <= amount < _MONEY_LIMIT or amount != round(amount, 2):
        raise BadValueError(field.name, f'"{text}" is not a price', "Write it as 2.40, zero or more")
    return amount.quantize(Decimal("0.01"))


def _date(field: Field, text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadValueError(field.name, f'"{text}" is not a date', "Write it as 2026-03-14") from None


_READERS: Mapping[str, Any] = {
    "quantity": _quantity,
    "count": _count,
    "number": _number,
    "money": _money,
    "date": _date,
    "choice": choice_of,
}
