"""`flybench pattern import` and `export`: one recipe file a pattern."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from flybench.cli.options.catalog import catalog_option, opened, opened_or_made
from flybench.cli.options.output import json_option, said
from flybench.jobs.shelf.recipes import export_recipes, import_recipes


@click.command(name="import")
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE|FOLDER...")
@click.option("--replace", is_flag=True, help="Change patterns and materials that are there and differ.")
@catalog_option
@json_option
def import_command(paths: tuple[Path, ...], replace: bool, address: str | None, as_json: bool) -> None:
    """Bring in recipe files (.toml), all of them or none.

    \b
    To change steps: flybench pattern export CODE --to FOLDER, edit the file, and
    flybench pattern import FOLDER --replace. docs/recipe.schema.json helps editors.
    """
    stored = import_recipes(opened_or_made(address), list(paths), replace)
    if as_json:
        said(asdict(stored))
        return
    for name, counts in (("patterns", stored.patterns), ("materials", stored.materials)):
        click.echo(f"{name}: {counts.added} added, {counts.changed} changed, {counts.unchanged} as they were")


@click.command(name="export")
@click.argument("codes", nargs=-1, metavar="[CODE]...")
@click.option("--to", "folder", type=click.Path(path_type=Path), required=True, help="Folder to write to.")
@click.option("--overwrite", is_flag=True, help="Write over files that differ.")
@catalog_option
@json_option
def export_command(
    codes: tuple[str, ...], folder: Path, overwrite: bool, address: str | None, as_json: bool
) -> None:
    """Write a recipe file for each pattern named, or for all."""
    files = export_recipes(opened(address), list(codes) or None, folder, overwrite)
    said([str(file) for file in files]) if as_json else click.echo(f"{len(files)} recipes in {folder}")
