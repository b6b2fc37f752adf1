"""`flybench sink gaps`: speeds the box lacks, and what to tie."""

from __future__ import annotations

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.query import say_how_read
from flybench.cli.options.shown import show


@click.command(name="gaps", epilog='For example:  flybench sink gaps --box "stock:>0" --wider-than 1.3')
@click.option(
    "--box",
    multiple=True,
    metavar="QUERY",
    help="Which variants are in the box; for QUERY see flybench variant list --help.  [default: all measured ones]",
)
@click.option(
    "--wider-than",
    default=1.25,
    show_default=True,
    metavar="RATIO",
    help="Two neighbours leave a gap where the faster one sinks more than so many times as fast.",
)
@catalog_option
@json_option
def command(box: tuple[str, ...], wider_than: float, address: str | None, as_json: bool) -> None:
    """Find where the box has no fly between two speeds, and the cheapest fly to tie from stock to fill the gap.

    Tried are the other variants of the catalog, and every variant on other beads of the same bore and about the same
    size. Their speeds are predicted, and each comes with the odds that it falls into the gap.
    """
    from flybench.jobs.sink.gaps import find_gaps
    from flybench.telling.sink import gaps as telling

    catalog = opened(address)
    say_how_read("variant", box)
    found = find_gaps(catalog, box or ("sink:any",), wider_than)
    said(telling.record(found)) if as_json else show(telling.lines(found), telling.remarks(found))
