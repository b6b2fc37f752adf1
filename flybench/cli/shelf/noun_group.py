"""A group of commands of one kind of thing: what others call its commands is answered with theirs."""

from __future__ import annotations

import click

_OTHER_NAMES = {
    "edit": "Fields are changed with: {group} change CODE",
    "update": "Fields are changed with: {group} change CODE",
    "set": "Fields are changed with: {group} change CODE",
    "delete": "It is taken off with: {group} remove CODE",
    "new": "It is added with: {group} add CODE",
    "search": "Things are found with: {group} list QUERY",
    "find": "Things are found with: {group} list QUERY",
}


class NounGroup(click.Group):
    """The commands of materials, patterns, variants or flies."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Return the command; raises UsageError, which names the right one for a common other name."""
        cure = _OTHER_NAMES.get(args[0]) if args and args[0] not in self.commands else None
        if cure is not None:
            ctx.fail(f'No such command "{args[0]}". {cure.format(group=ctx.command_path)}.')
        return super().resolve_command(ctx, args)
