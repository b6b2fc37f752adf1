"""What a user writes for a field, checked and turned into what is stored."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from flybench.catalog.search.fields import Field, Noun
from flybench.catalog.search.select import choice_of, field_of
from flybench.catalog.tables.base import CODE_LENGTH, NAME_LENGTH, NOTE_LENGTH
from flybench.errors import BadValueError
from flybench.quantity import parse, parse_with_uncertainty
from flybench.units import NUMBER, QUANTITY, SPREAD, beyond, outside, written_unit

_PLAIN = re.compile(r"[A-Za-z0-9._+-]+")
_COMMA = re.compile(r"[+-]?\d+,\d+")
_WHOLE = re.compile(r"[+-]?[0-9]+")
_PRICE_WITH_MORE = re.compile(r"[^0-9]{0,8}?([0-9]+(?:[.,][0-9]{1,2})?)[^0-9]{0,8}")
_JOINERS = "\u200c\u200d"
"""Signs without a width that some scripts cannot be written without (the Unicode Standard, section 23.2)."""
_NUMBER = re.compile(NUMBER)
_LONGEST_NUMBER = 20
"""Letters of a whole number (judgement: far beyond any limit)."""
_LONGEST_SCANNED = 500
"""Letters of what a scanner types in the place of the code of another thing (judgement: an address and a few fields)."""
_MONEY_LIMIT = Decimal("1e9")
"""Prices below this [currency of the catalog] (judgement; the column holds ten times as much)."""
_COUNT_LIMIT = 1_000_000
"""Most of anything counted (judgement)."""
_NUMBER_LIMIT = 1e9
"""Largest plain number (judgement)."""
_ROUNDING = 1e-12
"""Share of a value by which it may miss a limit for the rounding of floats alone (judgement: 4000 last bits)."""


def read_values(noun: Noun, given: Mapping[str, str]) -> dict[str, Any]:
    """Return stored values by field name; a quantity is (value, standard uncertainty or None), "" empties.

    Raises BadValueError naming the field for one that cannot be set and for a value it cannot have.
    """
    values: dict[str, Any] = {}
    for name, text in given.items():
        field = field_of(noun, name)
        if not field.settable:
            raise BadValueError(field.name, "is worked out by flybench", "Leave it out")
        values[field.name] = read_value(field, text)
    return values


def read_value(field: Field, text: str) -> Any:
    """Return the stored form of one value; None where the text is empty and the field may be."""
    text = text.strip() if field.name != "notes" else text
    if not text:
        if field.needed:
            raise BadValueError(field.name, "is empty", "Give it a value; it cannot be without one")
        return "" if field.name == "notes" else None
    reader = _READERS.get(field.kind, _text)
    return reader(field, text)


def _text(field: Field, text: str) -> str:
    longest = {"code": CODE_LENGTH, "notes": NOTE_LENGTH}.get(field.name, NAME_LENGTH)
    longest = _LONGEST_SCANNED if field.kind == "code" else longest
    if len(text) <= longest and _PLAIN.fullmatch(text):  # most of them; what follows is for the others
        return text
    if len(text) > longest:
        raise BadValueError(field.name, f"is {len(text)} letters long", f"Use at most {longest} letters")
    allowed = "\n\t" if field.name == "notes" else ""
    kinds = ("Cc", "Cs") if field.name == "notes" else ("Cc", "Cs", "Cf", "Zl", "Zp")
    for letter in text:
        if unicodedata.category(letter) in kinds and letter not in allowed + _JOINERS:
            shown = repr(letter) if unicodedata.category(letter) == "Cc" else f"U+{ord(letter):04X}"
            raise BadValueError(field.name, f"has the control character {shown} in it", "Take it out")
    if field.name == "code" and any(mark in text for mark in ' ,:"/\\'):
        raise BadValueError(
            field.name,
            f'"{text}" has a blank or one of , : " / \\ in it',
            "Write it as one word, such as AB-12",
        )
    return unicodedata.normalize("NFC", text)


def _quantity(field: Field, text: str) -> tuple[float, float | None]:
    assert field.display is not None
    example = field.display.example
    if field.plus_minus:
        value, spread = parse_with_uncertainty(text, field.unit, field.name, example=example)
    else:  # an uncertainty would not be kept, so it is refused
        value, spread = parse(text, field.unit, field.name, example=example), None
    check_limits(field, value, text)
    return value, spread


def check_limits(field: Field, value: float, text: str) -> None:
    """Refuse a value [SI] outside its field's limits, rounding of floats aside; ``text`` is how it was written.

    Raises BadValueError with the limits in the unit that was written, or the field's own where none was.
    """
    low, high = _limit(field.low, -math.inf), _limit(field.high, math.inf)
    slack = _ROUNDING * abs(value)
    if low <= value + slack and value - slack <= high:
        return
    shown, unit = SPREAD.split(text)[0].strip(), field.display.unit if field.display else ""
    if field.display and QUANTITY.fullmatch(shown) and written_unit(text, "1"):
        problem = outside(shown, text, field.unit, low, high)
    else:
        factor = field.display.factor if field.display else 1.0
        ends = [f"{end / factor:.6g}" if math.isfinite(end) else "" for end in (low, high)]
        problem = beyond(f"{shown} {unit}".strip(), ends[0], ends[1], unit)
    raise BadValueError(field.name, problem, "Check the number and its unit" if unit else "Check the number")


def _limit(value: float | None, none: float) -> float:
    return none if value is None else value


def _count(field: Field, text: str) -> int:
    if not _WHOLE.fullmatch(text) or len(text) > _LONGEST_NUMBER:
        raise BadValueError(field.name, f'"{text}" is not a whole number', "Write it as 14")
    number = int(text)
    if abs(number) > _COUNT_LIMIT:
        raise BadValueError(field.name, f"{text} is not possible", f"Give a number up to {_COUNT_LIMIT}")
    check_limits(field, number, text)
    return number


def _number(field: Field, text: str) -> float:
    number = plain_number(text)
    if not abs(number) <= _NUMBER_LIMIT:
        raise BadValueError(field.name, f'"{text}" is not a number', f"Write it as 25{decimal_comma(text)}")
    check_limits(field, number, text)
    return number


def plain_number(text: str) -> float:
    """Return a number written with digits, a point and an exponent alone; nan for anything else, such as 4_00."""
    return float(text) if _NUMBER.fullmatch(text.strip()) else math.nan


def decimal_comma(text: str) -> str:
    """Return a hint where a decimal comma was written, else nothing."""
    return f"; write {text.strip().replace(',', '.')} with a point" if _COMMA.fullmatch(text.strip()) else ""


def _money(field: Field, text: str) -> Decimal:
    amount = Decimal(text) if _NUMBER.fullmatch(text) else Decimal("NaN")
    if not amount.is_finite() or not 0 <= amount < _MONEY_LIMIT or amount != round(amount, 2):
        raise BadValueError(field.name, f'"{text}" is not a price', _how_to_write_a_price(text))
    return amount.quantize(Decimal("0.01"))


def _how_to_write_a_price(text: str) -> str:
    """Return a cure: what is written with a currency or a comma as it should be."""
    found = _PRICE_WITH_MORE.fullmatch(text)
    if found is None or _COMMA.fullmatch(text) or "-" in text or "_" in text:
        return f"Write it as 2.40, zero or more{decimal_comma(text)}"
    point = " and with a point" if "," in found[1] else ""
    return f"Write it as {found[1].replace(',', '.')}, without a currency{point}"


def _date(field: Field, text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadValueError(
            field.name, f'"{text}" is not a date', "Write it as year-month-day, such as 2026-03-14"
        ) from None


_READERS: Mapping[str, Any] = {
    "quantity": _quantity,
    "count": _count,
    "number": _number,
    "money": _money,
    "date": _date,
    "choice": choice_of,
}
