"""Every key of the bench sheet as an option of the command line."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from flybench.bench.sheet.keys import QUANTITIES
from flybench.errors import BadValueError

_NAMES = {"tank.width": "tank-width", "tank.depth": "tank-depth", "tank.diameter": "tank-diameter"}


def _option_name(key: str) -> str:
    return _NAMES.get(key, key.split(".", 1)[1].replace("_", "-"))


OPTIONS = {_option_name(key).replace("-", "_"): key for key in QUANTITIES} | {
    "wall_material": "tank.wall_material",
    "wall_index": "tank.wall_index",
    "card": "scale.card",
    "points": "scale.points",
    "fly": "fly.code",
}


def sheet_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add an option for every key of the sheet; they arrive as keyword arguments named as in OPTIONS."""
    added = [
        click.option("--fly", metavar="CODE", help="Code of the fly; kept with the result."),
        click.option(
            "--points", metavar='"X,Y X,Y"', help="Two pixels of the upright first frame; with --length."
        ),
        click.option("--card", is_flag=True, default=None, help="The printed card stands in the water."),
        click.option("--wall-index", type=float, help="Refractive index of the front wall."),
        click.option("--wall-material", metavar="NAME", help="acrylic, glass, …"),
    ]
    for key, meaning in reversed(QUANTITIES.items()):
        name, text = f"--{_option_name(key)}", meaning.meaning
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
        if value is None or name not in OPTIONS:
            continue
        table, key = OPTIONS[name].split(".")
        tables.setdefault(table, {})[key] = _value(name, value)
    return tables


def _value(name: str, value: Any) -> Any:
    if name == "card":
        return "in water"
    return _points(value) if name == "points" else value


def _points(text: str) -> list[list[float]]:
    try:
        return [[float(part) for part in pair.split(",")] for pair in text.split()]
    except ValueError as error:
        raise BadValueError(
            "--points", f"{text!r} is not two pixels", 'Write for example --points "120,80 120,1500"'
        ) from error
