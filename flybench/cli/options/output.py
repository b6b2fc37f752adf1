"""Options for what a command writes: the machine form, the file it makes, a picture, and replacing files."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

Command = Callable[..., None]

json_option = click.option(
    "--json",
    "as_json",
    is_flag=True,
    help="Write the machine form to standard output and nothing else there: SI units, null where unknown.",
)
overwrite_option = click.option("--overwrite", is_flag=True, help="Replace a file that exists already.")
plot_option = click.option(
    "--plot",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Draw a picture, to a .png, .pdf or .svg file.",
)
yes_option = click.option("--yes", is_flag=True, help="Do it without asking.")


def output_option(what: str, default: str | None = None) -> Callable[[Command], Command]:
    """Return the option for the file that a command exists to make; ``default`` in words, where there is one."""
    ending = "" if default is None else f"  [default: {default}]"
    return click.option("--output", type=click.Path(path_type=Path), metavar="FILE", help=f"{what}{ending}")


def said(value: Any) -> None:
    """Print a machine form."""
    click.echo(json.dumps(value, indent=1, ensure_ascii=False))


def wrote(path: Path) -> None:
    """Tell, apart from the result, where a file was written."""
    click.echo(f"Wrote {click.format_filename(path)}", err=True)
