"""`flybench sink compare`: which of two sinks faster, with what odds, and what one change does."""

from __future__ import annotations

from pathlib import Path

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, overwrite_option, plot_option, said, wrote
from flybench.cli.options.query import say_how_read
from flybench.cli.options.shown import check_plot, show
from flybench.errors import BadValueError

CHANGES = ("bead", "hackle", "resin", "hook")


@click.command(
    name="compare",
    epilog="For example:  flybench sink compare moss-1 moss-2   or   flybench sink compare --change bead style:soft",
)
@click.argument("codes", nargs=-1, metavar="CODE...|QUERY")
@click.option("--variants", is_flag=True, help="The codes are of variants; each is pooled over its flies.")
@click.option(
    "--change",
    type=click.Choice(CHANGES),
    help="Instead of codes: compare all measured variants of one pattern that differ in this alone. A QUERY narrows them.",
)
@plot_option
@overwrite_option
@catalog_option
@json_option
def command(
    codes: tuple[str, ...],
    variants: bool,
    change: str | None,
    plot: Path | None,
    overwrite: bool,
    address: str | None,
    as_json: bool,
) -> None:
    """Compare measured flies: which sinks faster, by how much (± with k = 2), with what odds, what would settle it.

    What two measurements share (scale, walls, thermometer) cancels where their sheets name the same tank, camera and
    scale, and water within 1 K. Speeds in other water are taken to one water by the drag law first. What is said to
    settle it does so in four cases of five, if the flies go on scattering as they did.

    With --change, see what a bigger bead, more hackle, a coat of resin or a bigger hook does. For QUERY see
    flybench variant list --help
    """
    check_plot(plot, overwrite)
    if change is None:
        _compare(codes, variants, plot, address, as_json)
        return
    if variants:
        cure = "Leave it out: --change compares variants anyway"
        raise BadValueError("--variants", "it does not go with --change", cure)
    _change(change, codes, plot, address, as_json)


def _compare(
    codes: tuple[str, ...], variants: bool, plot: Path | None, address: str | None, as_json: bool
) -> None:
    from flybench.jobs.sink.compare import compare_measured
    from flybench.telling.sink import comparison as telling

    found = compare_measured(opened(address), codes, variants)
    if plot is not None:
        from flybench.charts.comparison import compared_picture  # loads matplotlib

        compared_picture(found).write(plot)
        wrote(plot)
    said(telling.record(found)) if as_json else show(telling.lines(found))


def _change(what: str, query: tuple[str, ...], plot: Path | None, address: str | None, as_json: bool) -> None:
    from flybench.jobs.sink.compare import one_change
    from flybench.telling.sink import one_change as telling

    catalog = opened(address)
    say_how_read("variant", query)
    found = one_change(catalog, what, query)
    if plot is not None:
        from flybench.charts.comparison import change_picture  # loads matplotlib

        change_picture(found).write(plot)
        wrote(plot)
    said(telling.record(found)) if as_json else show(telling.lines(found))
