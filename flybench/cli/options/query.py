"""Saying how a query was read, before what it finds."""

from __future__ import annotations

from collections.abc import Sequence

import click


def say_how_read(name: str, query: Sequence[str]) -> None:
    """Write to standard error how a query for things of this name was read: ranges of numbers, commas, words.

    Raises BadValueError for a query that cannot be read.
    """
    if not query:
        return
    from flybench.catalog.search.nouns import NOUNS  # only where something is looked for
    from flybench.telling.shelf.query_read import how_read
    from flybench.telling.table import paragraph

    for line in how_read(NOUNS[name], query):
        click.echo(paragraph(line), err=True)
