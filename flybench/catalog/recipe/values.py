"""The kinds of values in a recipe file: how each is read, written again, and described for the JSON Schema.

A value stands in the annotation of a record's field (``Annotated[float, Amount("...")]``), where pydantic finds it.
pydantic itself is loaded only when a recipe is read or the schema is made.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from enum import Enum
from typing import Any

from flybench.catalog.search.fields import Field, Noun
from flybench.catalog.shelf.values import read_value
from flybench.catalog.tables.base import CODE_LENGTH, NAME_LENGTH, NOTE_LENGTH
from flybench.catalog.tables.vocabulary import MaterialKind
from flybench.errors import BadValueError

Json = dict[str, Any]

SMALLEST_AMOUNT, LARGEST_AMOUNT = 1e-6, 1e9
"""Limits of an amount in a step, in the step's own unit; judgement: wider than anything that is tied."""
_LARGEST_WHOLE = 10**12
"""Whole numbers beyond this are refused before anything is done with them; judgement."""
_PRICE = r"^[0-9]{1,9}(?:\.[0-9]{1,2})?$"
_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r"}
_CODE_FORM: Json = {"type": "string", "minLength": 1, "maxLength": CODE_LENGTH, "pattern": r'^[^ ,:"/\\]+$'}
_AMOUNT_FORM: Json = {"type": "number", "minimum": SMALLEST_AMOUNT, "maximum": LARGEST_AMOUNT}


@dataclass(frozen=True)
class Value:
    """A text, and what all kinds of values share: a type that TOML gives, a meaning, reading, writing, a form."""

    what: str
    """What it means, for the schema and the documentation."""

    @property
    def meaning(self) -> str:
        """What it means and, where there are any, its limits."""
        return self.what

    @property
    def kind(self) -> str:
        """One of "text", "number", "count": what TOML must give."""
        return "text"

    @property
    def named(self) -> str:
        """The kind as messages name it."""
        return _TYPES[self.kind][1]

    def read(self, given: Any) -> Any:
        """Return the value of a record from what stands in the file; raises BadValueError."""
        return self.typed(given)

    def write(self, value: Any) -> str:
        """Return the value as TOML."""
        return as_toml(value)

    def form(self) -> Json:
        """Return the value's JSON Schema, without its description."""
        return {"type": "string"}

    def typed(self, given: Any) -> Any:
        """Return what stands in the file where it has the right type and a bearable size."""
        types, named, cure = _TYPES[self.kind]
        if isinstance(given, bool) or not isinstance(given, types):
            raise BadValueError("", f"{shown(given)} is not {named}", cure)
        if isinstance(given, int) and abs(given) > _LARGEST_WHOLE:
            raise BadValueError("", f"{shown(given)} is not possible", "Give a smaller number")
        return given

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        """Let pydantic read with ``read``; an error's place below the key, such as "[2]", goes along."""
        from pydantic_core import PydanticCustomError, core_schema  # only when recipes are read

        def checked(given: Any) -> Any:
            try:
                return self.read(given)
            except BadValueError as error:
                text = str(error).removeprefix(f"{error.key}: ")
                below = error.key if error.key.startswith("[") else ""
                raise PydanticCustomError("value", "{text}", {"text": text, "below": below}) from None

        return core_schema.no_info_plain_validator_function(checked)

    def __get_pydantic_json_schema__(self, source: Any, handler: Any) -> Json:
        """Give pydantic the form and the meaning."""
        return {**self.form(), "description": self.meaning}


_TYPES: Mapping[str, tuple[tuple[type, ...], str, str]] = {
    "number": ((int, float), "a number", "Write it without quotes, such as 2.5"),
    "count": ((int,), "a whole number", "Write it without quotes, such as 14"),
    "text": ((str,), "a text", 'Write it in "quotes"'),
}


@dataclass(frozen=True)
class Word(Value):
    """One word of a list."""

    words: type[Enum]

    def read(self, given: Any) -> Enum:
        """Return the word; upper case counts as another word."""
        return _word(self.words, self.typed(given))

    def form(self) -> Json:
        """Return the list of words."""
        return _word_form(self.words)


@dataclass(frozen=True)
class Amount(Value):
    """An amount in a step's unit; ``zero`` where it may be 0, which leaves the step out."""

    zero: bool = False

    @property
    def kind(self) -> str:
        """A bare number."""
        return "number"

    def read(self, given: Any) -> float:
        """Return the amount; NaN is outside the limits as well."""
        value = self.typed(given)
        if self.zero and value == 0:
            return 0.0
        if not SMALLEST_AMOUNT <= value <= LARGEST_AMOUNT:
            limits = f"{SMALLEST_AMOUNT:g} to {LARGEST_AMOUNT:g}"
            cure = f"Give 0, or {limits}" if self.zero else f"Give {limits}"
            raise BadValueError("", f"{shown(value)} is not possible", cure)
        return float(value)

    def form(self) -> Json:
        """Return the limits."""
        form = {"anyOf": [{"const": 0}, _AMOUNT_FORM]} if self.zero else dict(_AMOUNT_FORM)
        return {**form, "examples": [8]}


@dataclass(frozen=True)
class Position(Value):
    """The number of a step, counted from 1."""

    @property
    def kind(self) -> str:
        """A bare whole number."""
        return "count"

    def form(self) -> Json:
        """Return the limits."""
        return {"type": "integer", "minimum": 1, "examples": [4]}


@dataclass(frozen=True)
class Of(Value):
    """A field of the catalog: read and limited as the command line's value of that field is."""

    noun: Noun
    field_name: str

    @property
    def field(self) -> Field:
        """The field."""
        return self.noun.fields[self.field_name]

    @property
    def kind(self) -> str:
        """Numbers stand bare in the file, all else in quotes."""
        return self.field.kind if self.field.kind in ("number", "count") else "text"

    @property
    def kinds(self) -> tuple[Enum, ...]:
        """The kinds of material that it belongs to, as in the catalog."""
        return self.field.kinds

    @property
    def needed(self) -> bool:
        """True where a material of those kinds cannot do without it, as in the catalog."""
        return self.field.kinds_need_it

    def read(self, given: Any) -> Any:
        """Return the value as the catalog stores it."""
        if self.field.choices is not None:
            return _word(self.field.choices, self.typed(given))
        return read_value(self.field, unicodedata.normalize("NFC", str(self.typed(given))))

    def form(self) -> Json:
        """Return what the field allows."""
        if self.field.choices is not None:
            return _word_form(self.field.choices)
        return _FORMS.get(self.field.kind, _text_form)(self.field)


@dataclass(frozen=True)
class MaterialCode(Of):
    """The code of a material of the same file; ``leads_to`` is the kind it must have, None for any."""

    leads_to: MaterialKind | None = None

    def form(self) -> Json:
        """Return the form of a code."""
        return dict(_CODE_FORM)


@dataclass(frozen=True)
class VariantCode(Of):
    """The code of another variant of the same file."""

    def form(self) -> Json:
        """Return the form of a code."""
        return dict(_CODE_FORM)


@dataclass(frozen=True)
class About(Of):
    """One line of notes."""

    def read(self, given: Any) -> str:
        """Return the line without blanks at its ends."""
        text = str(super().read(given)).strip()
        if "\n" in text:
            raise BadValueError("", "runs over several lines", "Keep it to one; use pattern.notes for more")
        return text

    def form(self) -> Json:
        """Return the form of notes without a line's end."""
        return {**super().form(), "pattern": r"^[^\n]*$"}


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


def as_toml(value: Any) -> str:
    """Return a plain value as TOML: words and money in quotes, whole numbers without a point."""
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() else repr(value)
    if isinstance(value, int):
        return str(value)
    text = value.value if isinstance(value, Enum) else f"{value:.2f}" if isinstance(value, Decimal) else value
    return f'"{"".join(_ESCAPES.get(letter, letter) for letter in text)}"'


def _word(words: type[Enum], text: str) -> Enum:
    values = [str(word.value) for word in words]
    if text not in values:
        close = get_close_matches(text, values, n=1)
        cure = f"Did you mean {close[0]}?" if close else f"Use one of {', '.join(values)}"
        raise BadValueError("", f"{shown(text)} is not known", cure)
    return words(text)


def _word_form(words: type[Enum]) -> Json:
    return {"type": "string", "enum": [str(word.value) for word in words]}


def _text_form(field: Field) -> Json:
    if field.name == "code":
        return dict(_CODE_FORM)
    if field.name == "notes":
        return {"type": "string", "maxLength": NOTE_LENGTH}
    return {"type": "string", "minLength": 1, "maxLength": NAME_LENGTH}


def _count_form(field: Field) -> Json:
    return {
        "type": "integer",
        "minimum": int(field.low or 0),
        "maximum": int(field.high or 0),
        "examples": [14],
    }


_FORMS: Mapping[str, Callable[[Field], Json]] = {
    "count": _count_form,
    "number": lambda field: {**_AMOUNT_FORM, "examples": [25]},
    "money": lambda field: {"type": "string", "pattern": _PRICE, "examples": ["2.40"]},
}
