"""Every key of the bench sheet as an option of the command line."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import click

from flybench.bench.sheet.keys import ARGUMENTS, QUANTITIES, argument_name
from flybench.errors import BadValueError
from flybench.hydraulics.refractive_index import WALL_INDEX
from flybench.telling.wording import listed


def sheet_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add an option for every key of the sheet; they arrive as keyword arguments named as in ARGUMENTS."""
    added = [
        click.option(
            "--without",
            type=(int, str),
            multiple=True,
            metavar="NUMBER WHY",
            help='A drop that does not count, and why: --without 1 "hit the wall"; may be given again. Takes the place of '
            "what the sheet leaves out.",
        ),
        click.option(
            "--name",
            metavar="NAME",
            help="What the fly is called on its page.  [default: in the catalog its pattern's name, else its code, else the "
            "clip's name]",
        ),
        click.option("--fly", metavar="CODE", help="Code of your fly; it is kept with the result."),
        click.option(
            "--points",
            metavar='"X,Y X,Y"',
            help="Two points as pixels of the upright first frame; needs --length.",
        ),
        click.option(
            "--picture",
            metavar='"W x H"',
            help="Size of the picture that the points were read off, in pixels.",
        ),
        click.option("--card", is_flag=True, default=None, help="The printed card stands in the tank."),
        click.option(
            "--wall-index",
            type=float,
            metavar="NUMBER",
            help="Refractive index of the front wall, if you know it.",
        ),
        click.option(
            "--wall-material",
            metavar="NAME",
            help=f"What the front wall is made of: {listed(list(WALL_INDEX), 'or')}.",
        ),
    ]
    for key, meaning in reversed(QUANTITIES.items()):
        name, text = f"--{argument_name(key).replace('_', '-')}", meaning.meaning
        added.append(
            click.option(name, metavar=f'"{meaning.example}"', help=text[0].upper() + text[1:] + ".")
        )
    for option in added:
        command = option(command)
    return command


def tables_from(options: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Turn given options into the tables of a sheet."""
    tables: dict[str, dict[str, Any]] = {}
    for name, value in options.items():
        if value is None or value == () or name not in ARGUMENTS:
            continue
        table, key = ARGUMENTS[name].split(".")
        tables.setdefault(table, {})[key] = _value(name, value)
    return tables


set_up_option = click.option(
    "--set-up",
    metavar="NAME",
    help="Set-up kept with bench sheet --save; the sheet and options go before it.",
)


@contextmanager
def named_as_typed(options: Mapping[str, Any]) -> Iterator[None]:
    """Let an error about a value that came from an option name that option instead of the sheet's key."""
    typed = {
        ARGUMENTS[name]: name
        for name, value in options.items()
        if name in ARGUMENTS and value not in (None, ())
    }
    try:
        yield
    except BadValueError as error:
        if error.key not in typed:
            raise
        if error.key == "drops.without":
            error = BadValueError(error.key, error.problem, _as_option(error.cure))
        raise error.named(f"--{typed[error.key].replace('_', '-')}") from error


def _as_option(cure: str) -> str:
    """Return a cure about drops left out as the option has them, not the sheet."""
    return cure.replace('without = [[1, "hit the wall"]]', '--without 1 "hit the wall"')


def _value(name: str, value: Any) -> Any:
    if name == "card":
        return "in water"
    if name == "without":
        return [list(pair) for pair in value]
    return _points(value) if name == "points" else value


def _points(text: str) -> list[list[float]]:
    """Return two points as the sheet has them."""
    try:
        (left, top), (right, bottom) = ([float(part) for part in pair.split(",")] for pair in text.split())
    except ValueError as error:
        raise BadValueError(
            "--points", f'"{text}" is not two points', 'Write for example --points "120,80 120,1500"'
        ) from error
    return [[left, top], [right, bottom]]
