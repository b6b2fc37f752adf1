"""`flybench bench sheet`: start the sheet that goes beside a clip."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from flybench.cli.options.output import output_option, overwrite_option, wrote
from flybench.cli.options.sheet import named_as_typed, sheet_options, tables_from
from flybench.jobs.bench.sheet import start_sheet

EPILOG = """\b
Examples:
  flybench bench sheet drop.mp4
  flybench bench sheet drop.mp4 --card --temperature "18 degC" --tank-width "200 mm"
"""


@click.command(name="sheet", epilog=EPILOG)
@click.argument("clip", type=click.Path(path_type=Path))
@output_option("Sheet to write.", "CLIP.toml beside CLIP, where bench measure looks for it")
@overwrite_option
@sheet_options
def command(clip: Path, output: Path | None, overwrite: bool, **options: Any) -> None:
    """Write a sheet for CLIP, with what you give filled in and a line for everything else that you can measure."""
    with named_as_typed(options):
        path = start_sheet(clip, tables_from(options), output, overwrite)
    wrote(path)
    there = "" if output is None else f" --sheet {click.format_filename(path)}"
    click.echo(
        f"Fill in what you measured, then:\n  flybench bench measure {click.format_filename(clip)}{there}"
    )
