"""`flybench print pocket`: a folded sheet to carry to the water."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.river import asked_from, river_options, seed_option
from flybench.cli.progress import Progress
from flybench.errors import BadValueError


@click.command(
    name="pocket",
    epilog='For example:  flybench print pocket --box "stock:>0" --bed cobble --depth "0.6 m" --depth "1 m" --text',
)
@click.option(
    "--box", multiple=True, metavar="QUERY", help="Flies in the box, as in: fly list --help.  [default: all]"
)
@click.option("--dropper", metavar="CODE", help="A fly on a dropper above every point.  [default: none]")
@click.option(
    "--depth",
    "depths",
    multiple=True,
    metavar="QUANTITY",
    help="Depth of a row; up to five.  [default: 0.5 m, 0.8 m, 1.2 m]",
)
@click.option(
    "--surface-speed",
    "speeds",
    multiple=True,
    metavar="QUANTITY",
    help="Surface speed of a column; up to four.  [default: 0.3 m/s, 0.6 m/s, 0.9 m/s]",
)
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), default=Path("pocket.pdf"), show_default=True
)
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True)
@click.option(
    "--text", "as_lines", is_flag=True, help="Plain text for a phone, to standard output, instead of the PDF."
)
@river_options
@seed_option
@catalog_option
def command(
    box: tuple[str, ...],
    dropper: str | None,
    depths: tuple[str, ...],
    speeds: tuple[str, ...],
    output: Path,
    paper: str,
    as_lines: bool,
    seed: int,
    address: str | None,
    **options: Any,
) -> None:
    """Print one sheet to fold twice and carry: the box's ladder, and for a few depths and speeds the point fly.

    Black and white, to be read at arm's length; print it on waterproof paper at 100 %. Each fly has the way upstream to
    land it. "or" parts flies that cannot be told apart.
    """
    from flybench.files import check_writable
    from flybench.jobs.printed.pocket import DEPTHS, SPEEDS, as_text, print_pocket

    if not as_lines:
        if output.suffix.lower() != ".pdf":
            raise BadValueError(
                "output", f'"{output}" does not end in .pdf', "Name a file such as pocket.pdf."
            )
        check_writable(output)
    deep, fast = _several(depths, DEPTHS, 5, "depth"), _several(speeds, SPEEDS, 4, "surface-speed")
    found = _found(box, dropper, deep, fast, seed, address, options)
    for remark in found.remarks:
        click.echo(remark, err=True)
    _flags(found.flags)
    if as_lines:
        click.echo("\n".join(as_text(found.page)))
        return
    left = print_pocket(found, output, paper)
    if left:
        click.echo(f"{left} flies found no room on the ladder: narrow --box.", err=True)
    click.echo(f"Pocket sheet: {click.format_filename(output)}. Print at 100 % and fold twice.")


def _found(
    box: tuple[str, ...],
    dropper: str | None,
    depths: tuple[str, ...],
    speeds: tuple[str, ...],
    seed: int,
    address: str | None,
    options: dict[str, Any],
) -> Any:
    """Return the sheet's content for what was asked, told with a progress bar."""
    from flybench.hydraulics.water import Water
    from flybench.jobs.printed.pocket import pocket
    from flybench.jobs.river.box import Known
    from flybench.quantity import parse

    asked = asked_from(options)
    if dropper is None and asked.dropper_gap is not None:
        raise BadValueError("dropper-gap", "is given without a dropper", "Name its fly with --dropper CODE.")
    water, known = Water(parse(asked.temperature, "K", "temperature")), Known(opened(address))
    flies = known.box(box, water)
    above = None if dropper is None else known.fly(dropper, water, "dropper")
    progress = Progress()
    try:
        return pocket(flies, asked, depths, speeds, progress, seed, above)
    finally:
        progress.close()


def _flags(flags: tuple[str, ...]) -> None:
    from flybench.rig.odds.flags import FLAGS

    for flag in flags:
        click.echo(click.style(f"{flag}: {FLAGS[flag].meaning} {FLAGS[flag].cure}", fg="yellow"), err=True)


def _several(given: tuple[str, ...], usual: tuple[str, ...], most: int, key: str) -> tuple[str, ...]:
    """Return what was given, or the usual; refuse more than the sheet has room for."""
    if len(given) > most:
        raise BadValueError(key, f"{len(given)} are given", f"Give {most} at most: more are not readable.")
    return given or usual
