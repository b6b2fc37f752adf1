"""`flybench fly`."""

from __future__ import annotations

import click

from flybench.cli.shelf.fly_weigh import command as weigh
from flybench.cli.shelf.noun_group import NounGroup
from flybench.cli.shelf.photo import photo_command
from flybench.cli.shelf.verbs import add_verbs


@click.group(name="fly", cls=NounGroup)
def command() -> None:
    """Tied specimens."""


add_verbs(command, "fly")
command.add_command(weigh)
command.add_command(photo_command("fly"))
