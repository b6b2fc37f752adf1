"""Options that say which water is asked about."""

from __future__ import annotations

from collections.abc import Callable

import click

from flybench.quantity import parse

Command = Callable[..., None]


def water_options(command: Command) -> Command:
    """Give a command --temperature and --salinity, as texts."""
    salty = click.option(
        "--salinity", default="0 g/kg", show_default=True, metavar="QUANTITY", help="Salt in the water."
    )(command)
    return click.option(
        "--temperature",
        metavar="QUANTITY",
        help='Water asked about, such as "6 degC".  [default: as the flies were measured in]',
    )(salty)


def water_of(temperature: str | None, salinity: str) -> tuple[float | None, float]:
    """Return temperature [K] (None where not given) and salinity [kg/kg]."""
    kelvin = None if temperature is None else parse(temperature, "K", "temperature")
    return kelvin, parse(salinity, "kg/kg", "salinity")


learn_option = click.option(
    "--learn-from",
    "learn_from",
    metavar="QUERY",
    default="",
    help="Measured flies to learn from, as in: flybench fly list --help.  [default: all]",
)
