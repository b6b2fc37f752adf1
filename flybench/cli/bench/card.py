"""`flybench bench card`: write the scale card."""

from __future__ import annotations

from pathlib import Path

import click

from flybench.cli.options.output import output_option, overwrite_option, wrote
from flybench.jobs.bench.card import DPI, DPI_RANGE, FORMATS, PAPERS, make_card
from flybench.telling.bench import card as telling

EPILOG = """\b
Examples:
  flybench bench card
  flybench bench card --paper letter --output card.pdf
  flybench bench card --format png --dpi 600
"""


@click.command(name="card", epilog=EPILOG)
@click.option(
    "--paper", type=click.Choice(PAPERS), default="a4", show_default=True, help="Paper in your printer."
)
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    help="Kind of file.  [default: what the name after --output ends in, else pdf]",
)
@click.option(
    "--dpi", type=click.IntRange(*DPI_RANGE), help=f"Dots per inch, for a PNG only.  [default: {DPI}]"
)
@output_option("Card to write.", "scale-card-PAPER.FORMAT in this folder")
@overwrite_option
def command(paper: str, form: str | None, dpi: int | None, output: Path | None, overwrite: bool) -> None:
    """Write the scale card. Print it, check its bar with a ruler, and stand it in the tank behind the fly."""
    form = _form(form, output)
    if dpi is not None and form != "png":
        raise click.UsageError(f"--dpi is for a PNG; a {form} has no dots. Leave it out or add --format png.")
    made = make_card(paper, form, dpi or DPI, output, overwrite)
    wrote(made.path)
    click.echo("\n".join(telling.lines(made)))


def _form(form: str | None, output: Path | None) -> str:
    """Return the format asked for, or the one the file's name says; refuse a name that says another."""
    ending = output.suffix.lstrip(".").lower() if output else ""
    if form and ending in FORMATS and ending != form:
        raise click.UsageError(f"--format {form} does not go with --output {output}. Leave one of them out.")
    return form or (ending if ending in FORMATS else "pdf")
