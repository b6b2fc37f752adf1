"""`flybench rig flags`: what each flag means."""

from __future__ import annotations

import click


@click.command(name="flags")
def command() -> None:
    """Tell what each flag of a drift means and what to do about it."""
    from flybench.rig.flags import FLAGS

    for name, (meaning, cure) in FLAGS.items():
        click.echo(f"{name}\n  {meaning}\n  {cure}")
