"""Options that all commands of the rig share: the water in front of you, the tackle, the fish's level, and what is wanted."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
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
        metavar="QUANTITY",
        help="How much leader is in the water, from the surface to the point fly; with --hold tight, how much line there is "
        "from the rod's tip to the point fly.  [default: twice the depth, at least 1.5 m; tight 1.15 times the tip's height "
        "above the bed; at most 6 m]",
    ),
    click.option(
        "--dropper-gap",
        metavar="QUANTITY",
        help='How far above the point the dropper is tied; for two, "1.0 m, 0.5 m", the upper first.  [default: 0.5 m]',
    ),
    click.option(
        "--dropper-tag",
        metavar="QUANTITY",
        help="How long the tag is that ties a dropper to its knot; 0 cm for a fly on the leader itself.  [default: 10 cm]",
    ),
    click.option(
        "--leader-material",
        type=click.Choice(["nylon", "fluorocarbon"]),
        default="nylon",
        show_default=True,
        help="What the leader is made of.",
    ),
    click.option(
        "--leader",
        type=click.Choice(["sinks", "floats"]),
        default="sinks",
        show_default=True,
        help="What the leader does where it lies on the water: it sinks, or, greased or dry, floats in the water's skin "
        "until the flies pull it under.",
    ),
    click.option(
        "--hold",
        type=click.Choice(["floating", "led", "still", "tight"]),
        default="floating",
        show_default=True,
        help="What the line does at the surface: it floats along with the water, you lead it at --lead-speed, or you hold "
        "it still; tight: it comes straight down from the rod's tip, which you hold at --tip-height and lead at "
        "--lead-speed.",
    ),
    click.option(
        "--lead-speed",
        metavar="QUANTITY",
        help='With --hold led or tight: how fast you lead the line downstream, such as "0.5 m/s".  [default: tight 0.8 of '
        "the surface speed]",
    ),
    click.option(
        "--tip-height",
        metavar="QUANTITY",
        help="With --hold tight: how high the rod's tip is above the water.  [default: 1.5 m]",
    ),
    click.option(
        "--entry",
        type=click.Choice(["flat", "steep"]),
        help="How the flies enter: laid flat on a straight leader, or driven in steeply with loose leader behind them.  "
        "[default: steep]",
    ),
    click.option(
        "--entry-angle",
        metavar="ANGLE",
        help='Instead of --entry: at what angle above the water they enter, "0 deg" (flat) to "90 deg"; steep is 66 deg. '
        "Slack and entry speed follow from it.",
    ),
    click.option(
        "--slack",
        metavar="SHARE",
        help="Share of the leader that lies loose as the flies enter, 0 to 0.97.  [default: flat 0, steep 0.6; by the angle "
        "1 less its cosine; a sixth of that on a tight line]",
    ),
    click.option(
        "--entry-speed",
        metavar="QUANTITY",
        help="How fast the flies go down as they enter the water.  [default: flat 0 m/s, steep 2 m/s; by the "
        "angle 2.2 m/s times its sine]",
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

_GOAL = (
    click.option(
        "--touches",
        metavar="N",
        help="In how many of 10 drifts a fly should touch the bottom, so that you know the rig runs near it.  [default: 3 "
        "where the fish are near the bottom, else 0]",
    ),
    click.option(
        "--in-time",
        default="0.8",
        show_default=True,
        metavar="SHARE",
        help="In what share of drifts the point fly should be down where the fish lie: how far upstream of them to land it "
        "follows from that.",
    ),
    click.option(
        "--stretch",
        default="2 m",
        show_default=True,
        metavar="QUANTITY",
        help="Along what length of the drift the fish lie. It begins where the point is down, and only it counts.",
    ),
    click.option(
        "--farthest",
        default="5 m",
        show_default=True,
        metavar="QUANTITY",
        help="How far upstream of the fish you can land the flies at the most.",
    ),
    click.option(
        "--bed-cost",
        default="1",
        show_default=True,
        metavar="NUMBER",
        help="How bad it is if a fly lies on the bed: 1 takes off as much as its time with the fish adds, 2 twice as much, 0 "
        "nothing.",
    ),
    click.option(
        "--point-worth",
        default="1",
        show_default=True,
        metavar="NUMBER",
        help="How much the point's time with the fish and on the bed counts.",
    ),
    click.option(
        "--dropper-worth",
        default="0.5",
        show_default=True,
        metavar="NUMBER",
        help="How much the droppers' time with the fish and on the bed counts, their mean; 1 counts it as the point's.",
    ),
    click.option(
        "--dropper-level",
        metavar="TEXT",
        help="Where fish are that the dropper is for, in the words of --level.  [default: as --level]",
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
    "--seconds",
    type=float,
    help="How long a drift lasts, in seconds.  [default: as long as the water wants it]",
)
box_option = click.option(
    "--box",
    multiple=True,
    metavar="QUERY",
    help="Which flies are in your box, in the words of flybench fly list --help.  [default: all measured flies]",
)
box_csv_option = click.option(
    "--box-csv",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Instead of --box: a CSV file of flies with the columns name, speed and weight, such as M1, 30 cm/s, 2.0 mN.",
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
    help='The point fly: the code of a measured fly, or its sink speed and its weight in water, as "30 cm/s, 2.0 mN" or '
    '"30 cm/s, 0.2 g".',
)


def rig_options(command: Command) -> Command:
    """Give a command the options of water, tackle and goal; ``texts_from`` takes them from its keywords."""
    return _given(_ONE_WATER, river_options(command))


def river_options(command: Command) -> Command:
    """Give a command all of them but depth and surface speed, for one that asks about several waters."""
    return _given(_OPTIONS, _given(_GOAL, command))


def _given(options: Sequence[Callable[[Command], Command]], command: Command) -> Command:
    for option in reversed(options):
        command = option(command)
    return command


def texts_from(options: dict[str, Any]) -> Any:
    """Return water, tackle and goal as typed, taking their texts out of a command's keywords."""
    from dataclasses import fields

    from flybench.shop.river.rig_texts import RigTexts

    return RigTexts(**{one.name: options.pop(one.name) for one in fields(RigTexts) if one.name in options})


def typed_texts(context: click.Context) -> dict[str, Any]:
    """Return what was typed of water, tackle and goal, by the names of RigTexts."""
    from dataclasses import fields

    from flybench.shop.river.rig_texts import RigTexts

    typed = click.core.ParameterSource.COMMANDLINE
    names = (one.name for one in fields(RigTexts))
    return {name: context.params[name] for name in names if context.get_parameter_source(name) is typed}
