"""`flybench ladder`: measured flies from slowest to fastest, drawn in the terminal."""

from __future__ import annotations

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.query import say_how_read
from flybench.cli.options.shown import show
from flybench.cli.options.water import shown_water_of, shown_water_option


@click.command(name="ladder", epilog="For example:  flybench ladder style:hackled")
@click.argument("query", nargs=-1)
@click.option("--variants", is_flag=True, help="Show variants, each pooled over its flies.")
@click.option(
    "--limit",
    type=click.IntRange(0, 10_000_000),
    default=60,
    show_default=True,
    help="How many to show at most, the slowest ones; 0 shows all.",
)
@shown_water_option
@catalog_option
@json_option
def command(
    query: tuple[str, ...],
    variants: bool,
    limit: int,
    temperature: str | None,
    salinity: str | None,
    address: str | None,
    as_json: bool,
) -> None:
    """Show measured flies from the slowest to the fastest, with their intervals (k = 2), and which are alike.

    Each has its band: the speed class of a drawer or a label, a step of the R10 series in cm/s. Flies whose speeds
    cannot be told apart are named below the table.

    All speeds are for one water. Runs in other water (more than 1 K away) are brought to it by the drag law, with the doubt
    of that step in the ±, and are named.

    For QUERY see flybench fly list --help; without one, all measured flies are shown.
    """
    from flybench.jobs.sink.ladder import ladder
    from flybench.telling.sink import ladder as telling

    catalog = opened(address)
    say_how_read("variant" if variants else "fly", query)
    found = ladder(catalog, query, variants, limit, *shown_water_of(temperature, salinity))
    if as_json:
        said(telling.record(found))
        return
    show(telling.lines(found), telling.remarks(found))
