"""`flybench bench plan`: what to set up for a wanted precision, and why."""

from __future__ import annotations

import json
import math
import re
import textwrap
from pathlib import Path

import click

from flybench.files import whole_file
from flybench.jobs.bench.plan import DENSITY_RATIO, PRECISION, PlanMade, make_plan
from flybench.jobs.bench.plan_reasons import RUNS_AS_GOOD, percent, spread_of
from flybench.quantity import COVERAGE_FACTOR

EPILOG = """\b
Examples:
  flybench bench plan --speed "30 cm/s"
  flybench bench plan --speed "30 cm/s" --precision "1.5 %" --fly-width "5 mm"
  flybench bench plan --speed "50 cm/s" --distance "400 mm" --column "300 mm"
  flybench bench plan --speed "80 cm/s" --density-ratio 6 --json -

Every ± is the expanded uncertainty (k = 2).
"""
WIDTH = 79


@click.command(name="plan", epilog=EPILOG)
@click.option("--speed", required=True, help='About the sink speed expected, such as "30 cm/s".')
@click.option("--precision", help=f"Wanted ± of the speed, k = 2.  [default: {100 * PRECISION:g} %]")
@click.option("--free-water", is_flag=True, help="Want it of the speed in free water, not in the tank.")
@click.option("--fly-width", help="Widest side of the fly across its fall, hackle included.  [default: 6 mm]")
@click.option("--density-ratio", help=f"Density of the fly over the water's.  [default: {DENSITY_RATIO}]")
@click.option("--response-time", help="In place of the ratio: time scale of reaching its speed.")
@click.option("--temperature", help="Water temperature.  [default: 18 degC]")
@click.option("--frame-rate", help="Yours, if fixed.  [default: the lowest of 30, 60, 120, 240 Hz that does]")
@click.option("--column", help="Visible height of water, if fixed.  [default: the least that does]")
@click.option("--distance", help="Lens to tank front, if fixed.  [default: the nearest that does]")
@click.option("--tank-width", help="Inner width of the tank, if fixed.  [default: the least that does]")
@click.option("--spread", help="Standard deviation from drop to drop.  [default: 1.5 %]")
@click.option("--gap-uncertainty", help="± of the distance from card to fly, k = 2.  [default: 3 mm]")
@click.option(
    "--json",
    "json_file",
    metavar="FILE",
    help='Write the machine form to a file; "-": here, in place of the table.',
)
def command(free_water: bool, json_file: str | None, **texts: str | None) -> None:
    """Say how tall a column, how wide a tank, how far the camera and how many drops a precision needs."""
    if texts["density_ratio"] and texts["response_time"]:
        raise click.UsageError("Give --density-ratio or --response-time, not both.")
    given = {key.replace("_", "-"): text for key, text in texts.items() if text is not None}
    made = make_plan(given, free_water)
    machine = json.dumps(made.as_json(), indent=2, allow_nan=False)
    if json_file == "-":
        click.echo(machine)
        return
    if json_file:
        with whole_file(Path(json_file)) as part:
            part.write_text(machine + "\n", encoding="utf-8")
    click.echo("\n".join(_report(made)))


def _report(made: PlanMade) -> list[str]:
    """Return the verdict, what stops it, the sizes with reasons, and what is predicted."""
    lines = _wrapped("", made.verdict)
    lines += ["What stops it:"] if made.stoppers else []
    for stopper in made.stoppers:
        lines += _wrapped("  - ", f"{stopper}.")
    lines.append("")
    names = max(len(advice.item) for advice in made.advice)
    sizes = max(len(advice.text) for advice in made.advice)
    for advice in made.advice:
        lines += _wrapped(f"{advice.item:<{names}}  {advice.text:>{sizes}}  ", advice.reason)
    lines += ["", *_prediction(made)]
    for warning in made.warnings:
        lines += _wrapped("Mind: ", f"{warning}.")
    return lines


def _prediction(made: PlanMade) -> list[str]:
    """Return both speeds' predicted uncertainty and the budget behind them, the largest first."""
    plan = made.plan
    largest = sorted(plan.budget, key=lambda line: -line.standard_uncertainty)
    parts = [
        f"{line.source} {percent(COVERAGE_FACTOR * line.standard_uncertainty)}"
        for line in largest
        if math.isfinite(line.standard_uncertainty)
        and COVERAGE_FACTOR * line.standard_uncertainty >= plan.in_tank / 50
    ]
    walls = f"the same, and walls {percent(COVERAGE_FACTOR * plan.walls)}"
    if not math.isfinite(plan.walls):
        walls = "the fly is too wide for so narrow a tank"
    return [
        f"Predicted (k = 2); {RUNS_AS_GOOD} such runs come out as good or better:",
        *_wrapped("  in the tank    ", f"{spread_of(plan.in_tank)}: {', '.join(parts)}."),
        *_wrapped("  in free water  ", f"{spread_of(plan.in_free_water)}: {walls}."),
    ]


def _wrapped(head: str, text: str) -> list[str]:
    """Return a paragraph hung under its head; a number stays with its unit."""
    tied = re.sub(r"(?<=\d) (?=(?:mm|%|Hz|pixels|cm/s|in/s)\b|%)", "\u00a0", text)
    tied = re.sub(r"(?<=\d) (?=± \d)|(?<=±) (?=\d)|(?<=k) (?==)|(?<==) (?=2)", "\u00a0", tied)
    lines = textwrap.wrap(head + tied, WIDTH, subsequent_indent=" " * len(head))
    return [line.replace("\u00a0", " ") for line in lines]
