"""`flybench pattern`."""

from __future__ import annotations

import click

from flybench.cli.shelf.make_list import command as make_list
from flybench.cli.shelf.noun_group import NounGroup
from flybench.cli.shelf.photo import photo_command
from flybench.cli.shelf.recipes import export_command, import_command
from flybench.cli.shelf.verbs import add_verbs


@click.group(name="pattern", cls=NounGroup)
def command() -> None:
    """Recipes."""


add_verbs(command, "pattern")
command.add_command(make_list)
command.add_command(import_command)
command.add_command(export_command)
command.add_command(photo_command("pattern"))
