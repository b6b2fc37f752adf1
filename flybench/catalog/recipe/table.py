"""One table of a recipe file: its keys read one by one, each error with file, key and cure."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from enum import Enum
from typing import Any, TypeVar

from flybench.catalog.search.fields import Field
from flybench.catalog.shelf.values import read_value
from flybench.errors import BadValueError, FlybenchError

SMALLEST_AMOUNT, LARGEST_AMOUNT = 1e-6, 1e9
"""Limits of an amount in a step, in its own unit."""
_LARGEST_WHOLE = 10**12
_TYPES: Mapping[str, tuple[tuple[type, ...], str, str]] = {
    "number": ((int, float), "a number", "Write it bare, such as 2.5"),
    "count": ((int,), "a whole number", "Write it bare, such as 14"),
    "text": ((str,), "a text", 'Write it in "quotes"'),
}
Word = TypeVar("Word", bound=Enum)


class Table:
    """A table of the file and where it stands, such as ``catalog/xx.toml: variant[2]``."""

    def __init__(self, content: Mapping[str, Any], file: str, place: str) -> None:
        """Take the content; ``place`` is empty for the file as a whole."""
        self.content, self.file, self.place = content, file, place

    def key(self, name: str) -> str:
        """Return how messages name a key."""
        return f"{self.file}: {self.place}.{name}" if self.place else f"{self.file}: {name}"

    def bad(self, name: str, problem: str, cure: str) -> BadValueError:
        """Return the error about a key."""
        return BadValueError(self.key(name), problem, cure)

    def allow(self, names: Sequence[str]) -> None:
        """Refuse keys that do not belong here."""
        for name in self.content:
            if name not in names:
                close = get_close_matches(name, names, n=1)
                cure = f"Did you mean {close[0]}?" if close else f"Use {', '.join(names)}"
                raise self.bad(shown(name).strip('"'), "is not known", cure)

    def raw(self, name: str, kind: str, needed: bool = False) -> Any:
        """Return a value of the right type, or None where it is not there."""
        value = self.content.get(name)
        types, what, cure = _TYPES[kind]
        if value is None:
            if needed:
                raise self.bad(name, "is missing", f"Give it; it is {what}")
            return None
        if isinstance(value, bool) or not isinstance(value, types):
            raise self.bad(name, f"{shown(value)} is not {what}", cure)
        if isinstance(value, int) and abs(value) > _LARGEST_WHOLE:
            raise self.bad(name, f"{shown(value)} is not possible", "Give a smaller number")
        return value

    def value(self, name: str, field: Field, needed: bool = False) -> Any:
        """Return a value as the catalog stores that field."""
        kind = field.kind if field.kind in ("number", "count") else "text"
        value = self.raw(name, kind, needed)
        if value is None:
            return "" if field.name == "notes" else None
        text = unicodedata.normalize("NFC", str(value))
        if needed and not text.strip():
            raise self.bad(name, "is empty", f"{field.what}: give it a value")
        try:
            return read_value(field, text)
        except BadValueError as error:
            told = str(error).removeprefix(f"{error.key}: ")
            raise FlybenchError(f"{self.key(name)}: {told}") from error

    def word(self, name: str, words: type[Word], needed: bool = False) -> Word | None:
        """Return one of the words of a list."""
        value = self.raw(name, "text", needed)
        if value is None:
            return None
        values = [str(word.value) for word in words]
        if value not in values:
            close = get_close_matches(value, values, n=1)
            cure = f"Did you mean {close[0]}?" if close else f"Use one of {', '.join(values)}"
            raise self.bad(name, f"{shown(value)} is not known", cure)
        return words(value)

    def amount(self, name: str, zero: bool = False) -> float | None:
        """Return an amount above zero, or zero where that is allowed."""
        value = self.raw(name, "number")
        if value is None or (zero and value == 0):
            return None if value is None else 0.0
        if not SMALLEST_AMOUNT <= value <= LARGEST_AMOUNT:  # nor NaN
            low = "0, or " if zero else ""
            raise self.bad(
                name,
                f"{shown(value)} is not possible",
                f"Give {low}{SMALLEST_AMOUNT:g} to {LARGEST_AMOUNT:g}",
            )
        return float(value)

    def tables(self, name: str) -> list[Table]:
        """Return the tables written as [[name]], counted from 1."""
        place = f"{self.place}.{name}" if self.place else name
        value = self.content.get(name, [])
        if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
            raise self.bad(name, "is not a list of tables", f"Begin each with [[{plain(place)}]]")
        return [Table(one, self.file, f"{place}[{number}]") for number, one in enumerate(value, 1)]


def plain(place: str) -> str:
    """Return a place as the heading of its table."""
    return "".join(part.partition("]")[2] if "]" in part else part for part in place.split("["))


def shown(value: Any) -> str:
    """Return a value as a message shows it: short, on one line."""
    if isinstance(value, (list, dict)):
        return "a list" if isinstance(value, list) else "a table"
    try:
        text = str(value).lower() if isinstance(value, bool) else str(value)
    except ValueError:  # whole numbers of thousands of digits cannot be written out
        return "a huge number"
    text = "".join(letter if letter.isprintable() else "?" for letter in text[:60]) + "…" * (len(text) > 60)
    return f'"{text}"' if isinstance(value, str) else text
