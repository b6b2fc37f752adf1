"""The diameter of a line as people write it: millimetres, inches, thousandths of an inch, X numbers."""

from __future__ import annotations

import re

from flybench.errors import BadValueError
from flybench.quantity import INCH, parse

THINNEST, THICKEST = 0.05e-3, 0.60e-3
"""Range of the diameter of leaders and tippets [m]: from the thinnest tippet to a butt (common practice, no source)."""
THOU = INCH / 1000
"""A thousandth of an inch [m], exact by definition."""
ELEVEN = 11
"""The rule of eleven: an X number and the diameter in thousandths of an inch make 11 (common practice, no source)."""

_X = re.compile(r"\s*([0-9]+)\s*[xX]\s*")
_THOU = re.compile(r"\s*([0-9]*\.?[0-9]+)\s*thou\s*")
_BARE = re.compile(r"\s*[0-9]*\.?[0-9]+\s*")


def parse_diameter(text: str, key: str = "diameter") -> float:
    """Return the diameter of a line [m] from "0.13 mm", "0.005 in", "5 thou" or "5X".

    Raises BadValueError for a bare number, for other text, and for what is no leader's diameter, with the unit
    that was likely meant.

    >>> round(parse_diameter("6X") * 1e6, 3)
    127.0
    """
    if match := _X.fullmatch(text):
        return _from_x(int(match[1]), text, key)
    if match := _THOU.fullmatch(text):
        return checked_diameter(float(match[1]) * THOU, key, text)
    if _BARE.fullmatch(text):
        cure = 'Write it with its unit, for example "0.15 mm", "0.006 in", "6 thou" or "5X".'
        raise BadValueError(key, f'"{text}" has no unit: it may be millimetres or inches', cure)
    return checked_diameter(parse(text, "m", key, example="0.15 mm"), key, text)


def checked_diameter(diameter: float, key: str = "diameter", text: str | None = None) -> float:
    """Return the diameter [m], or refuse one that no leader or tippet has."""
    if THINNEST <= diameter <= THICKEST:
        return diameter
    shown = f'"{text}"' if text else f"{diameter:g} m"
    problem = f"{shown} is {diameter * 1e3:.4g} mm, outside 0.05 to 0.6 mm"
    raise BadValueError(
        key, problem, _meant(diameter, text or "") or "Give the diameter of the leader or tippet."
    )


def _from_x(number: int, text: str, key: str) -> float:
    """Return the diameter of an X number [m]."""
    if number > 8:
        problem = f'"{text}" would be {ELEVEN - number} thousandths of an inch; X numbers go from 0X to 8X'
        raise BadValueError(key, problem, 'Give the diameter itself, for example "0.08 mm".')
    return (ELEVEN - number) * THOU


_MEANT = (
    ("in", "mm", 1e-3 / INCH),
    ("in", "thou", THOU / INCH),
    ("mm", "in", INCH / 1e-3),
    ("cm", "mm", 0.1),
    ("thou", "in", INCH / THOU),
    ("m", "mm", 1e-3),
)
"""Units that are mixed up: as written, as meant, and what that makes of the diameter."""


def _meant(diameter: float, text: str) -> str | None:
    """Return what may have been meant, where another unit would fit."""
    unit = text.strip().lstrip("0123456789. ")
    for written, meant, factor in _MEANT:
        if unit == written and THINNEST <= diameter * factor <= THICKEST:
            return f"Did you mean {meant} instead of {written}?"
    return None
