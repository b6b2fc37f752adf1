"""`flybench print prices`: the price list, as PDF or CSV."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, output_option, overwrite_option, said, wrote
from flybench.cli.options.shown import show


@click.command(
    "prices",
    epilog="""\b
Examples:
  flybench print prices
  flybench print prices "bead:2..3.5" --title "Spring 2027" --output spring.pdf
  flybench print prices --output prices.csv""",
)
@click.argument("query", nargs=-1)
@click.option(
    "--title", default="Price list", show_default=True, metavar="TEXT", help="What stands on top of it."
)
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Its paper."
)
@click.option(
    "--photos", is_flag=True, help="Show a photo of each fly, or of its pattern, where there is one."
)
@output_option("A .pdf file, or a .csv file with the same lines.", "prices.pdf")
@overwrite_option
@catalog_option
@json_option
def command(
    query: tuple[str, ...],
    title: str,
    paper: str,
    photos: bool,
    output: Path | None,
    overwrite: bool,
    address: str | None,
    as_json: bool,
) -> None:
    """Print the price list of the variants that QUERY finds, or of all; what was retired is not on it.

    Currency and tax are those of the catalog: flybench catalog money. So is the water that the speeds are for, which the
    list names: flybench catalog water.
    """
    from flybench.files import check_new
    from flybench.jobs.trade.price_list import price_list, save
    from flybench.telling.sink import one_water
    from flybench.telling.trade import prices as telling

    path = output or Path("prices.pdf")
    if not as_json:
        check_new(path, overwrite)
    found = price_list(opened(address), query, photos)
    if as_json:
        said(telling.record(found))
    else:
        save(found, path, title, date.today(), paper)
        wrote(path)
    show([], [*telling.remarks(found), *one_water.notes(found.water, found.brought, [], how=False)])
