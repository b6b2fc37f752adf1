"""Printing what telling says: the head of a table or of a text in bold, remarks apart from the result."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

import click

from flybench.telling.table import paragraph


def show(lines: Sequence[str], remarks: Iterable[str] = (), warnings: Iterable[str] = ()) -> None:
    """Print a result to standard output, its first line in bold, and what else should be known to standard error."""
    if lines:
        click.echo(click.style(lines[0], bold=True))
    if len(lines) > 1:
        click.echo("\n".join(lines[1:]))
    for line in warnings:
        click.echo(click.style(paragraph(line), fg="yellow"), err=True)
    for line in remarks:
        click.echo(paragraph(line), err=True)


def check_plot(path: Path | None, overwrite: bool) -> None:
    """Refuse a picture that cannot be written, before any work is done; raises FlybenchError, or BadValueError."""
    from flybench.charts.figure import check_picture  # only where a picture is wanted

    if path is not None:
        check_picture(path, overwrite)
