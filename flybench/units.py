"""Units as users write them: which are known, what each measures, and what a number is in another one."""

from __future__ import annotations

import math
import re
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pint

NUMBER = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_NAME = r"[A-Za-zµμ°%]+(?:(?:\*\*|\^)?[23]|[²³])?"
QUANTITY = re.compile(rf"\s*({NUMBER})\s*({_NAME}(?:\s*[*/·]\s*{_NAME})*)?\s*")
"""A number, and its unit where there is one."""
_POWER = re.compile(r"(?<=[A-Za-zµμ])\^?([23])")
SPREAD = re.compile(r"±|\+/?-")
"""What stands between a value and its uncertainty."""
COMMA = re.compile(r"(?<=[0-9]),(?=[0-9])")
"""A comma inside a number."""
_SPOKEN_DEGREE = re.compile(r"\s*(?:deg(?:rees?)?|[°º])?\s*(?:([CcKk])(?:elsius)?|([Ff])(?:ahrenheit)?)\s*")


def written_unit(text: str, unit: str) -> str:
    """Return the unit in which a text was typed, the value's own or else that of its uncertainty."""
    matches = [QUANTITY.fullmatch(part) for part in SPREAD.split(text)]
    names = [match[2] for match in matches if match is not None and match[2]]
    return names[0] if names else "" if unit == "1" else unit


def from_si(value: float, written: str, unit: str) -> float:
    """Return an SI value in the unit typed."""
    if not written:
        return value
    return float(registry().Quantity(value, si_unit(unit)).to(known_unit(written)).magnitude)


def without_comma(text: str) -> str:
    """Return how to write a number that was typed with a comma, which may stand for a point or for thousands."""
    pointed = COMMA.sub(".", text)
    if re.search(r",[0-9]{3}(?![0-9])", text):
        return f'Write "{COMMA.sub("", text)}", or "{pointed}" with a decimal point.'
    return f'Write "{pointed}", with a decimal point.'


def outside(typed: str, text: str, unit: str, low: float, high: float) -> str:
    """Return in words, in the unit typed, which limit a value misses; a limit that is not finite is left out."""
    written = written_unit(text, unit)
    shown = typed if written_unit(typed, unit) == written else f"{typed} {written}"
    least = short_number(from_si(low, written, unit), up=True) if math.isfinite(low) else ""
    most = short_number(from_si(high, written, unit), up=False) if math.isfinite(high) else ""
    return beyond(shown, least, most, written)


def beyond(shown: str, least: str, most: str, unit: str) -> str:
    """Return in words which limit a value misses; an empty one is none."""
    if least and most:
        return f"{shown} is outside {least} to {most} {unit}".rstrip()
    return (
        f"{shown} is below {least} {unit}".rstrip() if least else f"{shown} is above {most} {unit}".rstrip()
    )


def short_number(value: float, up: bool | None = None) -> str:
    """Return a number in at most four digits, without an exponent; a limit is rounded towards the inside."""
    exact = Decimal(f"{value:.9g}")  # what lies beyond is the noise of converting
    if exact == 0:
        return "0"
    rounding = {None: ROUND_HALF_EVEN, True: ROUND_CEILING, False: ROUND_FLOOR}[up]
    short = exact.quantize(Decimal(1).scaleb(min(exact.adjusted() - 3, 0)), rounding)
    return f"{short.normalize():f}"


def si_unit(unit: str) -> pint.Unit:
    """Return one of the SI units that ``parse`` knows."""
    return registry().Unit("dimensionless" if unit == "1" else unit)


def degree_meant(part: str) -> str | None:
    """Return "18 degC" for "18 C", "18 deg C", "18 Celsius" and the like; None for anything else."""
    number = re.match(rf"\s*({NUMBER})", part)
    if number is None:
        return None
    named = _SPOKEN_DEGREE.fullmatch(part[number.end() :])
    if named is None:
        return None
    letter = "F" if named[2] else named[1].upper()
    return f"{number[1]} {'K' if letter == 'K' else 'deg' + letter}"


_PLAIN = {
    ("mm", "m"): 1e-3, ("cm", "m"): 1e-2, ("m", "m"): 1.0, ("ms", "s"): 1e-3, ("s", "s"): 1.0, ("Hz", "Hz"): 1.0,
    ("mg", "kg"): 1e-6, ("g", "kg"): 1e-3, ("degC", "K"): 1.0, ("K", "K"): 1.0, ("", "1"): 1.0,
}  # fmt: skip
"""How many of the SI unit one of the usual units is: to load pint for these took as long as the start of all else."""
_ZERO = {("degC", "K"): 273.15}
"""What is added then."""


def plainly_in_si(number: float, written: str, unit: str) -> float | None:
    """Return so many of one of the usual units in the SI ``unit``, None for a unit that has to be looked up.

    >>> plainly_in_si(18.0, "degC", "K")
    291.15
    """
    factor = _PLAIN.get((written, unit))
    return None if factor is None else number * factor + _ZERO.get((written, unit), 0.0)


@lru_cache(256)
def known_unit(written: str) -> pint.Unit | None:
    """Return the unit as the registry knows it; None for what is no unit."""
    from pint.errors import PintError

    if written and QUANTITY.fullmatch(f"1 {written}") is None:
        return None
    try:
        return registry().parse_units(_POWER.sub(r"**\1", written))
    except (PintError, ValueError):  # the latter for "nan", which pint takes for a number
        return None


KINDS = {
    "m": ("a length", "620 mm"),
    "m**3": ("a volume", "22 mm**3"),
    "s": ("a time", "8 ms"),
    "Hz": ("a rate", "240 Hz"),
    "K": ("a temperature", "18 degC"),
    "kg": ("a mass", "0.21 g"),
    "m/s": ("a speed", "31 cm/s"),
    "kg/m**3": ("a density", "8500 kg/m**3"),
    "kg/kg": ("a mass share", "35 g/kg"),
    "N": ("a force", "2.0 mN"),
    "1": ("a plain number", "0.6"),
}
"""What a quantity in each SI unit is called, and one as a user may write it."""

_DEFINITIONS = """
micro- = 1e-6 = µ- = μ- = u-
milli- = 1e-3 = m-
centi- = 1e-2 = c-
deci- = 1e-1 = d-
kilo- = 1e3 = k-
meter = [length] = m = metre
second = [time] = s = sec
gram = [mass] = g
kelvin = [temperature]; offset: 0 = K = degK
degree_Celsius = kelvin; offset: 273.15 = °C = celsius = degC = degreeC
degree_Fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9 = °F = fahrenheit = degF = degreeF
minute = 60 * second = min
hour = 60 * minute = h
inch = 0.0254 * meter = in = inches
foot = 12 * inch = ft = feet
liter = 1e-3 * m ** 3 = l = L = litre
hertz = 1 / second = Hz
fps = 1 / second
newton = kilogram * meter / second ** 2 = N
grain = 64.79891 * milligram = gr
ounce = 28.349523125 * gram = oz
pound = 0.45359237 * kilogram = lb
percent = 0.01 = %
"""
"""The units of bench, scales and rulers; exact by definition (NIST SP 811). pint's own list of a thousand
takes a quarter of a second to read, and knows fps as feet."""


@cache
def registry() -> pint.UnitRegistry[Any]:
    """Return the unit registry, made once."""
    import pint

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(None)
    registry.load_definitions(_DEFINITIONS.strip().splitlines())
    return registry


def unit_pattern(unit: str) -> str:
    """Return a regular expression for units that are read as a quantity in the SI ``unit``: "m", "kg", "kg/m**3"."""
    if unit == "kg/m**3":
        cubed = rf"(?:{unit_pattern('m')})(?:(?:\*\*|\^)?3|³)"
        return rf"(?:{unit_pattern('kg')}) ?/ ?(?:{cubed}|{unit_pattern('m**3')})"
    prefixes, names = _prefixes(), names_of(unit)
    plural = [rf"{name}s?" if len(name) > 1 else name for name in names]
    return rf"(?:{'|'.join(prefixes)})?(?:{'|'.join(plural)})"


def names_of(unit: str) -> list[str]:
    """Return the names, without a prefix, of all units that measure the same as the SI ``unit``."""
    wanted = si_unit(unit).dimensionality
    named = [_names(line) for line in _DEFINITIONS.strip().splitlines()]
    return [
        name
        for names in named
        if not names[0].endswith("-") and registry().Unit(names[0]).dimensionality == wanted
        for name in names
    ]


def _prefixes() -> list[str]:
    """Return what may stand before the name of a unit."""
    named = [_names(line) for line in _DEFINITIONS.strip().splitlines()]
    return [name.removesuffix("-") for names in named for name in names if name.endswith("-")]


def _names(line: str) -> list[str]:
    """Return all names that a line of the definitions gives; what comes second is what they mean."""
    name, _, *others = (part.strip() for part in line.split("="))
    return [name, *others]
