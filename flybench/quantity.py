"""Measured values: units in and out at the edge, ranges.

Inside, every number is in SI base units (kelvin, metre, kilogram, second; salinity kg/kg). Wherever
the user reads or writes "±", it is the expanded uncertainty with coverage factor k = 2; inside, only
standard uncertainties are carried. Errors speak in the unit that the user typed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from flybench.errors import BadValueError
from flybench.units import (
    COMMA,
    KINDS,
    QUANTITY,
    SPREAD,
    beyond,
    degree_meant,
    from_si,
    known_unit,
    outside,
    plainly_in_si,
    registry,
    short_number,
    si_unit,
    without_comma,
    written_unit,
)

COVERAGE_FACTOR = 2.0
"""Expanded over standard uncertainty, wherever "±" is read or written."""
ZERO_CELSIUS = 273.15
"""Zero degrees Celsius [K], exact by definition."""
INCH = 0.0254
"""One inch [m], exact by definition."""
_TEXTS_KEPT = 4096
"""Texts whose value is remembered [-]: those in the sheets of a shop's runs (judgement)."""

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
    if not good.all():  # half the time of np.all, and asked a few times for every run
        least, most = (f"{limit:.6g}" if math.isfinite(limit) else "" for limit in (low, high))
        raise BadValueError(key, beyond(f"{values[~good].flat[0]:.6g}", least, most, unit), cure)
    return values


def parse(text: str, unit: str, key: str, *, example: str | None = None) -> float:
    """Return what the user wrote, with its unit, in the SI ``unit``.

    Parameters: text, such as "620 mm"; unit, one of "m", "m**3", "s", "Hz", "K", "kg", "m/s",
    "kg/m**3", "kg/kg", "N", "1", of which only "1" may be bare; key, the sheet key or option an error names,
    as the user types it; example, what an error shows as a good value of this key.
    Returns: value [unit]. Raises BadValueError.

    >>> parse("620 mm", "m", "camera.distance")
    0.62
    """
    return _Reader(text, unit, key, example).value()


@lru_cache(maxsize=_TEXTS_KEPT)
def parse_with_uncertainty(
    text: str, unit: str, key: str, *, example: str | None = None
) -> tuple[float, float | None]:
    """Return the value and the STANDARD uncertainty in the SI ``unit``; None where none is given.

    "620 mm +- 5 mm", "620 +- 5 mm", and ± for +-: the number after it is the expanded uncertainty
    (k = 2), so half of it is returned. One of a temperature is a difference: "18 degC +- 1 degC"
    gives 0.5 K. Raises BadValueError.
    """
    return _Reader(text, unit, key, example).value_and_uncertainty()


def parse_inside(
    text: str, unit: str, key: str, low: float, high: float, cure: str, *, example: str | None = None
) -> float:
    """Return what the user wrote in the SI ``unit``, if it is from ``low`` to ``high`` [unit].

    Raises BadValueError; one about the limits gives them in the unit that the user typed, then the ``cure``.

    >>> parse_inside("1.2 m", "m", "--depth", 0.1, 6.0, "Measure it.")
    1.2
    >>> parse_inside("900 cm", "m", "--depth", 0.1, 6.0, "Measure it.")
    Traceback (most recent call last):
    flybench.errors.BadValueError: --depth: 900 cm is outside 10 to 600 cm. Measure it.
    """
    return parse_inside_with_uncertainty(text, unit, key, low, high, cure, example=example, spread=False)[0]


def parse_inside_with_uncertainty(
    text: str,
    unit: str,
    key: str,
    low: float,
    high: float,
    cure: str,
    *,
    example: str | None = None,
    spread: bool = True,
) -> tuple[float, float | None]:
    """Return value and STANDARD uncertainty in the SI ``unit``, if the value is from ``low`` to ``high`` [unit].

    Without ``spread`` an uncertainty is refused. Raises BadValueError, about the limits in the unit typed.
    """
    reader = _Reader(text, unit, key, example)
    value, uncertainty = reader.value_and_uncertainty() if spread else (reader.value(), None)
    if not low <= value <= high:
        raise BadValueError(key, outside(SPREAD.split(text)[0].strip(), text, unit, low, high), cure)
    return value, uncertainty


def in_unit_of(value: float, text: str, unit: str) -> str:
    """Return an SI ``value`` [unit] in words, in the unit in which the user typed ``text``.

    >>> in_unit_of(0.5, "40 cm", "m")
    '50 cm'
    """
    written = written_unit(text, unit)
    return f"{short_number(from_si(value, written, unit))} {written}".rstrip()


class _Reader:
    """A text that should be a quantity, read once; it knows what an error has to name."""

    def __init__(self, text: str, unit: str, key: str, example: str | None) -> None:
        self.text, self.unit, self.key = text, unit, key
        self.example = example or KINDS[unit][1]

    def value(self) -> float:
        """Return the value in SI; an uncertainty is refused, as nothing would be done with it."""
        if SPREAD.search(self.text):
            raise self._bad(
                f'"{self.text}" has an uncertainty, and none is used here', f'Write "{self._alone()}".'
            )
        number, written = self._read(self.text)
        return self._convert(number, written)

    def value_and_uncertainty(self) -> tuple[float, float | None]:
        """Return value and standard uncertainty in SI."""
        value_text, *spread_texts = SPREAD.split(self.text)
        if not spread_texts:
            return self.value(), None
        if len(spread_texts) > 1:
            raise self._bad(f'"{self.text}" has more than one uncertainty')
        number, written = self._read(value_text)
        spread, spread_unit = self._read(spread_texts[0])
        if spread < 0:
            raise self._bad(f'"{self.text}" has a negative uncertainty')
        if written and not spread_unit and self.unit != "1":
            whole = f"{value_text.strip()} +- {spread_texts[0].strip()} {written}"
            raise self._bad(f'"{self.text}" has no unit after the ±', f'Write "{whole}".')
        value = self._convert(number, written or spread_unit)
        expanded = self._convert(spread, spread_unit) - self._convert(0.0, spread_unit)
        return value, expanded / COVERAGE_FACTOR

    def _read(self, part: str) -> tuple[float, str]:
        """Return the number and the unit as written, which may be empty."""
        if not part.strip():
            raise self._bad("is empty" if part == self.text else f'"{self.text}" lacks a number')
        match = QUANTITY.fullmatch(part)
        if match is None:
            raise self._unread(part)
        return float(match[1]), match[2] or ""

    def _unread(self, part: str) -> BadValueError:
        """Return the error for what is no number with a unit, with a hint where the slip is a common one."""
        if QUANTITY.fullmatch(COMMA.sub(".", part)):
            return self._bad(f'"{self.text}" has a comma', without_comma(self.text.strip()))
        if known_unit(part.strip()):
            return self._bad(f'"{self.text}" is a unit without a number')
        degree = degree_meant(part) if self.unit == "K" else None
        cure = f'Write "{degree}".' if degree else None
        return self._bad(f'"{self.text}" is not {KINDS[self.unit][0]}', cure)

    def _convert(self, number: float, written: str) -> float:
        """Return ``number`` of the ``written`` unit in SI."""
        if not written and self.unit != "1":
            raise self._bad(f'"{self.text}" has no unit')
        if (plain := plainly_in_si(number, written, self.unit)) is not None and math.isfinite(plain):
            return plain
        known = known_unit(written)
        if known is None:
            raise self._bad(
                f'"{self.text}" has the unknown unit "{written}"', self._unit_meant(number, written)
            )
        value = registry().Quantity(number, known)
        if value.dimensionality != si_unit(self.unit).dimensionality:
            raise self._bad(f'"{self.text}" is not {KINDS[self.unit][0]}')
        si = float(value.to(si_unit(self.unit)).magnitude)
        if not math.isfinite(si):
            raise self._bad(f'"{self.text}" is not a finite number')
        return si

    def _unit_meant(self, number: float, written: str) -> str | None:
        """Return a cure for a unit that is nearly right: "C" for degC, "MM" for mm."""
        if self.unit == "K":
            degree = degree_meant(f"{number:g} {written}")
            return f'Write "{degree}".' if degree else None
        known = known_unit(written.lower())
        if known is None or known.dimensionality != si_unit(self.unit).dimensionality:
            return None
        return f'Write "{number:g} {written.lower()}".'

    def _alone(self) -> str:
        """Return the text without its uncertainty, with a unit."""
        value = COMMA.sub(".", SPREAD.split(self.text)[0].strip())
        match = QUANTITY.fullmatch(value)
        if match is None:
            return self.example
        return value if match[2] else f"{value} {written_unit(self.text, self.unit)}".rstrip()

    def _bad(self, problem: str, cure: str | None = None) -> BadValueError:
        """Return the error; its cure shows how to write such a quantity, if none is given."""
        with_unit = "it as" if self.unit == "1" else "it with its unit, for example"
        return BadValueError(self.key, problem, cure or f'Write {with_unit} "{self.example}".')


def celsius(kelvin: float) -> float:
    """Return a temperature [K] in degrees Celsius, as the user reads it.

    >>> celsius(283.15)
    10.0
    """
    return kelvin - ZERO_CELSIUS
