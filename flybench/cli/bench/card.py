"""`flybench bench card`: write the scale card."""

from __future__ import annotations

from pathlib import Path

import click

from flybench.jobs.bench.card import CAUTION, DPI, DPI_RANGE, FORMATS, PAPERS, CardMade, make_card

EPILOG = """\b
Examples:
  flybench bench card
  flybench bench card --paper letter --output card.pdf
  flybench bench card --format png --dpi 600
"""


@click.command(name="card", epilog=EPILOG)
@click.option(
    "--paper", type=click.Choice(PAPERS), default="a4", show_default=True, help="Paper in the printer."
)
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="Kind of file.  [default: as --output ends, else pdf]",
)
@click.option("--dpi", type=click.IntRange(*DPI_RANGE), help=f"Dots per inch, PNG only.  [default: {DPI}]")
@click.option(
    "--output",
    type=click.Path(path_type=Path),
    help="File to write.  [default: scale-card-PAPER.FORMAT in this folder]",
)
@click.option("--overwrite", is_flag=True, help="Replace the file if it exists.")
def command(paper: str, form: str | None, dpi: int | None, output: Path | None, overwrite: bool) -> None:
    """Write the scale card: print it, check its bar with a ruler, stand it in the tank behind the fly."""
    form = _form(form, output)
    if dpi is not None and form != "png":
        raise click.UsageError(f"--dpi is for PNG; a {form} has no dots. Leave it off or add --format png.")
    made = make_card(paper, form, dpi or DPI, output, overwrite)
    click.echo("\n".join(_report(made)))


def _form(form: str | None, output: Path | None) -> str:
    """Return the format asked for, or the one the file's name says; refuse a name that says another."""
    ending = output.suffix.lstrip(".").lower() if output else ""
    if form and ending in FORMATS and ending != form:
        raise click.UsageError(f"--format {form} does not go with --output {output}. Leave one of them off.")
    return form or (ending if ending in FORMATS else "pdf")


def _report(made: CardMade) -> list[str]:
    """Return what was written, how to print and check it, and the caution."""
    width, height = (1000 * side for side in made.size)
    dots = f", {made.dpi} dpi" if made.dpi else ""
    return [
        f"Wrote {made.path} ({made.format.upper()}, {width:g} x {height:g} mm{dots}).",
        f"Print it at 100 %, without fit-to-page, on {made.paper.capitalize()} paper.",
        f"Check: lay a ruler along the {1000 * made.bar:g} mm bar, from the middle of one end tick to the",
        '  other. Put what it says in the sheet, to a quarter of a millimetre:  [scale]  bar = "100.0 mm"',
        CAUTION,
    ]
