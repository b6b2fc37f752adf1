"""`flybench flags`: what a flag means and what to do about it."""

from __future__ import annotations

import click

from flybench.cli.options.output import json_option, said
from flybench.telling import flags as telling


@click.command(name="flags")
@click.argument("names", nargs=-1, metavar="[FLAG]...")
@json_option
def command(names: tuple[str, ...], as_json: bool) -> None:
    """Say what a FLAG means and what to do about it; without a name, say so of every flag.

    A flag is a word for one thing that makes a result doubtful. A note leaves the result as it is. A doubt makes it
    less sure. A refusal takes it away.
    """
    said(telling.record(names)) if as_json else click.echo("\n".join(telling.lines(names)))
