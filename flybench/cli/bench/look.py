"""`flybench bench look`: is the tank ready to film?"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from flybench.cli.options.output import json_option, said
from flybench.cli.options.sheet import named_as_typed, sheet_options, tables_from
from flybench.jobs.bench.look import look_at
from flybench.telling.bench import look as telling

EPILOG = """\b
Examples:
  flybench bench look tank.jpg
  flybench bench look two-seconds.mp4
  flybench bench look tank.jpg --temperature "18 degC" --distance "480 mm"
"""


@click.command(name="look", epilog=EPILOG)
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--sheet",
    type=click.Path(path_type=Path),
    help="Sheet of this set-up.  [default: FILE.toml, if there is one]",
)
@json_option
@sheet_options
def command(file: Path, sheet: Path | None, as_json: bool, **options: Any) -> None:
    """Look at FILE, a photo or two seconds of clip of the tank with its card, before the first fly is dropped.

    Says whether the picture is upright, near, sharp and light enough, what precision to expect, and what to change first.
    """
    with named_as_typed(options):
        seen = look_at(file, sheet, tables_from(options))
    said(telling.record(seen)) if as_json else click.echo("\n".join(telling.lines(seen)))
