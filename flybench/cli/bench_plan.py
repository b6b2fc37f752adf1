"""`flybench bench plan`: what to set up for a wanted precision, and why."""

from __future__ import annotations

import json
import re
import textwrap
from pathlib import Path

import click

from flybench.jobs.files import whole_file
from flybench.jobs.plan import DENSITY_RATIO, PlanMade, make_plan

EPILOG = """\b
Examples:
  flybench bench plan --speed "30 cm/s"
  flybench bench plan --speed "30 cm/s" --precision "2 %" --fly-width "5 mm" --frame-rate "60 Hz"
  flybench bench plan --speed "80 cm/s" --density-ratio 6 --column "400 mm" --json -

Every ± is the expanded uncertainty (k = 2).
"""
WIDTH = 100


@click.command(name="plan", epilog=EPILOG)
@click.option("--speed", required=True, help='About the sink speed expected, such as "30 cm/s".')
@click.option("--precision", help="Wanted ± of the free-water sink speed, k = 2.  [default: 3 %]")
@click.option("--fly-width", help="Widest side of the fly across its fall, hackle included.  [default: 6 mm]")
@click.option("--density-ratio", help=f"Density of the fly over the water's.  [default: {DENSITY_RATIO}]")
@click.option("--response-time", help="In place of the ratio: time scale of reaching its speed.")
@click.option("--temperature", help="Water temperature.  [default: 18 degC]")
@click.option(
    "--frame-rate", help="Plan for this rate.  [default: the lowest of 30, 60, 120, 240 Hz that does]"
)
@click.option("--column", help="Plan for this visible height of water.  [default: the least that does]")
@click.option("--gap", help="Plan for this distance from the card to where the fly falls.")
@click.option("--spread", help="Standard deviation from drop to drop.  [default: 1.5 %]")
@click.option(
    "--tracking-noise", type=float, default=0.2, show_default=True, help="Rms of the tracking, pixels."
)
@click.option("--pixels", type=int, default=1920, show_default=True, help="Long side of the picture, pixels.")
@click.option(
    "--json",
    "json_file",
    metavar="FILE",
    help='Write the machine form to a file; "-": here, in place of the table.',
)
def command(tracking_noise: float, pixels: int, json_file: str | None, **texts: str | None) -> None:
    """Say how tall a column, how wide a tank, how far the camera and how many drops a precision needs."""
    if texts["density_ratio"] and texts["response_time"]:
        raise click.UsageError("Give --density-ratio or --response-time, not both.")
    given = {key.replace("_", "-"): text for key, text in texts.items() if text is not None}
    made = make_plan(given, tracking_noise, pixels)
    machine = json.dumps(made.as_json(), indent=2)
    if json_file == "-":
        click.echo(machine)
        return
    if json_file:
        with whole_file(Path(json_file)) as part:
            part.write_text(machine + "\n", encoding="utf-8")
    click.echo("\n".join(_report(made)))


def _report(made: PlanMade) -> list[str]:
    """Return the verdict, the table with reasons, the budget and the warnings."""
    names = max(len(advice.item) for advice in made.advice)
    sizes = max(len(advice.text) for advice in made.advice)
    lines = [made.verdict]
    for stopper in made.stoppers:
        lines += _wrapped("What stops it: ", f"{stopper}.")
    lines.append("")
    for advice in made.advice:
        lines += _wrapped(f"{advice.item:<{names}}  {advice.text:>{sizes}}  ", advice.reason)
    design = made.design
    parts = ", ".join(f"{line.source} {200 * line.standard_uncertainty:.2g}" for line in design.budget)
    together = (
        f"{parts}; together {100 * design.expanded:.2g}, "
        f"between flies in one tank, its walls alike, {100 * design.expanded_in_tank:.2g}."
    )
    lines += ["", *_wrapped("Predicted ± in percent (k = 2): ", together)]
    for warning in made.warnings:
        lines += _wrapped("Mind: ", warning)
    return lines


def _wrapped(head: str, text: str) -> list[str]:
    """Return a paragraph hung under its head; a number stays with its unit."""
    tied = re.sub(r"(?<=\d) (?=(?:mm|%|Hz|pixels)\b|%)", "\u00a0", text)
    lines = textwrap.wrap(head + tied, WIDTH, subsequent_indent=" " * len(head))
    return [line.replace("\u00a0", " ") for line in lines]
