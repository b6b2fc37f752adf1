"""`flybench bench sheet`: start the sheet that goes beside a clip, or keep a set-up under a name."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from flybench.cli.bench.questions import answers
from flybench.cli.options.output import output_option, overwrite_option, wrote
from flybench.cli.options.sheet import named_as_typed, set_up_option, sheet_options, tables_from
from flybench.jobs.bench.set_ups import not_kept, over_set_up, save_set_up
from flybench.jobs.bench.sheet import start_sheet, untold_rate
from flybench.telling.bench.sheet import not_kept_lines, rate_question

EPILOG = """\b
Examples:
  flybench bench sheet drop.mp4
  flybench bench sheet drop.mp4 --card --temperature "18 degC" --tank-width "200 mm"
  flybench bench sheet --save kitchen --card --bar "99.6 mm" --gap "12 mm"
    --tank-width "200 mm" --tank-depth "140 mm" --distance "620 mm"
  flybench bench sheet drop.mp4 --set-up kitchen --temperature "17 degC"

In a terminal, without any value, it asks for one after the other; Enter alone
skips a question. With --save NAME, tank, camera and scale are kept under that
name for bench measure --set-up NAME; water, fly and drops belong to the clip.
"""


@click.command(name="sheet", epilog=EPILOG)
@click.argument("clip", type=click.Path(path_type=Path), required=False)
@click.option("--save", metavar="NAME", help="Keep tank, camera and scale as a set-up of this name.")
@output_option("Sheet to write.", "CLIP.toml beside CLIP, where bench measure looks for it")
@overwrite_option
@set_up_option
@sheet_options
def command(
    clip: Path | None,
    save: str | None,
    output: Path | None,
    overwrite: bool,
    set_up: str | None,
    **options: Any,
) -> None:
    """Write a sheet for CLIP, with what you give filled in and a line for everything else that you can measure."""
    if clip is None and save is None:
        raise click.UsageError("Give the CLIP that the sheet is for, or --save NAME to keep a set-up.")
    with named_as_typed(options):
        tables = over_set_up(set_up, tables_from(options))
        if not tables and _asked():
            tables = answers(place_only=clip is None)
        if save is not None:
            wrote(save_set_up(save, tables, overwrite))
            for line in not_kept_lines(not_kept(tables)):
                click.echo(line)
        if clip is None:
            click.echo(f"To use it:\n  flybench bench measure CLIP --set-up {save}")
            return
        path = start_sheet(clip, tables, output, overwrite)
    wrote(path)
    for line in rate_question(untold_rate(clip, tables)):
        click.echo(line)
    there = "" if output is None else f" --sheet {click.format_filename(path)}"
    click.echo(
        f"Fill in what you measured, then:\n  flybench bench measure {click.format_filename(clip)}{there}"
    )


def _asked() -> bool:
    """Tell whether somebody sits before a terminal."""
    return sys.stdin.isatty() and sys.stdout.isatty()
