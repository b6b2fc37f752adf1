"""`flybench bench sheet`: start the sheet that goes beside a clip."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from flybench.cli.options.sheet import sheet_options, tables_from
from flybench.jobs.bench.sheet import start_sheet

EPILOG = """\b
Examples:
  flybench bench sheet drop.mp4
  flybench bench sheet drop.mp4 --card --temperature "18 degC" --tank-width "200 mm"
"""


@click.command(name="sheet", epilog=EPILOG)
@click.argument("clip", type=click.Path(path_type=Path))
@sheet_options
def command(clip: Path, **options: Any) -> None:
    """Write the sheet CLIP.toml beside CLIP: what you give is filled in, the rest waits to be."""
    path = start_sheet(clip, tables_from(options))
    names = [click.format_filename(name) for name in (path, clip)]
    click.echo(f"Wrote {names[0]}. Fill in what you measured, then:  flybench bench measure {names[1]}")
