"""`flybench bench plan`: what to set up for a wanted precision, and why."""

from __future__ import annotations

import click

from flybench.bench.plan.asked import DENSITY_RATIO, PRECISION, USUAL_GAP, read_goal
from flybench.bench.plan.search import plan
from flybench.cli.options.output import json_option, said
from flybench.telling.bench import plan as telling

EPILOG = """\b
Examples:
  flybench bench plan --speed "30 cm/s"
  flybench bench plan --speed "30 cm/s" --precision "1.5 %" --fly-width "5 mm"
  flybench bench plan --speed "50 cm/s" --distance "400 mm" --column "300 mm"
  flybench bench plan --speed "80 cm/s" --density-ratio 6 --json

Every ± is the expanded uncertainty (k = 2): in about 95 of 100 cases the true
value lies inside.
"""


@click.command(name="plan", epilog=EPILOG)
@click.option(
    "--speed",
    required=True,
    metavar="QUANTITY",
    help='About the sink speed that you expect, such as "30 cm/s".',
)
@click.option(
    "--precision",
    metavar="SHARE",
    help=f'The ± that you want, as a share of the speed, such as "1.5 %".  [default: {100 * PRECISION:g} %]',
)
@click.option(
    "--free-water",
    is_flag=True,
    help="Want this precision for the speed in free water, not for the speed in the tank.",
)
@click.option(
    "--fly-width",
    metavar="QUANTITY",
    help="Widest side of the fly across its fall, hackle included.  [default: 6 mm]",
)
@click.option(
    "--density-ratio",
    metavar="NUMBER",
    help=f"Density of the fly over the density of water: {DENSITY_RATIO} for a small brass bead, up to 8 for a big "
    f"tungsten bead.  [default: {DENSITY_RATIO}]",
)
@click.option(
    "--response-time",
    metavar="QUANTITY",
    help="In place of the density ratio: the time in which the fly comes to its speed, known from an earlier run.",
)
@click.option(
    "--temperature",
    metavar="QUANTITY",
    help="Temperature of the water in the tank.  [default: 18 degC, a tank that has stood in a room]",
)
@click.option(
    "--frame-rate",
    metavar="QUANTITY",
    help="Frame rate of your camera, if you cannot choose it.  [default: the lowest of 30, 60, 120, 240 Hz that does]",
)
@click.option(
    "--column",
    metavar="QUANTITY",
    help="Height of water that the camera sees, if you cannot choose it.  [default: the least that does]",
)
@click.option(
    "--distance",
    metavar="QUANTITY",
    help="Distance from lens to tank front, if you cannot choose it.  [default: the nearest that does]",
)
@click.option(
    "--tank-width",
    metavar="QUANTITY",
    help="Inner width of the tank, if you cannot choose it.  [default: the least that does]",
)
@click.option(
    "--spread",
    metavar="SHARE",
    help="How far drops of one fly differ: the standard deviation over the speed.  [default: 1.5 %]",
)
@click.option(
    "--gap-uncertainty",
    metavar="QUANTITY",
    help=f"± of the distance from card to fly (k = 2).  [default: {USUAL_GAP}]",
)
@json_option
def command(free_water: bool, as_json: bool, **texts: str | None) -> None:
    """Say what a wanted precision needs: how tall a column, how wide a tank, how far the camera, how many drops."""
    if texts["density_ratio"] and texts["response_time"]:
        raise click.UsageError("Give --density-ratio or --response-time, not both.")
    asked = {key: text for key, text in texts.items() if text is not None}
    found = plan(read_goal(asked, free_water))
    said(telling.record(found)) if as_json else click.echo("\n".join(telling.lines(found, asked)))
