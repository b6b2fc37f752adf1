"""`flybench flags`: what a flag means and what to do about it."""

from __future__ import annotations

import click

from flybench.telling.flags import explained


@click.command(name="flags")
@click.argument("names", nargs=-1, metavar="[FLAG]...")
def command(names: tuple[str, ...]) -> None:
    """Say what each FLAG means and what to do about it; without a name, all flags of bench, weighing and rig."""
    click.echo("\n".join(explained(names)))
