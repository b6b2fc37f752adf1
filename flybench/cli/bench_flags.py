"""`flybench bench flags`: what a flag means and what to do about it."""

from __future__ import annotations

import click

from flybench.jobs.flags import explained


@click.command(name="flags")
@click.argument("names", nargs=-1, metavar="[FLAG]...")
def command(names: tuple[str, ...]) -> None:
    """Say what each FLAG means and what to do about it; all of them without a name."""
    click.echo("\n".join(explained(names)))
