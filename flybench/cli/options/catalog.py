"""The option that names the catalog, and opening it to read or to write."""

from __future__ import annotations

from collections.abc import Callable

import click

from flybench.catalog.store.open import Catalog, open_catalog

Command = Callable[..., None]


def catalog_option(command: Command) -> Command:
    """Give a command the option that names the catalog."""
    return click.option(
        "--catalog",
        "address",
        metavar="FILE|URL",
        envvar="FLYBENCH_CATALOG",
        help="Catalog file, or postgresql:// address.  [default: see flybench catalog where]",
    )(command)


def opened(address: str | None) -> Catalog:
    """Open a catalog that is there, telling on standard error of what was changed in it; never makes one."""
    return _opened(address, make=False)


def opened_or_made(address: str | None) -> Catalog:
    """Open the catalog for a command that puts things in; makes it where there is none."""
    return _opened(address, make=True)


def _opened(address: str | None, make: bool) -> Catalog:
    from flybench.catalog.store.default_place import default_address

    return open_catalog(address or default_address(), lambda line: click.echo(line, err=True), make=make)
