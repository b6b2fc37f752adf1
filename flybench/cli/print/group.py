"""`flybench print`: what goes on paper."""

from __future__ import annotations

from pathlib import Path

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.print.pocket import command as pocket
from flybench.errors import FlybenchError
from flybench.jobs.printed.labels import labels_for, print_labels
from flybench.paper.label.papers import DEFAULT, PAPERS, PRESETS, custom_sheet, sheet_named
from flybench.paper.label.sheet import LabelSheet


@click.group(name="print")
def command() -> None:
    """Labels for bins and drawers; a sheet for the pocket."""


command.add_command(pocket)


@command.command("labels")
@click.argument("query", nargs=-1)
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), default=Path("labels.pdf"), show_default=True
)
@click.option("--flies", is_flag=True, help="A label per tied specimen instead of per variant.")
@click.option("--predict", is_flag=True, help="Predicted speeds, marked so, for variants not measured yet.")
@click.option("--copies", type=click.IntRange(1, 1000), default=1, show_default=True, help="Of each label.")
@click.option("--stock", "by_stock", is_flag=True, help="As many of each as flies are on hand.")
@click.option(
    "--sheet", default=None, metavar="NAME", help=f"One of {', '.join(PRESETS)}.  [default: {DEFAULT}]"
)
@click.option("--paper", type=click.Choice(sorted(PAPERS)), help="For a sheet of your own: its paper,")
@click.option("--columns", type=click.IntRange(1, 50), help="labels across,")
@click.option("--rows", type=click.IntRange(1, 100), help="labels down,")
@click.option("--label", metavar='"70x37 mm"', help="width x height of a label,")
@click.option("--margin", metavar='"0x0.5 mm"', help="left x top margin (centred without it),")
@click.option("--gap", default="0x0 mm", show_default=True, help="gaps across x down.")
@click.option(
    "--skip", type=click.IntRange(min=0), default=0, help="Labels of the first page that are used up."
)
@click.option("--proof", is_flag=True, help="A first page with outlines to hold against the sheet.")
@click.option(
    "--qr", default="{code}", show_default=True, metavar="TEXT", help='Fields for the QR code; "" for none.'
)
@click.option("--currency", default="", metavar="TEXT", help="Before the price.")
@click.option("--note", default="", metavar="TEXT", help="A line on each label.")
@click.option(
    "--font", type=click.Path(path_type=Path), help="TrueType file for letters that are not at hand."
)
@catalog_option
def labels(
    query: tuple[str, ...],
    output: Path,
    flies: bool,
    predict: bool,
    copies: int,
    by_stock: bool,
    sheet: str | None,
    paper: str | None,
    columns: int | None,
    rows: int | None,
    label: str | None,
    margin: str | None,
    gap: str,
    skip: int,
    proof: bool,
    qr: str,
    currency: str,
    note: str,
    font: Path | None,
    address: str | None,
) -> None:
    """Print labels of what QUERY finds: code, sink speed with +- (k = 2), band, hook, bead, price, QR code.

    A fly that was never measured says so, or that its speed is predicted (--predict). Print at 100 %, without
    fitting to the page.
    """
    if output.suffix.lower() != ".pdf":
        raise click.UsageError(f"--output {output}: give a name that ends in .pdf.")
    chosen = _sheet(sheet, paper, columns, rows, label, margin, gap)
    found = labels_for(
        opened(address),
        query,
        flies=flies,
        copies=None if by_stock else copies,
        qr=qr,
        currency=currency,
        note=note,
        predict=predict,
    )
    pages, notes = print_labels(found, chosen, output, skip, proof, font)
    for line in notes:
        click.echo(line, err=True)
    told = f"{_counted('label', len(found))} on {_counted('page', pages)}"
    click.echo(f"{told}: {click.format_filename(output)}. Print at 100 %.")


def _counted(name: str, count: int) -> str:
    return f"{count} {name}{'s' * (count != 1)}"


def _sheet(
    name: str | None,
    paper: str | None,
    columns: int | None,
    rows: int | None,
    label: str | None,
    margin: str | None,
    gap: str,
) -> LabelSheet:
    own = (paper, columns, rows, label)
    if all(one is None for one in own):
        return sheet_named(name or DEFAULT)
    if name is not None or paper is None or columns is None or rows is None or label is None:
        raise FlybenchError(
            "A sheet of your own takes --paper, --columns, --rows and --label, and no --sheet."
        )
    return custom_sheet(paper, columns, rows, label, margin, gap)
