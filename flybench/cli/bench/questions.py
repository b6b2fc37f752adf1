"""The sheet asked for question by question, each answer checked before the next."""

from __future__ import annotations

from typing import Any

import click

from flybench.bench.sheet.keys import QUANTITIES
from flybench.bench.sheet.values import quantity_of, value_of
from flybench.errors import BadValueError

_WITH_SPREAD = ("water.temperature", "tank.fall_plane", "camera.distance", "scale.bar", "scale.gap")
"""Keys asked for that may carry an uncertainty."""
PLACE = (
    "tank.width",
    "tank.depth",
    "tank.wall",
    "tank.fall_plane",
    "camera.distance",
    "scale.bar",
    "scale.gap",
)
"""What is asked of a place."""
CLIP = ("water.temperature", *PLACE)
"""What is asked for a clip."""
_CARD_ONLY = ("scale.bar", "scale.gap")


def answers(place_only: bool) -> dict[str, dict[str, Any]]:
    """Ask on the terminal and return what was answered as the tables of a sheet."""
    click.echo("Enter alone skips a question. A distance may carry its own ±, such as 620 mm +- 5 mm.")
    tables: dict[str, dict[str, Any]] = {}
    card = click.confirm("Does the printed card stand in the tank?", default=True)
    if card:
        tables["scale"] = {"card": "in water"}
    else:
        click.echo("Then pick two points from a still: flybench bench still CLIP")
    for key in PLACE if place_only else CLIP:
        if card or key not in _CARD_ONLY:
            _ask(key, tables)
    return tables


def _ask(key: str, tables: dict[str, dict[str, Any]]) -> None:
    """Ask until the answer is one that can be, or is skipped."""
    known = QUANTITIES[key]
    table, name = key.split(".")
    while True:
        text = click.prompt(f"{known.meaning[0].upper()}{known.meaning[1:]}, such as {known.example}", default="",
                            show_default=False).strip()  # fmt: skip
        if not text:
            return
        try:
            quantity_of({key: text}, key) if key in _WITH_SPREAD else value_of({key: text}, key)
        except BadValueError as error:
            click.echo(f"  {error}")
            continue
        tables.setdefault(table, {})[name] = text
        return
