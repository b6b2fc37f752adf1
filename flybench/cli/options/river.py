"""Options that all commands of the rig share: the water in front of you, the tackle, and the fish's level."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import click

Command = Callable[..., None]

_ONE_WATER = (
    click.option(
        "--depth",
        metavar="QUANTITY",
        default="",
        help='How deep the water is, such as "1.2 m +- 0.2 m". Without its +-, 20 % are taken (k = 2).',
    ),
    click.option(
        "--surface-speed",
        metavar="QUANTITY",
        help='How fast the surface runs, such as "0.6 m/s". Without its +-, 20 % are taken (k = 2).',
    ),
    click.option(
        "--float-distance",
        metavar="QUANTITY",
        help='Instead of --surface-speed: the distance over which you timed a float, such as "5 m".',
    ),
    click.option(
        "--float-time",
        "float_times",
        multiple=True,
        metavar="QUANTITY",
        help='The time the float took, such as "8.2 s". Give it once for each float you timed.',
    ),
)
_OPTIONS = (
    click.option(
        "--temperature",
        default="10 degC",
        show_default=True,
        metavar="QUANTITY",
        help="How warm the water of the river is.",
    ),
    click.option(
        "--bed",
        type=click.Choice(["sand", "gravel", "cobble", "boulder"]),
        help="What the bed is made of. It decides how much slower the water runs near the bottom.",
    ),
    click.option(
        "--d84",
        metavar="QUANTITY",
        help='Instead of --bed: the size of the larger stones, such as "5 cm"; 84 of 100 stones are smaller.',
    ),
    click.option(
        "--z0",
        metavar="QUANTITY",
        help='Instead of --bed: the roughness length of the bed, such as "5 mm"; about a tenth of --d84.',
    ),
    click.option(
        "--leader-diameter",
        default="0.15 mm",
        show_default=True,
        metavar="TEXT",
        help='How thick the leader is: "0.13 mm", "0.005 in", "5 thou" or "5X". X numbers follow the rule of eleven, which '
        "makers do not all keep: measure it if you can.",
    ),
    click.option(
        "--leader-length",
        default="2.5 m",
        show_default=True,
        metavar="QUANTITY",
        help="How much leader is in the water, from the surface to the point fly.",
    ),
    click.option(
        "--dropper-gap",
        metavar="QUANTITY",
        help='How far above the point the dropper is tied; for two, "1.0 m, 0.5 m", the upper first.  [default: 0.5 m]',
    ),
    click.option(
        "--leader-material",
        type=click.Choice(["nylon", "fluorocarbon"]),
        default="nylon",
        show_default=True,
        help="What the leader is made of.",
    ),
    click.option(
        "--hold",
        type=click.Choice(["floating", "led", "still"]),
        default="floating",
        show_default=True,
        help="What the line does at the surface: it floats along with the water, you lead it at --lead-speed, or you hold "
        "it still.",
    ),
    click.option(
        "--lead-speed",
        metavar="QUANTITY",
        help='With --hold led: how fast you lead the line downstream, such as "0.5 m/s".',
    ),
    click.option(
        "--entry",
        type=click.Choice(["flat", "steep"]),
        default="steep",
        show_default=True,
        help="How the flies enter: laid flat on a straight leader, or driven in steeply with loose leader behind them.",
    ),
    click.option(
        "--slack",
        metavar="SHARE",
        help="Share of the leader that lies loose as the flies enter, 0 to 0.97.  [default: flat 0, steep 0.6]",
    ),
    click.option(
        "--entry-speed",
        metavar="QUANTITY",
        help="How fast the flies go down as they enter the water.  [default: flat 0 m/s, steep 2 m/s]",
    ),
    click.option(
        "--level",
        default="near-bottom",
        show_default=True,
        metavar="TEXT",
        help="Where the fish are: near-bottom (the lowest 0.2 m above the stones), mid (the middle fifth of the water), or "
        'a depth such as "0.6 m" (0.1 m above and below it).',
    ),
)

seed_option = click.option(
    "--seed",
    type=click.IntRange(0, 2**31),
    default=1,
    show_default=True,
    metavar="N",
    help="Number that fixes the random draws: the same number gives the same answer.",
)
seconds_option = click.option(
    "--seconds", default=8.0, show_default=True, help="How long a drift lasts, in seconds."
)
box_option = click.option(
    "--box",
    multiple=True,
    metavar="QUERY",
    help="Which flies are in your box, in the words of flybench fly list --help.  [default: all measured flies]",
)
droppers_option = click.option(
    "--dropper",
    "droppers",
    multiple=True,
    metavar="FLY",
    help="A dropper, named as the point is. Give it twice for two droppers, the upper one first.",
)
point_option = click.option(
    "--point",
    required=True,
    metavar="FLY",
    help='The point fly: the code of a measured fly, or its sink speed and its weight in water, as "30 cm/s, 2.0 mN".',
)


def rig_options(command: Command) -> Command:
    """Give a command the options of water and tackle; ``texts_from`` takes them from its keywords."""
    return _given(_ONE_WATER, river_options(command))


def river_options(command: Command) -> Command:
    """Give a command all of them but depth and surface speed, for one that asks about several waters."""
    return _given(_OPTIONS, command)


def _given(options: Sequence[Callable[[Command], Command]], command: Command) -> Command:
    for option in reversed(options):
        command = option(command)
    return command


def texts_from(options: dict[str, Any]) -> Any:
    """Return water and tackle as typed, taking their texts out of a command's keywords."""
    from dataclasses import fields

    from flybench.shop.river.rig_texts import RigTexts

    return RigTexts(**{one.name: options.pop(one.name) for one in fields(RigTexts) if one.name in options})


def any_typed(context: click.Context) -> bool:
    """Tell whether any option of water or tackle was typed, or the length of a drift."""
    from dataclasses import fields

    from flybench.shop.river.rig_texts import RigTexts

    typed = click.core.ParameterSource.COMMANDLINE
    names = (*(one.name for one in fields(RigTexts)), "seconds")
    return any(context.get_parameter_source(name) is typed for name in names)
