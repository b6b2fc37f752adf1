"""`flybench undo`: put back what the last change, or one of those before, did."""

from __future__ import annotations

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said, yes_option
from flybench.cli.options.shown import show


@click.command(
    "undo", epilog="See the changes with: flybench catalog log. To take an undo back, undo its own number."
)
@click.argument("number", type=int, required=False)
@yes_option
@catalog_option
@json_option
def command(number: int | None, yes: bool, address: str | None, as_json: bool) -> None:
    """Undo the last change of the catalog, whatever it was, or the change NUMBER.

    All of it is put back, or nothing where a later change rests on it. What was undone stays in the log.
    """
    from flybench.jobs.history.changes import last_change, undo_change
    from flybench.jobs.trade.money import shown_money
    from flybench.telling.history import changes as telling
    from flybench.telling.trade.prices import not_converted

    catalog = opened(address)
    change = last_change(catalog, number)
    if not as_json:
        click.echo("\n".join(telling.lines([change])), err=True)
    if not yes:
        click.confirm(f"Undo change {change.number}?", abort=True, err=True)
    before = shown_money(catalog)
    undone = undo_change(catalog, change.number)
    show([], not_converted(before, shown_money(catalog)))
    said(telling.record([undone])[0]) if as_json else click.echo(f"Undid change {undone.number}.")
