"""What a condition of a query wants of a field: alternatives, decimal commas and signs, by the kind of the field."""

from __future__ import annotations

import re

from flybench.catalog.search.fields import Field
from flybench.catalog.search.language import Term
from flybench.errors import BadValueError
from flybench.units import COMMA

NUMBERS = ("quantity", "number", "money")
"""Kinds of field whose numbers may have decimals, so that a comma within digits stands for a point."""
_THOUSAND = re.compile(r"[0-9],[0-9]{3}(?![0-9])")
_WITH_NOUGHT = re.compile(r"(?<![0-9])0,[0-9]{3}(?![0-9])")
_POINT = re.compile(r"[0-9]\.[0-9]")
_ONE_COMMA = re.compile(r"[^,]*,[^,]*")


def alternatives_of(field: Field, term: Term) -> list[str]:
    """Return what a condition wants of a field, one value each: decimal commas turned into points.

    Raises BadValueError for commas that may be meant in two ways, and for ``>`` and ``<`` of what has no order.
    """
    if field.kind in NUMBERS:
        return _numbers(term.key, ",".join(term.wanted))
    if field.kind in ("count", "date", "time"):
        return [text.strip() for text in term.wanted]
    if term.wanted[0][:1] in ("<", ">"):
        raise BadValueError(
            "query",
            f"{field.name} has no order, so {field.name}{term.wanted[0]} means nothing",
            f"Write {field.name}:VALUE",
        )
    sign = "=" if term.wanted[0].startswith("=") else ""
    return [sign + text.strip().removeprefix(sign).strip() for text in term.wanted]


def _numbers(key: str, text: str) -> list[str]:
    """Return the numbers or ranges of a value: a comma within a number is a decimal comma, else it parts alternatives."""
    if not COMMA.search(text):
        return [one.strip() for one in text.split(",")]
    if _THOUSAND.search(_WITH_NOUGHT.sub("", text)):
        raise _two_ways(key, text)
    if _POINT.search(text):
        return [one.strip() for one in text.split(",")]
    if all(_ONE_COMMA.fullmatch(end) or "," not in end for end in text.split("..")):
        return [COMMA.sub(".", text).strip()]
    raise _two_ways(key, text)


def _two_ways(key: str, text: str) -> BadValueError:
    return BadValueError(
        "query",
        f'the commas in "{key}:{text}" can be read in more than one way',
        f"Write numbers with a point, as in {key}:2.8, and put or between alternatives",
    )
