"""`flybench stock list`: what is in stock, and what to order or to tie."""

from __future__ import annotations

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.query import say_how_read
from flybench.cli.options.shown import show
from flybench.jobs.trade.stock_list import FLIES, MATERIALS, stock_list
from flybench.telling.trade import stock_list as telling


@click.command("list")
@click.argument("query", nargs=-1)
@click.option(
    "--below",
    is_flag=True,
    help="Only what there is less of than its reorder level: the list of what to order.",
)
@click.option("--flies", is_flag=True, help="Only flies.")
@click.option("--materials", is_flag=True, help="Only materials.")
@catalog_option
@json_option
def command(
    query: tuple[str, ...], below: bool, flies: bool, materials: bool, address: str | None, as_json: bool
) -> None:
    """List what is in stock of all that QUERY finds, or of everything: materials by supplier, then flies.

    With --below only what there is less of than its reorder level, how much of it to order, in whole packs where a pack is
    known, what that costs and who supplies it; and how many flies to tie. Retired things are left out.
    """
    if flies and materials:
        raise click.UsageError("--flies: --materials was given as well. Leave both off to see both.")
    catalog = opened(address)
    nouns = [noun for noun, left_out in ((MATERIALS, flies), (FLIES, materials)) if not left_out]
    say_how_read(nouns[0], query)
    found = stock_list(catalog, query, below, nouns)
    if as_json:
        said(telling.record(found))
    else:
        show(telling.lines(found))
    show([], telling.remarks(found, below))
