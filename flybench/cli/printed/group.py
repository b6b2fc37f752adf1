"""`flybench print`: what goes on paper."""

from __future__ import annotations

import click

from flybench.cli.printed.labels import command as labels
from flybench.cli.printed.pocket import command as pocket
from flybench.cli.printed.prices import command as prices


@click.group(name="print")
def command() -> None:
    """Labels for bins and drawers; the price list; a page for the pocket."""


command.add_command(labels)
command.add_command(prices)
command.add_command(pocket)
