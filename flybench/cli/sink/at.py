"""`flybench sink at`: measured flies in other water."""

from __future__ import annotations

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.query import say_how_read
from flybench.cli.options.shown import show
from flybench.cli.options.water import salinity_of, salinity_option, temperature_of


@click.command(name="at", epilog='For example:  flybench sink at --temperature "1 degC" style:hackled')
@click.argument("query", nargs=-1)
@click.option(
    "--temperature",
    required=True,
    metavar="QUANTITY",
    help='Temperature of the other water, such as "1 degC".',
)
@salinity_option
@catalog_option
@json_option
def command(
    query: tuple[str, ...], temperature: str, salinity: str, address: str | None, as_json: bool
) -> None:
    """Show how fast measured flies sink in other water than the tank's: in a river at 1 °C, in the sea.

    Most flies drag more in cold water, and a hackled fly more so than a bare bead. How much more is learned only from
    flies that were dropped in cold and in warm water; where there are none, it is taken from published bodies, and the
    ± (k = 2) says how little is known then.

    For QUERY see flybench fly list --help; without one, all measured flies are shown.
    """
    from flybench.jobs.sink.other_water import in_other_water
    from flybench.telling.sink import other_water as telling

    catalog = opened(address)
    say_how_read("fly", query)
    water = temperature_of(temperature), salinity_of(salinity)
    found = in_other_water(catalog, query, *water, rests_on=as_json)
    said(telling.record(found)) if as_json else show(telling.lines(found), telling.remarks(found))
