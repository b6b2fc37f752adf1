"""`flybench print pocket`: a folded sheet to carry to the water."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from flybench.cli.nouns import catalog_option, opened
from flybench.cli.progress import Progress
from flybench.cli.rig_options import asked_from, rig_options, seed_option


@click.command(
    name="pocket",
    epilog='For example:  flybench print pocket --box "stock:>0" --bed cobble --depths "0.6 m, 1 m" --text',
)
@click.option(
    "--box", multiple=True, metavar="QUERY", help="Flies in the box, as in: fly list --help.  [default: all]"
)
@click.option(
    "--depths", default="0.5 m, 0.8 m, 1.2 m", show_default=True, metavar="QUANTITIES", help="Up to five."
)
@click.option(
    "--surface-speeds",
    default="0.3 m/s, 0.6 m/s, 0.9 m/s",
    show_default=True,
    metavar="QUANTITIES",
    help="Up to four.",
)
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), default=Path("pocket.pdf"), show_default=True
)
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True)
@click.option(
    "--text", "as_lines", is_flag=True, help="Plain text for a phone, to standard output, instead of the PDF."
)
@rig_options
@seed_option
@catalog_option
def command(
    box: tuple[str, ...],
    depths: str,
    surface_speeds: str,
    output: Path,
    paper: str,
    as_lines: bool,
    seed: int,
    address: str | None,
    **options: Any,
) -> None:
    """Print one sheet to fold twice and carry: the box's ladder, and for a few depths and speeds the point fly.

    Black and white, to be read at arm's length; print it on waterproof paper at 100 %.
    """
    from flybench.hydraulics.water import Water
    from flybench.jobs.box import box_of
    from flybench.jobs.pocket import as_text, pocket, print_pocket
    from flybench.quantity import parse

    if not as_lines and output.suffix.lower() != ".pdf":
        raise click.UsageError(f"--output {output}: give a name that ends in .pdf.")
    asked = asked_from(options)
    deep, fast = _several(depths, 5, "--depths"), _several(surface_speeds, 4, "--surface-speeds")
    flies = box_of(opened(address), box, Water(parse(asked.temperature, "K", "temperature")))
    progress = Progress()
    try:
        found = pocket(flies, asked, deep, fast, progress, seed)
    finally:
        progress.close()
    for remark in found.remarks:
        click.echo(remark, err=True)
    if as_lines:
        click.echo("\n".join(as_text(found.page)))
        return
    left = print_pocket(found, output, paper)
    if left:
        click.echo(f"{left} of the fastest flies found no room on the ladder: narrow --box.", err=True)
    click.echo(f"Pocket sheet: {click.format_filename(output)}. Print at 100 % and fold twice.")


def _several(text: str, most: int, name: str) -> list[str]:
    found = [part.strip() for part in text.split(",") if part.strip()]
    if not 1 <= len(found) <= most:
        raise click.BadParameter(
            f"{len(found)} are given; give 1 to {most}, parted by commas.", param_hint=name
        )
    return found
