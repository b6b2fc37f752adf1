"""`flybench scan`: the QR codes of labels, read from photos."""

from __future__ import annotations

from pathlib import Path

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.shown import show
from flybench.jobs.photos.scanning import known_labels
from flybench.telling.photos import scanned as telling


@click.command(
    "scan",
    epilog="""\b
In the place of a code, any command takes scan:PHOTO:
  flybench variant show scan:drawer.jpg
  flybench stock sale scan:three-flies.jpg
  flybench stock take scan:drawer.jpg=18""",
)
@click.argument("photos", metavar="PHOTO...", nargs=-1, required=True, type=click.Path(path_type=Path))
@catalog_option
@json_option
def command(photos: tuple[Path, ...], address: str | None, as_json: bool) -> None:
    """Read the QR codes of labels from photos, and show what in the catalog each of them belongs to.

    One photo may show a whole sheet of labels, from any side. A code on it that cannot be read is told.
    """
    found = known_labels(opened(address), photos)
    said(telling.record(found)) if as_json else show(telling.lines(found))
    show([], telling.remarks(found))
