"""`flybench print labels`: labels for bins and drawers."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, output_option, overwrite_option, said, wrote
from flybench.cli.options.query import say_how_read
from flybench.cli.options.water import shown_water_of, shown_water_option
from flybench.errors import FlybenchError
from flybench.jobs.printed.labels import print_labels
from flybench.paper.label.label_paper import (
    DEFAULT_LABEL_PAPER,
    LABEL_PAPERS,
    LabelPaper,
    label_paper_named,
    label_paper_of_size,
)
from flybench.telling.printed import labels as telling

Command = Callable[..., None]

_PAPER_OPTIONS = (
    click.option(
        "--label-paper",
        "name",
        metavar="NAME",
        help=f"Paper with labels on it, by page, labels across and down, and size in mm: one of "
        f"{', '.join(LABEL_PAPERS)}.  [default: {DEFAULT_LABEL_PAPER}]",
    ),
    click.option(
        "--paper",
        metavar="NAME|SIZE",
        help='For label paper of your own: the page, which is a4, a5, letter or a size such as "210x297 mm".',
    ),
    click.option("--across", type=int, metavar="N", help="For label paper of your own: labels side by side."),
    click.option(
        "--down", type=int, metavar="N", help="For label paper of your own: labels below each other."
    ),
    click.option(
        "--label-size",
        metavar='"70x37 mm"',
        help="For label paper of your own: width and height of a label.",
    ),
    click.option(
        "--margin",
        metavar='"5x12.5 mm"',
        help="For label paper of your own: from the page's left and upper edges to the first label.  "
        "[default: labels centred on the page]",
    ),
    click.option(
        "--between",
        metavar='"2.5x0 mm"',
        help="For label paper of your own: distance between labels side by side, and below each other.  "
        "[default: 0x0 mm]",
    ),
)
_PAPER_KEYWORDS = ("name", "paper", "across", "down", "label_size", "margin", "between")


def _label_paper_options(command: Command) -> Command:
    """Give the command the options that name or describe label paper."""
    for option in reversed(_PAPER_OPTIONS):
        command = option(command)
    return command


@click.command(name="labels")
@click.argument("query", nargs=-1)
@output_option("File to write, ending in .pdf.", "labels.pdf")
@overwrite_option
@click.option("--flies", is_flag=True, help="Print a label for each tied specimen instead of each variant.")
@click.option(
    "--predict",
    is_flag=True,
    help="For variants that were never measured print a predicted speed, marked as predicted, where it is known "
    "within a factor of 2.",
)
@shown_water_option
@click.option("--copies", type=click.IntRange(1, 1000), default=1, show_default=True, help="Labels of each.")
@click.option("--stock", "by_stock", is_flag=True, help="Print as many labels of each as flies are in stock.")
@_label_paper_options
@click.option(
    "--skip",
    type=click.IntRange(min=0),
    default=0,
    metavar="N",
    help="Labels of the first page that are used up already.",
)
@click.option(
    "--proof",
    is_flag=True,
    help="Begin with a page of outlines: print it on plain paper and hold it against the label paper.",
)
@click.option(
    "--cut-marks",
    is_flag=True,
    help="For plain paper: draw a small mark at the corners of every label, to cut along.",
)
@click.option(
    "--qr",
    default="code",
    show_default=True,
    metavar="FIELDS",
    help='What the QR code holds, such as code or "code,sink"; none for no QR code.',
)
@click.option(
    "--qr-before",
    default="",
    metavar="TEXT",
    help='Text before that in the QR code, such as an address: "https://flies.example/".',
)
@click.option(
    "--currency",
    default="",
    metavar="TEXT",
    help="What stands before the price, such as EUR.  [default: the catalog's]",
)
@click.option("--note", default="", metavar="TEXT", help="A line for every label.")
@click.option(
    "--photo",
    is_flag=True,
    help="Show a small photo of each fly, or of its variant or pattern, where a label has a place free.",
)
@click.option(
    "--font",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="TrueType file for letters that the built-in typeface lacks.",
)
@catalog_option
@json_option
def command(
    query: tuple[str, ...],
    output: Path | None,
    overwrite: bool,
    copies: int,
    by_stock: bool,
    qr: str,
    address: str | None,
    as_json: bool,
    temperature: str | None,
    salinity: str | None,
    **options: Any,
) -> None:
    """Print labels of what QUERY finds: name, sink speed, band, hook, bead, price, code and QR code.

    The speed is the largest thing on a label, and all labels of a sheet have one type size. Small below it stand the two
    speeds between which it lies (k = 2). A fly that was never measured says so, or that its speed is predicted (--predict);
    95 of 100 such flies sink within the interval then. A label names the water where it was set or given, and where the
    speed was measured in other water. Print the file at 100 %, without
    fitting it to the page. Letters of some scripts need more: pip install "flybench[letters]".
    """
    file = output or Path("labels.pdf")
    if file.suffix.lower() != ".pdf":
        raise FlybenchError(f"--output: {file} does not end in .pdf. Labels are written as PDF: name it so.")
    paper = _label_paper(**{name: options.pop(name) for name in _PAPER_KEYWORDS})
    kelvin, salt = shown_water_of(temperature, salinity)
    catalog = opened(address)
    say_how_read("fly" if options["flies"] else "variant", query)
    printed = print_labels(
        catalog,
        query,
        paper,
        file,
        overwrite=overwrite,
        copies=None if by_stock else copies,
        temperature=kelvin,
        salinity=salt,
        qr=[] if qr in ("", "none") else [field.strip() for field in qr.split(",")],
        **options,
    )
    for line in telling.remarks(printed):
        click.echo(line, err=True)
    if as_json:
        said(telling.record(printed, file))
        wrote(file)
    else:
        click.echo("\n".join(telling.lines(printed, file)))


def _label_paper(
    name: str | None,
    paper: str | None,
    across: int | None,
    down: int | None,
    label_size: str | None,
    margin: str | None,
    between: str | None,
) -> LabelPaper:
    """Return the label paper that the options name or describe."""
    if all(one is None for one in (paper, across, down, label_size, margin, between)):
        return label_paper_named(name or DEFAULT_LABEL_PAPER)
    if name is not None:
        raise FlybenchError(
            "--label-paper: names a label paper, and other options describe one of your own. Give one or the other."
        )
    if paper is None or across is None or down is None or label_size is None:
        raise FlybenchError(
            "--paper, --across, --down, --label-size: all four are needed for label paper of your own, as in "
            '--paper a4 --across 3 --down 8 --label-size "70x37 mm". Add what is missing.'
        )
    return label_paper_of_size(paper, across, down, label_size, margin, between or "0x0 mm")
