"""A command group whose commands are imported only when called, so that --help stays quick."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module

import click


class LazyGroup(click.Group):
    """A group that knows each command by its module, which exposes it as ``command``."""

    def __init__(self, *, modules: Mapping[str, tuple[str, str]], **settings: object) -> None:
        """Take ``modules``: command name -> (module, one-line summary), in reading order."""
        super().__init__(**settings)  # type: ignore[arg-type]
        self.modules = modules

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands in reading order."""
        return list(self.modules)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the command's module and return its command."""
        if cmd_name not in self.modules:
            return None
        command: click.Command = import_module(self.modules[cmd_name][0]).command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the one-line summaries without importing the commands."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in self.modules.items()])
