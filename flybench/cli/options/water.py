"""Options that say which water is asked about, and which flies are learned from."""

from __future__ import annotations

from collections.abc import Callable

import click

from flybench.errors import BadValueError
from flybench.quantity import parse_inside
from flybench.sinking.model.other_water import COLDEST, WARMEST

Command = Callable[..., None]

_SALTIEST = 0.042
"""Largest salinity of the formulas for water [kg/kg] (TEOS-10 and IAPWS as in ``hydraulics.water``)."""


def water_options(command: Command) -> Command:
    """Give a command --temperature and --salinity, as texts."""
    return click.option(
        "--temperature",
        metavar="QUANTITY",
        help='Temperature of the water, such as "6 degC".  [default: the mean of the measured flies\' water; 15 degC '
        "where none was measured]",
    )(_salinity_beside(command))


_salinity_beside = click.option(
    "--salinity",
    metavar="QUANTITY",
    help="Salt in the water.  [default: that of the water of the default temperature, else 0 g/kg]",
)
salinity_option = click.option(
    "--salinity", default="0 g/kg", show_default=True, metavar="QUANTITY", help="Salt in the water."
)


def water_of(temperature: str | None, salinity: str | None) -> tuple[float | None, float | None]:
    """Return temperature [K] and salinity [kg/kg], None where not given; raises BadValueError for no river's water."""
    return (
        None if temperature is None else temperature_of(temperature),
        None if salinity is None else salinity_of(salinity),
    )


def temperature_of(text: str) -> float:
    """Return the temperature of a river [K]; raises BadValueError below 0 or above 30 degC."""
    cure = "Give the temperature of the river."
    return parse_inside(text, "K", "--temperature", COLDEST, WARMEST, cure, example="6 degC")


def salinity_of(text: str) -> float:
    """Return a salinity [kg/kg]; raises BadValueError outside that of river and sea."""
    cure = "The sea has some 35 g/kg, a river 0 g/kg."
    return parse_inside(text, "kg/kg", "--salinity", 0.0, _SALTIEST, cure, example="35 g/kg")


shown_salinity_option = click.option(
    "--salinity", metavar="QUANTITY", help="Salt in the water of the temperature given.  [default: 0 g/kg]"
)


def shown_water_option(command: Command) -> Command:
    """Give a command --temperature and --salinity of the water that speeds are shown for, as texts."""
    return click.option(
        "--temperature",
        metavar="QUANTITY",
        help='Temperature of the water that speeds are shown for, such as "8 degC".  [default: as set with flybench '
        "catalog water, else the water of most runs]",
    )(shown_salinity_option(command))


def shown_water_of(temperature: str | None, salinity: str | None) -> tuple[float | None, float]:
    """Return that temperature [K], None where not given, and salinity [kg/kg].

    Raises BadValueError below 0 or above 30 degC, and for a salinity that is none or was given alone.
    """
    if temperature is not None:
        return temperature_of(temperature), 0.0 if salinity is None else salinity_of(salinity)
    if salinity is not None:
        raise BadValueError(
            "--salinity", "no temperature was given with it", "Give both, such as 8 degC and 35 g/kg."
        )
    return None, 0.0


learn_option = click.option(
    "--learn-from",
    "learn_from",
    metavar="QUERY",
    default="",
    help="Which measured flies to learn from; for QUERY see flybench fly list --help.  [default: all]",
)
