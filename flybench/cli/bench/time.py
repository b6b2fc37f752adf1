"""`flybench bench time`: the sink speed by the clock, when no phone is at hand."""

from __future__ import annotations

from typing import Any

import click

from flybench.cli.options.output import json_option, said
from flybench.cli.options.sheet import named_as_typed, tables_from
from flybench.jobs.bench.timing import FLY_WIDTH, TimedRun, time_run
from flybench.telling.bench.timing import timed_lines, timed_record
from flybench.telling.table import paragraph

EPILOG = """\b
Examples:
  flybench bench time --distance "60 cm +- 1 cm" --temperature "18 degC" 2.1 2.2 2.0
  flybench bench time --distance "50 cm" --run-up "15 cm" --temperature "18 degC"
    --tank-width "200 mm" --tank-depth "140 mm" --fly MH-14-28-a 1.72 1.68 1.75

Put two marks on the tank, let the fly go above the upper one or at it, and
time it from mark to mark. Without --run-up it is taken to be let go at the
upper mark. With --fly CODE the run is saved in the catalog; it counts for the
speed of that fly only as long as the fly has no run that was filmed.
"""


@click.command(name="time", epilog=EPILOG, context_settings={"ignore_unknown_options": True})
@click.argument("times", nargs=-1, required=True)
@click.option(
    "--distance", required=True, metavar='"60 cm +- 1 cm"', help="Distance between the two marks.  [±: 1 cm]"
)
@click.option(
    "--run-up", metavar='"15 cm"', help="How far the fly falls before the upper mark.  [default: none]"
)
@click.option(
    "--temperature", required=True, metavar='"18 degC"', help="Temperature of the water in the tank."
)
@click.option(
    "--tank-width", metavar='"200 mm"', help="Inner width of the tank, for the speed in free water."
)
@click.option("--tank-depth", metavar='"140 mm"', help="Inner depth of the tank, from front to back.")
@click.option("--tank-diameter", metavar='"190 mm"', help="Inner diameter of a round column.")
@click.option(
    "--fly-width",
    metavar=f'"{FLY_WIDTH}"',
    help=f"Widest side of the fly, hackle included.  [default: {FLY_WIDTH}]",
)
@click.option("--fly", metavar="CODE", help="Save the run in the catalog under this fly.")
@click.option(
    "--catalog",
    "address",
    metavar="FILE|URL",
    envvar="FLYBENCH_CATALOG",
    help="Catalog to save in.  [default: see flybench catalog where]",
)
@json_option
def command(
    times: tuple[str, ...],
    distance: str,
    run_up: str | None,
    fly_width: str | None,
    fly: str | None,
    address: str | None,
    as_json: bool,
    **sheet: str | None,
) -> None:
    """Work out the sink speed of a fly from TIMES in seconds over a distance, timed by hand."""
    _check_options(times)
    with named_as_typed(sheet):
        tables = tables_from(sheet)
        run = time_run(distance, times, run_up, tables, fly_width)
    saved = "" if fly is None else _saved(address, fly, run, tables)
    said(timed_record(run)) if as_json else click.echo("\n".join(timed_lines(run)))
    if saved:
        click.echo(saved, err=as_json)


def _check_options(times: tuple[str, ...]) -> None:
    """Refuse what looks like an option and is none; a number below zero is a time, and is told to be too short."""
    for text in times:
        if text.startswith("-") and not text[1:].lstrip(".")[:1].isdigit():
            raise click.NoSuchOption(text.partition("=")[0], ctx=click.get_current_context())


def _saved(address: str | None, fly: str, run: TimedRun, tables: dict[str, dict[str, Any]]) -> str:
    from flybench.cli.options.catalog import opened  # the catalog is opened only where it is wanted
    from flybench.jobs.bench.timed_runs import save_timed
    from flybench.jobs.shelf.contradictions import contradictions

    catalog = opened(address)
    number = save_timed(catalog, fly, run, tables, timed_record(run))
    saved = f"Saved as run {number} of fly {fly} in {catalog.name}"
    return "\n".join(
        [saved, *(paragraph(f"CHECK: {line}", "  ", "    ") for line in contradictions(catalog, number))]
    )
