"""`flybench sink compare`: which of two sinks faster, how surely, and what one change does."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.errors import BadValueError

if TYPE_CHECKING:
    from flybench.jobs.sink.compare import Compared
    from flybench.jobs.sink.one_change import OneChange

CHANGES = ("bead", "hackle", "resin", "hook")


@click.command(
    name="compare",
    epilog="For example:  flybench sink compare moss-1 moss-2   or   flybench sink compare --change bead style:soft",
)
@click.argument("codes", nargs=-1, metavar="CODE...|QUERY")
@click.option("--variants", is_flag=True, help="Codes are of variants, each pooled over its flies.")
@click.option(
    "--change",
    type=click.Choice(CHANGES),
    help="Instead: all measured variants of one pattern that differ in this alone; QUERY narrows them.",
)
@click.option("--plot", type=click.Path(path_type=Path), metavar="FILE", help="Picture: PNG, PDF or SVG.")
@catalog_option
@json_option
def command(
    codes: tuple[str, ...],
    variants: bool,
    change: str | None,
    plot: Path | None,
    address: str | None,
    as_json: bool,
) -> None:
    """Tell which of measured flies sinks faster: by how much with ± (k = 2), how surely, what would settle it.

    What two measurements share (scale, walls, thermometer) cancels where their sheets name one tank, camera and scale
    and water within 1 K. Speeds in other water are taken to one water by the drag law first. "Would settle it" means:
    in four cases of five, if they go on scattering as they did.

    With --change, see what a bigger bead, more hackle, a coat of resin or a bigger hook does. QUERY as in:
    flybench variant list --help
    """
    if change is not None:
        _change(change, codes, variants, plot, address, as_json)
        return
    from flybench.jobs.sink.compare import compare_measured
    from flybench.telling.comparison import compared_lines, compared_record

    found = compare_measured(opened(address), codes, variants)
    if plot is not None:
        _plot(found, plot)
    said(compared_record(found)) if as_json else _echo(compared_lines(found))


def _change(
    what: str, query: tuple[str, ...], variants: bool, plot: Path | None, address: str | None, as_json: bool
) -> None:
    from flybench.jobs.sink.one_change import one_change
    from flybench.telling.comparison import change_lines, change_record

    if variants:
        raise BadValueError(
            "variants", "stands beside --change", "--change is about variants anyway: leave it out"
        )
    found = one_change(opened(address), what, query)
    if plot is not None:
        _plot(found, plot)
    said(change_record(found)) if as_json else _echo(change_lines(found))


def _echo(lines: list[str]) -> None:
    head, *rest = lines
    click.echo(click.style(head, bold=True))
    for line in rest:
        click.echo(line)


def _plot(found: Compared | OneChange, path: Path) -> None:
    from flybench.jobs.sink.compare import Compared
    from flybench.jobs.sink.compare_pictures import plot_change, plot_compared  # loads matplotlib

    if isinstance(found, Compared):
        plot_compared(found, path)
    else:
        plot_change(found, path)
    click.echo(f"Picture: {click.format_filename(path)}", err=True)
