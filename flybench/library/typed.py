"""What a caller may give for a quantity, a path or a list of points, turned into the texts that the jobs read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from os import PathLike
from pathlib import Path
from typing import Any

from flybench.errors import BadValueError

PathText = str | PathLike[str]
"""A path as text or as a path."""
Quantity = Any
"""A quantity as text with its unit ("18 degC", "480 mm +- 5 mm"), or one of pint, with or without its uncertainty."""
Points = str | Sequence[Sequence[float]]
"""Two pixels of the upright picture: [(120, 80), (120, 900)], or as the command takes them: "120,80 120,900"."""

_DEVIATION, _NOMINAL = "std_dev", "nominal_value"
"""What a number with an uncertainty calls its standard deviation and its value."""
_EXPANDED = 2.0
"""Coverage factor of what stands after "+-" in a text."""


def text_of(value: Quantity, name: str) -> str:
    """Return a quantity as the text that a command would be given.

    Texts are taken as they are. One of pint, of whatever registry, is written in its base units; where its number has an
    uncertainty, twice that goes after "+-". Raises BadValueError naming ``name`` for anything else, a bare number too:
    nobody can see its unit.
    """
    if isinstance(value, str):
        return value
    if hasattr(value, "to_base_units"):
        base = value.to_base_units()
        number, unit = base.magnitude, _unit(base)
        if hasattr(number, _DEVIATION):
            spread = _EXPANDED * getattr(number, _DEVIATION)
            return f"{getattr(number, _NOMINAL)!r} +- {spread!r} {unit}"
        return f"{float(number)!r} {unit}".strip()
    raise BadValueError(
        name, f"{value!r} has no unit", 'Give a text such as "18 degC" or "250 mm", or a quantity of pint.'
    )


def _unit(quantity: Any) -> str:
    """Return the base unit as the short list of units of the program spells it."""
    powers = sorted(dict(quantity.dimensionality).items(), key=lambda one: -one[1])
    up = "*".join(_power(name, power) for name, power in powers if power > 0)
    down = "".join(f"/{_power(name, -power)}" for name, power in powers if power < 0)
    return f"{up}{down}" if up else ("Hz" if down == "/s" else down)


_BASE = {"[length]": "m", "[mass]": "kg", "[time]": "s", "[temperature]": "K"}


def _power(dimension: str, power: float) -> str:
    name = _BASE.get(dimension, dimension)
    return name if power == 1 else f"{name}**{power:g}"


def texts_of(values: Mapping[str, Quantity | None]) -> dict[str, str]:
    """Return the quantities that were given, as texts by option name with hyphens."""
    return {
        name.replace("_", "-"): text_of(value, name) for name, value in values.items() if value is not None
    }


def points_of(points: Points | None) -> list[list[float]] | None:
    """Return two pixels as the sheet holds them; None stays None. Raises BadValueError for what are not two pixels."""
    if points is None:
        return None
    pairs = [pair.split(",") for pair in points.split()] if isinstance(points, str) else list(points)
    try:
        found = [[float(number) for number in pair] for pair in pairs]
    except (TypeError, ValueError):
        found = []
    if len(found) != 2 or any(len(pair) != 2 for pair in found):
        raise BadValueError(
            "points", f"{points!r} are not two pixels", "Give for example [(120, 80), (120, 900)]."
        )
    return found


def path_of(path: PathText) -> Path:
    """Return a path."""
    return Path(path)
