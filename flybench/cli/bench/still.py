"""`flybench bench still`: a still of a clip with a grid of its pixels, to read two points off."""

from __future__ import annotations

from pathlib import Path

import click

from flybench.cli.options.output import output_option, overwrite_option, wrote
from flybench.jobs.bench.still import write_still

EPILOG = """\b
Examples:
  flybench bench still drop.mp4
  flybench bench measure drop.mp4 --points "262,143 268,871" --picture "540 x 960"
    --length "250 mm" --temperature "18 degC"

The thin lines are 20 px apart, the numbered ones 100 px. Read two points that
are far apart, best a whole picture's height, and lie in the plane in which
the fly falls; x runs right, y down. If you read them off another picture of
the clip, larger or smaller, give that picture's size as --picture.
"""


@click.command(name="still", epilog=EPILOG)
@click.argument("clip", type=click.Path(path_type=Path))
@output_option("Picture to write, a PNG.", "CLIP.still.png beside CLIP")
@overwrite_option
def command(clip: Path, output: Path | None, overwrite: bool) -> None:
    """Write the upright first frame of CLIP under a grid of its pixels, to read --points off."""
    still = write_still(clip, output, overwrite)
    wrote(still.path)
    click.echo(
        f"The picture is {still.width} x {still.height} px. Read two points off it, then:\n"
        f'  flybench bench measure {click.format_filename(clip)} --points "X,Y X,Y" --length "250 mm" '
        f'--picture "{still.width} x {still.height}"'
    )
