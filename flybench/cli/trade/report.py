"""`flybench stock report`: what was sold and used over a time."""

from __future__ import annotations

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.shown import show


@click.command("report")
@click.option(
    "--from", "first", default="", metavar="DATE", help="First day.  [default: first of this month]"
)
@click.option("--until", "last", default="", metavar="DATE", help="Last day.  [default: today]")
@catalog_option
@json_option
def command(first: str, last: str, address: str | None, as_json: bool) -> None:
    """Show what was sold, tied, bought and used over a time, and what flies were sold for."""
    from flybench.jobs.trade.report import report
    from flybench.telling.trade import report as telling

    found = report(opened(address), first, last)
    said(telling.record(found)) if as_json else show(telling.lines(found), telling.remarks(found))
