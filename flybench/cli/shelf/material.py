"""`flybench material`."""

from __future__ import annotations

import click

from flybench.cli.shelf.noun_group import NounGroup
from flybench.cli.shelf.verbs import add_verbs


@click.group(name="material", cls=NounGroup)
def command() -> None:
    """Hooks, beads, threads and the rest, with their stock."""


add_verbs(command, "material")
