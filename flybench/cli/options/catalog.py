"""The option that names the catalog, and opening it to read or to write."""

from __future__ import annotations

from collections.abc import Callable

import click

from flybench.catalog.store.engine import VARIABLE, default_address
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.jobs.pooled.rules import by_these_rules

Command = Callable[..., None]


def catalog_option(command: Command) -> Command:
    """Give a command the option that names the catalog."""
    return click.option(
        "--catalog",
        "address",
        metavar="FILE|URL",
        envvar=VARIABLE,
        help="Catalog file, or an address that begins with postgresql://  [default: see flybench catalog where]",
    )(command)


def opened(address: str | None) -> Catalog:
    """Open a catalog that is there, saying on standard error what was changed in it; never makes one."""
    return by_these_rules(
        open_catalog(address or default_address(), say, make=False, command=command_name()), say
    )


def opened_or_made(address: str | None) -> Catalog:
    """Open the catalog for a command that puts things in; makes it where there is none."""
    return by_these_rules(open_catalog(address or default_address(), say, command=command_name()), say)


def command_name() -> str:
    """Return what the user runs, such as "variant change"."""
    return " ".join(click.get_current_context().command_path.split()[1:])


def say(line: str) -> None:
    """Write a remark to standard error, apart from the result."""
    click.echo(line, err=True)
