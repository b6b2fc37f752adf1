"""How answers about a river are printed: heads in bold, doubts in yellow on standard error, and the caution last."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import click


def print_table(lines: Sequence[str], heads: int) -> None:
    """Print lines, the first of them, the heads of a table, in bold."""
    for number, line in enumerate(lines):
        click.echo(click.style(line, bold=True) if number < heads else line)


def print_doubts(flags: Sequence[str], remarks: Sequence[str] = ()) -> None:
    """Print, on standard error, remarks and what makes a result doubtful."""
    from flybench.telling.river.drift import flag_lines
    from flybench.telling.table import paragraph

    for remark in remarks:
        click.echo(paragraph(remark), err=True)
    print_doubt_lines(flag_lines(flags))


def print_doubt_lines(lines: Sequence[str]) -> None:
    """Print, on standard error, what makes a result doubtful, as told already."""
    for line in lines:
        click.echo(click.style(line, fg="yellow"), err=True)


def print_caution(current: Any) -> None:
    """Print, on standard error, what everybody who wades should read, and whether this water is hard to stand in."""
    from flybench.telling.river.drift import caution

    click.echo(caution(current), err=True)
