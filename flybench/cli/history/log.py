"""`flybench catalog log`: who changed what, and when."""

from __future__ import annotations

import click

from flybench.cli.options.catalog import catalog_option, opened, say
from flybench.cli.options.output import json_option, said


@click.command("log")
@click.argument("codes", metavar="[CODE...]", nargs=-1)
@click.option(
    "--limit",
    type=click.IntRange(0, 10_000_000),
    default=20,
    show_default=True,
    help="Most changes shown; 0 for all.",
)
@click.option("--full", is_flag=True, help="Show every line of each change.")
@catalog_option
@json_option
def command(codes: tuple[str, ...], limit: int, full: bool, address: str | None, as_json: bool) -> None:
    """Show who changed what and when, the newest change first: of things with these CODEs, or of all.

    The number at the beginning of a change is what flybench undo takes.
    """
    from flybench.jobs.history.changes import changes
    from flybench.telling.history import changes as telling

    found = changes(opened(address), codes, limit)
    if as_json:
        said(telling.record(found))
    elif found:
        click.echo("\n".join(telling.lines(found, full)))
    else:
        say("No change is written down yet." if not codes else "No change of these codes is written down.")
