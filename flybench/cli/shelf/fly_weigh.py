"""`flybench fly weigh`: what a fly weighs in water, and its readings recorded."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.quantity import parse, parse_inside

if TYPE_CHECKING:
    from flybench.jobs.shelf.weigh import FlyWeight


@click.command(
    name="weigh",
    epilog='For example:  flybench fly weigh M1 --dry "0.213 g" --in-water "0.187 g" --in-water "0.186 g"',
)
@click.argument("code")
@click.option(
    "--dry",
    multiple=True,
    metavar="QUANTITY",
    help='What the scale shows of the dry fly, such as "0.213 g". Give it again for each reading, tared anew.',
)
@click.option(
    "--in-water",
    multiple=True,
    metavar="QUANTITY",
    help='What the scale shows with the fly hanging in water and the empty hanger tared, such as "0.187 g". Give '
    "it again for each reading, dipped and tared anew. Two show what one does not: a bubble, or a scale that drifts.",
)
@click.option(
    "--resolution",
    default="1 mg",
    show_default=True,
    metavar="QUANTITY",
    help="The smallest step of the scale's last digit.",
)
@click.option(
    "--repeatability",
    metavar="QUANTITY",
    help="Standard deviation of the readings when the same fly is weighed again and again. Without it, one step of "
    "the last digit is taken (in water at least 1 mg), or what several readings show.",
)
@click.option(
    "--count",
    default=1,
    show_default=True,
    metavar="N",
    help="How many like flies lie on the scale together.",
)
@click.option(
    "--temperature",
    default="20 degC",
    show_default=True,
    metavar="QUANTITY",
    help="Temperature of the water the fly hangs in.",
)
@click.option("--unwetted", is_flag=True, help="The dressing was not wetted through and still holds air.")
@catalog_option
@json_option
def command(  # one argument per option
    code: str,
    dry: tuple[str, ...],
    in_water: tuple[str, ...],
    resolution: str,
    repeatability: str | None,
    count: int,
    temperature: str,
    unwetted: bool,
    address: str | None,
    as_json: bool,
) -> None:
    """Weigh the fly CODE and record what the scale shows, dry, hanging in water or both.

    Without readings it tells what is known of the weight from the parts of the fly, and how much better a weighing
    would know it.

    To weigh in water: wet the fly through, hang it from fine thread into a small vessel that stands beside the scale or
    is tared on it, and let no bubble cling. Keep mains plugs and cables dry; use a battery scale if you have one.
    """
    from flybench.hydraulics.water import FREEZING, HOTTEST
    from flybench.jobs.shelf.weigh import COARSEST, FINEST, Scale, weigh_fly
    from flybench.telling.shelf import weighing as telling

    step = "Give the step of the scale's last digit, such as 1 mg."
    warmth = "Give the temperature of the water in which the fly hangs."
    scale = Scale(
        parse_inside(resolution, "kg", "--resolution", FINEST, COARSEST, step, example="1 mg"),
        None if repeatability is None else parse(repeatability, "kg", "--repeatability", example="0.5 mg"),
        count,
    )
    dried = [parse(each, "kg", "--dry") for each in dry]
    wet = [parse(each, "kg", "--in-water", example="0.187 g") for each in in_water]
    kelvin = parse_inside(temperature, "K", "--temperature", FREEZING, HOTTEST, warmth)
    found = weigh_fly(opened(address), code, dried, wet, scale, kelvin, not unwetted)
    said(telling.record(found)) if as_json else _print(found)


def _print(found: FlyWeight) -> None:
    from flybench.telling.shelf import weighing as telling

    result, *more = telling.lines(found)
    click.echo(click.style(result, bold=True))
    for line in more:
        click.echo(line)
    for warning in telling.remarks(found):
        click.echo(click.style(warning, fg="yellow"))
    if found.recorded:
        click.echo("Recorded.")
    for remark in found.weighed.remarks:
        click.echo(remark, err=True)
