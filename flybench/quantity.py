"""Measured values: units in and out at the edge, ranges, rounding.

Inside, every number is in SI base units (kelvin, metre, kilogram, second; salinity kg/kg). Wherever
the user reads or writes "±", it is the expanded uncertainty with coverage factor k = 2; inside, only
standard uncertainties are carried.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal, localcontext
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from flybench.errors import BadValueError

if TYPE_CHECKING:
    import pint

COVERAGE_FACTOR = 2.0
"""Expanded over standard uncertainty, wherever "±" is read or written."""
INCH = 0.0254
"""One inch [m], exact by definition."""

_KINDS = {
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
_NUMBER = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_NAME = r"[A-Za-zµμ°%]+(?:(?:\*\*|\^)?[23]|[²³])?"
_QUANTITY = re.compile(rf"\s*({_NUMBER})\s*({_NAME}(?:\s*[*/·]\s*{_NAME})*)?\s*")
_POWER = re.compile(r"(?<=[A-Za-zµμ])\^?([23])")
_SPREAD = re.compile(r"±|\+/?-")

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Measured:
    """A value with its standard uncertainty, both in the same SI unit."""

    value: float
    standard_uncertainty: float

    def __post_init__(self) -> None:
        """Refuse an uncertainty that is negative or not a number."""
        if not self.standard_uncertainty >= 0:
            problem = f"{self.standard_uncertainty:g} cannot be an uncertainty"
            raise BadValueError("uncertainty", problem, "Give zero or more.")

    @property
    def expanded(self) -> float:
        """Expanded uncertainty, k = 2: the number that stands after "±"."""
        return COVERAGE_FACTOR * self.standard_uncertainty


def inside(key: str, value: ArrayLike, low: float, high: float, unit: str, cure: str) -> Floats:
    """Return ``value`` as floats, or refuse the first one that is not from ``low`` to ``high``."""
    values = np.asarray(value, dtype=float)
    good = (values >= low) & (values <= high)
    if not np.all(good):
        problem = f"{values[~good].flat[0]:.6g} is outside {low:.6g} to {high:.6g} {unit}".rstrip()
        raise BadValueError(key, problem, cure)
    return values


def parse(text: str, unit: str, key: str) -> float:
    """Return what the user wrote, with its unit, in the SI ``unit``.

    Parameters: text, such as "620 mm"; unit, one of "m", "m**3", "s", "Hz", "K", "kg", "m/s",
    "kg/m**3", "kg/kg", "N", "1"; key, the sheet key or option an error names. Only "1" may be bare.
    Returns: value [unit].

    >>> parse("620 mm", "m", "camera.distance")
    0.62
    """
    number, written = _read(text, text, unit, key)
    return _convert(number, written, text, unit, key)


def parse_with_uncertainty(text: str, unit: str, key: str) -> tuple[float, float | None]:
    """Return the value and the STANDARD uncertainty in the SI ``unit``; None where none is given.

    "620 mm +- 5 mm", "620 +- 5 mm", and ± for +-: the number after it is the expanded uncertainty
    (k = 2), so half of it is returned. One of a temperature is a difference: "18 degC +- 1 degC"
    gives 0.5 K.
    """
    value_text, *spread_texts = _SPREAD.split(text)
    if not spread_texts:
        return parse(text, unit, key), None
    if len(spread_texts) > 1:
        raise _bad(key, f'"{text}" has more than one uncertainty', unit)
    number, written = _read(value_text, text, unit, key)
    spread, spread_unit = _read(spread_texts[0], text, unit, key)
    if spread < 0:
        raise _bad(key, f'"{text}" has a negative uncertainty', unit)
    value = _convert(number, written or spread_unit, text, unit, key)
    expanded = _convert(spread, spread_unit, text, unit, key) - _convert(0.0, spread_unit, text, unit, key)
    return value, expanded / COVERAGE_FACTOR


def rounded(value: float, uncertainty: float) -> tuple[str, str]:
    """Return value and uncertainty as text, rounded to the place the uncertainty deserves.

    Two significant digits where the uncertainty begins with 1 or 2, else one. Rounding never lowers
    the uncertainty by more than 5 %: it is rounded up then. The value ends at the same place.
    Range: finite numbers, uncertainty above zero.
    Reference: JCGM 100:2008 (GUM), 7.2.6.

    >>> rounded(31.4159, 0.4321)
    ('31.4', '0.5')
    """
    if not (math.isfinite(value) and math.isfinite(uncertainty) and uncertainty > 0):
        problem = f"cannot round {value:g} with the uncertainty {uncertainty:g}"
        raise BadValueError("uncertainty", problem, "Give finite numbers, the uncertainty above zero.")
    exact = Decimal(repr(float(uncertainty)))
    with localcontext(prec=1400):  # enough for the largest over the smallest float
        step = _last_place(exact)
        short = exact.quantize(step)
        if short < exact * Decimal("0.95"):
            short += step
        whole = Decimal(repr(float(value))).quantize(_last_place(short)) + 0
        return f"{whole:f}", f"{short.quantize(_last_place(short)):f}"


def speed_text(value_m_s: float, expanded_m_s: float) -> str:
    """Return a speed as the user reads it, in cm/s and in/s; both arguments in m/s, k = 2.

    >>> speed_text(0.314, 0.004)
    '31.4 ± 0.4 cm/s (12.36 ± 0.16 in/s)'
    """
    metric = rounded(value_m_s * 100, expanded_m_s * 100)
    imperial = rounded(value_m_s / INCH, expanded_m_s / INCH)
    return f"{metric[0]} ± {metric[1]} cm/s ({imperial[0]} ± {imperial[1]} in/s)"


def _last_place(uncertainty: Decimal) -> Decimal:
    """Return one unit of the last digit to keep."""
    leading = uncertainty.adjusted()
    two_digits = uncertainty.scaleb(-leading) < Decimal("2.95")
    return Decimal(1).scaleb(leading - two_digits)


def _bad(key: str, problem: str, unit: str) -> BadValueError:
    """Return the error that shows how to write such a quantity."""
    example = _KINDS[unit][1]
    with_unit = "it as" if unit == "1" else "it with its unit, for example"
    return BadValueError(key, problem, f'Write {with_unit} "{example}".')


def _read(part: str, text: str, unit: str, key: str) -> tuple[float, str]:
    """Return the number and the unit as written, which may be empty."""
    if not part.strip():
        raise _bad(key, "is empty" if part == text else f'"{text}" lacks a number', unit)
    match = _QUANTITY.fullmatch(part)
    if match is None:
        raise _bad(key, f'"{text}" is not {_KINDS[unit][0]}', unit)
    return float(match[1]), match[2] or ""


def _convert(number: float, written: str, text: str, unit: str, key: str) -> float:
    """Return ``number`` of the ``written`` unit in SI."""
    if not written and unit != "1":
        raise _bad(key, f'"{text}" has no unit', unit)
    registry = _registry()
    value = registry.Quantity(number, _unit(written, text, unit, key))
    target = registry.Unit("dimensionless" if unit == "1" else unit)
    if value.dimensionality != target.dimensionality:
        raise _bad(key, f'"{text}" is not {_KINDS[unit][0]}', unit)
    si = float(value.to(target).magnitude)
    if not math.isfinite(si):
        raise _bad(key, f'"{text}" is not a finite number', unit)
    return si


def _unit(written: str, text: str, unit: str, key: str) -> pint.Unit:
    """Return the unit as the registry knows it."""
    from pint.errors import PintError

    try:
        return _registry().parse_units(_POWER.sub(r"**\1", written.replace("**", "^")))
    except PintError:
        raise _bad(key, f'"{text}" has the unknown unit "{written}"', unit) from None


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
def _registry() -> pint.UnitRegistry[Any]:
    """Return the unit registry, made once."""
    import pint

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(None)
    registry.load_definitions(_DEFINITIONS.strip().splitlines())
    return registry
