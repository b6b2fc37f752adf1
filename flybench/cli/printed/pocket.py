"""`flybench print pocket`: a folded page to carry to the water."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, output_option, overwrite_option, said, wrote
from flybench.cli.options.printing import print_doubts
from flybench.cli.options.query import say_how_read
from flybench.cli.options.river import box_option, river_options, seed_option, texts_from
from flybench.cli.progress import Progress
from flybench.errors import BadValueError

_USUAL = Path("pocket.pdf")


@click.command(
    name="pocket",
    epilog='For example:  flybench print pocket --box "stock:>0" --bed cobble --depth "0.6 m" --depth "1 m" --text',
)
@box_option
@click.option(
    "--dropper", metavar="CODE", help="A fly that is tied on a dropper above every point.  [default: none]"
)
@click.option(
    "--depth",
    "depths",
    multiple=True,
    metavar="QUANTITY",
    help="Depth of a row of the table. Give it up to five times.  [default: 0.5 m, 0.8 m, 1.2 m]",
)
@click.option(
    "--surface-speed",
    "speeds",
    multiple=True,
    metavar="QUANTITY",
    help="Surface speed of a column. Give it up to four times.  [default: 0.3 m/s, 0.6 m/s, 0.9 m/s]",
)
@output_option("The PDF to write.", default="pocket.pdf")
@overwrite_option
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter"]),
    default="a4",
    show_default=True,
    help="Paper in the printer.",
)
@click.option(
    "--text",
    "as_lines",
    is_flag=True,
    help="Write plain text for a phone to standard output, instead of the PDF.",
)
@river_options
@seed_option
@catalog_option
@json_option
def command(
    box: tuple[str, ...],
    dropper: str | None,
    depths: tuple[str, ...],
    speeds: tuple[str, ...],
    output: Path | None,
    overwrite: bool,
    paper: str,
    as_lines: bool,
    seed: int,
    address: str | None,
    as_json: bool,
    **options: Any,
) -> None:
    """Print one page to fold twice and carry: your flies, and for a few depths and speeds the point fly to tie on.

    Each fly stands with the distance upstream of the fish to land it. Flies with "or" between them are as good as each
    other. Black and white, to be read at arm's length: print it at 100 %, on waterproof paper.
    """
    from flybench.files import check_new
    from flybench.jobs.printed.pocket import make_pocket, print_pocket
    from flybench.telling.printed import pocket as telling

    path = output or _USUAL
    on_paper = not as_lines and not as_json
    if on_paper:
        if path.suffix.lower() != ".pdf":
            raise BadValueError(
                "--output", f'"{path}" does not end in .pdf', "Name a file such as pocket.pdf."
            )
        check_new(path, overwrite)
    say_how_read("fly", box)
    progress = Progress()
    try:
        found = make_pocket(
            partial(opened, address), box, texts_from(options), depths, speeds, progress, seed, dropper
        )
    finally:
        progress.close()
    print_doubts(found.table.flags, found.remarks)
    if as_json:
        said(telling.record(found.table, found.remarks))
    elif as_lines:
        click.echo("\n".join(telling.lines(found.table)))
    else:
        _print(print_pocket(found, path, paper), path)


def _print(left: int, path: Path) -> None:
    """Tell what was written, and how many flies found no room."""
    from flybench.telling.wording import counted

    wrote(path)
    click.echo("Print it at 100 % and fold it twice.")
    if left:
        what = "is" if left == 1 else "are"
        text = f"{counted(left, 'fly', 'flies')} of the box {what} left out for want of room: narrow --box."
        click.echo(text, err=True)
