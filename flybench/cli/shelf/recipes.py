"""`flybench pattern import` and `export`: one recipe file a pattern."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path

import click

from flybench.catalog.store.usual_place import default_address
from flybench.cli.options.catalog import catalog_option, command_name, opened, say
from flybench.cli.options.output import json_option, overwrite_option, said, yes_option
from flybench.jobs.shelf.recipes import export_recipes, import_recipes
from flybench.telling.shelf import exported_recipes, imported_recipes
from flybench.telling.wording import counted


@click.command(name="import")
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE|FOLDER...")
@click.option(
    "--replace",
    is_flag=True,
    help="Where a pattern or material in the catalog differs from the file, change it to what the file says.",
)
@yes_option
@catalog_option
@json_option
def import_command(
    paths: tuple[Path, ...], replace: bool, yes: bool, address: str | None, as_json: bool
) -> None:
    """Read recipe files (.toml) into the catalog: all of them, or none where one has an error.

    What is not written in a file stays as it is in the catalog. With --replace every field that will change is shown and
    asked about, and the catalog is backed up first.

    To change a recipe, write it to a file with "flybench pattern export CODE --output FOLDER", edit the file, and read it
    back with "flybench pattern import FOLDER --replace". The format is explained in docs/recipes.md.
    """
    stored = import_recipes(
        address or default_address(), list(paths), replace, partial(_ask, yes), say, command_name()
    )
    if as_json:
        said(imported_recipes.record(stored))
    else:
        click.echo("\n".join(imported_recipes.lines(stored)))


def _ask(yes: bool, lines: Sequence[str]) -> None:
    """Show every field that will change, and ask whether it shall."""
    for line in lines:
        click.echo(line, err=True)
    if not yes:
        click.confirm(f"Change {counted(len(lines), 'field')}?", abort=True, err=True)


@click.command(name="export")
@click.argument("codes", nargs=-1, metavar="[CODE]...")
@click.option(
    "--output",
    "folder",
    type=click.Path(path_type=Path),
    required=True,
    metavar="FOLDER",
    help="Folder to write the files to; it is made where there is none.",
)
@overwrite_option
@catalog_option
@json_option
def export_command(
    codes: tuple[str, ...], folder: Path, overwrite: bool, address: str | None, as_json: bool
) -> None:
    """Write a recipe file for each pattern named, or for all of them, with its photos.

    A file that holds the same already is left alone.
    """
    files = export_recipes(opened(address), list(codes) or None, folder, overwrite)
    if as_json:
        said(exported_recipes.record(files))
    else:
        click.echo("\n".join(exported_recipes.lines(files, folder)))
