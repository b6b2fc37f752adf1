"""`flybench variant`."""

from __future__ import annotations

import click

from flybench.cli.shelf.noun_group import NounGroup
from flybench.cli.shelf.photo import photo_command
from flybench.cli.shelf.verbs import add_verbs


@click.group(name="variant", cls=NounGroup)
def command() -> None:
    """Patterns on one hook with one bead."""


add_verbs(command, "variant")
command.add_command(photo_command("variant"))
