"""`flybench sink law`: how drag goes with speed and water, and what of it was measured."""

from __future__ import annotations

from pathlib import Path

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, overwrite_option, plot_option, said, wrote
from flybench.cli.options.shown import check_plot, show


@click.command(name="law", epilog="For example:  flybench sink law moss-hackle --plot law.png")
@click.argument("code")
@plot_option
@overwrite_option
@catalog_option
@json_option
def command(code: str, plot: Path | None, overwrite: bool, address: str | None, as_json: bool) -> None:
    """Show the drag law of a fly, variant or pattern CODE: how its drag changes with speed and with the water.

    The law is: drag area = drag area at Reynolds number 1000 x (C / C at 1000)^s, where C is the drag coefficient of a
    smooth sphere. The exponent s is 1 where drag goes as a sphere's does, 0 where it goes with the square of the speed,
    and up to 2 for fine fibres. With flies of one dressing on several beads s is measured; else it comes from the
    shop's other flies and from published bodies. How drag goes with the water at one speed is told apart from that: it
    is learned only from a fly that was dropped in two waters.
    """
    from flybench.jobs.sink.law import drag_law
    from flybench.telling.sink import law as telling

    check_plot(plot, overwrite)
    found = drag_law(opened(address), code)
    if plot is not None:
        from flybench.charts.drag_law import law_picture  # loads matplotlib

        law_picture(found.law).write(plot)
        wrote(plot)
    said(telling.record(found)) if as_json else show(telling.lines(found))
