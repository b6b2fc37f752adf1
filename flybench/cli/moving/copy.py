"""`flybench catalog copy`: the whole catalog to another place, file or server."""

from __future__ import annotations

import click

from flybench.cli.options.catalog import opened
from flybench.cli.options.output import json_option, said
from flybench.cli.progress import Progress


@click.command(
    "copy",
    epilog="""\b
Examples:
  flybench catalog copy shop.sqlite postgresql://shop@server/flies
  flybench catalog copy postgresql://shop@server/flies shop.sqlite""",
)
@click.argument("source", metavar="FROM")
@click.argument("target", metavar="TO")
@json_option
def command(source: str, target: str, as_json: bool) -> None:
    """Copy the whole catalog FROM to TO: each a file, or an address that begins with postgresql://.

    There must be no catalog at TO yet, or an empty one. FROM stays as it is, and may be used meanwhile: what is
    copied is as it was when the copy began. All tables are compared in the end. A copy that is broken off is
    taken up again by the same command; until it is finished nothing opens it.
    """
    from flybench.catalog.store.copying import copy_catalog
    from flybench.telling.moving import copied

    progress = Progress()
    try:
        copy = copy_catalog(opened(source), target, progress)
    finally:
        progress.close()
    said(copied.record(copy)) if as_json else click.echo("\n".join(copied.lines(copy)))
