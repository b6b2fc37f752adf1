"""Numbers as a reader takes them: with ±, in percent, in degrees Celsius."""

from __future__ import annotations

from decimal import Decimal

from flybench.quantity import COVERAGE_FACTOR, Measured, celsius
from flybench.rounding import rounded

LONG_MM = 1000
"""From so many millimetres on a length of thread or wire is told in metres (judgement: nobody reads 10800 mm)."""


def plus_minus(value: float, standard_uncertainty: float, scale: float = 1.0) -> str:
    """Return a value times ``scale`` with its expanded uncertainty (k = 2), rounded to what that deserves.

    >>> plus_minus(0.314, 0.002, 100)
    '31.4 ± 0.4'
    """
    return " ± ".join(rounded(value * scale, COVERAGE_FACTOR * standard_uncertainty * scale))


def measured_text(value: Measured | None, scale: float = 1.0) -> str:
    """Return a measured value as ``plus_minus`` does; a dash for None."""
    from flybench.catalog.search.cells import NOTHING  # loads the database's library

    return NOTHING if value is None else plus_minus(value.value, value.standard_uncertainty, scale)


def percent(share: float, places: int = 0) -> str:
    """Return a share in percent.

    >>> percent(0.123), percent(0.015, 1)
    ('12 %', '1.5 %')
    """
    return f"{share * 100:.{places}f} %"


def temperature_text(kelvin: float) -> str:
    """Return a temperature [K] in degrees Celsius, to a tenth of a degree where it has one.

    >>> temperature_text(291.15), temperature_text(279.65)
    ('18 °C', '6.5 °C')
    """
    return f"{round(celsius(kelvin), 1):g} °C"


def amount_text(amount: float, unit: str) -> str:
    """Return an amount of a material; from a metre on, millimetres are told in metres.

    >>> amount_text(10800, "mm"), amount_text(120, "mm"), amount_text(216.5, "turns")
    ('10.8 m', '120 mm', '216.5 turns')
    """
    shown, unit = (amount / 1000, "m") if unit == "mm" and abs(amount) >= LONG_MM else (amount, unit)
    return f"{Decimal(f'{shown:.6g}'):f} {unit}"
