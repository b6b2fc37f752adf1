"""The option that names the catalog, and opening it to read or to write."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from flybench.catalog.store.usual_place import VARIABLE, default_address

if TYPE_CHECKING:
    from flybench.catalog.store.open import Catalog

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
    return _opened(address, make=False)


def opened_or_made(address: str | None, look: Callable[[], object] | None = None) -> Catalog:
    """Open the catalog for a command that puts things in; makes it where there is none.

    ``look`` reads what is to be put in and raises where it cannot be used: then no empty catalog is left behind.
    """
    if look is not None:
        from flybench.catalog.store.open import may_be_there  # loads the database's library

        if not may_be_there(address or default_address()):
            look()
    return _opened(address, make=True)


def _opened(address: str | None, make: bool) -> Catalog:
    from flybench.catalog.store.open import open_catalog  # loads the database's library
    from flybench.jobs.pooled.rules import by_these_rules

    return by_these_rules(
        open_catalog(address or default_address(), say, make=make, command=command_name()), say
    )


def command_name() -> str:
    """Return what the user runs, such as "variant change"."""
    return " ".join(click.get_current_context().command_path.split()[1:])


def say(line: str) -> None:
    """Write a remark to standard error, apart from the result."""
    click.echo(line, err=True)
