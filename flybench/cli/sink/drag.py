"""`flybench sink drag`: what drags a measured fly has."""

from __future__ import annotations

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.query import say_how_read
from flybench.cli.options.shown import show


@click.command(name="drag", epilog="For example:  flybench sink drag style:hackled")
@click.argument("query", nargs=-1)
@catalog_option
@json_option
def command(query: tuple[str, ...], address: str | None, as_json: bool) -> None:
    """Show the drag of measured flies, from the least to the most, with ± (k = 2).

    The drag area is 2 x weight in water / (density of water x speed²). The drag coefficient is the drag area over the
    bead's frontal area. "Bare beads" is the dressing factor: that many bare beads of the same size would drag as much.
    The Reynolds number is on the bead's diameter (without a bead: on the hook's gape). A fly whose weight is not known
    has no drag.

    For QUERY see flybench fly list --help; without one, all measured flies are shown.
    """
    from flybench.jobs.sink.drags import drags
    from flybench.telling.sink import drag as telling

    catalog = opened(address)
    say_how_read("fly", query)
    found = drags(catalog, query)
    said(telling.record(found)) if as_json else show(telling.lines(found), telling.remarks(found))
