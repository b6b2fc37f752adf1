"""Numbers as a reader takes them: with ±, in percent, in degrees Celsius."""

from __future__ import annotations

from flybench.catalog.search.cells import NOTHING
from flybench.quantity import COVERAGE_FACTOR, Measured, celsius, rounded


def plus_minus(value: float, standard_uncertainty: float, scale: float = 1.0) -> str:
    """Return a value times ``scale`` with its expanded uncertainty (k = 2), rounded to what that deserves.

    >>> plus_minus(0.314, 0.002, 100)
    '31.4 ± 0.4'
    """
    return " ± ".join(rounded(value * scale, COVERAGE_FACTOR * standard_uncertainty * scale))


def measured_text(value: Measured | None, scale: float = 1.0) -> str:
    """Return a measured value as ``plus_minus`` does; a dash for None."""
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
