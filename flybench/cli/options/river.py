"""Options that all commands of the rig share: the water in front of you, and the tackle."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import click

Command = Callable[..., None]

CAUTION = (
    "Wade with a staff and turn back in doubt: cold and fast water kills. The number of flies, lead and weight on the "
    "line are regulated on many waters: check your local rules."
)

_ONE_WATER = (
    click.option(
        "--depth", metavar="QUANTITY", default="", help='Depth of the water, such as "1.2 m +- 0.2 m".'
    ),
    click.option("--surface-speed", metavar="QUANTITY", help='Speed of the surface, such as "0.6 m/s".'),
    click.option("--float-distance", metavar="QUANTITY", help="Instead: way over which a float was timed,"),
    click.option(
        "--float-time", "float_times", multiple=True, metavar="QUANTITY", help="its time; may be repeated."
    ),
)
_OPTIONS = (
    click.option(
        "--temperature", default="10 degC", show_default=True, metavar="QUANTITY", help="Of the water."
    ),
    click.option(
        "--bed", type=click.Choice(["sand", "gravel", "cobble", "boulder"]), help="What the bed is made of."
    ),
    click.option("--d84", metavar="QUANTITY", help="Or: the size that 84 of 100 stones do not reach."),
    click.option("--z0", metavar="QUANTITY", help="Or: its roughness length."),
    click.option(
        "--leader-diameter",
        default="0.15 mm",
        show_default=True,
        metavar="TEXT",
        help='"0.13 mm", "0.005 in", "5 thou" or "5X" (rule of eleven, common practice).',
    ),
    click.option(
        "--leader-length",
        default="2.5 m",
        show_default=True,
        metavar="QUANTITY",
        help="From the surface to the point.",
    ),
    click.option("--dropper-gap", metavar="QUANTITY", help='Dropper above the point.  [default: "0.5 m"]'),
    click.option(
        "--material", type=click.Choice(["nylon", "fluorocarbon"]), default="nylon", show_default=True
    ),
    click.option(
        "--hold",
        type=click.Choice(["floating", "led", "still"]),
        default="floating",
        show_default=True,
        help="What the line does at the surface.",
    ),
    click.option("--lead-speed", metavar="QUANTITY", help="Speed of a led line downstream."),
    click.option("--entry", type=click.Choice(["flat", "steep"]), default="steep", show_default=True),
    click.option(
        "--slack", metavar="SHARE", help="Share of the leader that lies loose.  [default: flat 0, steep 0.6]"
    ),
    click.option(
        "--entry-speed", metavar="QUANTITY", help="Of the flies, downwards.  [default: flat 0, steep 2 m/s]"
    ),
    click.option(
        "--band",
        default="near-bottom",
        show_default=True,
        metavar="TEXT",
        help='Where the fish are: near-bottom, mid, or a depth such as "0.6 m".',
    ),
)


def rig_options(command: Command) -> Command:
    """Give a command the options of water and tackle; ``asked_from`` takes them from its keywords."""
    return _given(_ONE_WATER, river_options(command))


def river_options(command: Command) -> Command:
    """Give a command all of them but depth and surface speed, for one that asks about several waters."""
    return _given(_OPTIONS, command)


def _given(options: Sequence[Callable[[Command], Command]], command: Command) -> Command:
    for option in reversed(options):
        command = option(command)
    return command


def asked_from(options: dict[str, Any]) -> Any:
    """Return what was asked, taking its texts out of a command's keywords."""
    from dataclasses import fields

    from flybench.jobs.river.asked import Asked

    return Asked(**{one.name: options.pop(one.name) for one in fields(Asked) if one.name in options})


seed_option = click.option(
    "--seed",
    type=click.IntRange(0, 2**31),
    default=1,
    show_default=True,
    metavar="N",
    help="Fixes all draws.",
)
