"""What a CSV file changes, or has changed, in words and as machine form."""

from __future__ import annotations

from typing import Any

from flybench.catalog.search.fields import Noun
from flybench.catalog.tables.vocabulary import Action
from flybench.jobs.trade.csv_update import Update
from flybench.telling.history.changes import row_lines
from flybench.telling.wording import counted

_MOST = 200
"""Lines that are shown (judgement: a screen can be scrolled back so far); the rest is counted."""


def lines(update: Update) -> list[str]:
    """Return a line for each thing that is added or changed, old and new, and in the last line how many there are."""
    texts = row_lines(update.rows)
    more = [f"and {len(texts) - _MOST} more"] if len(texts) > _MOST else []
    added, changed = _codes(update)
    ending = (
        f"{len(added)} added, {len(changed)} changed, {counted(update.unchanged, 'line')} without a change."
    )
    return [*texts[:_MOST], *more, *_not_read(update), ending]


def _not_read(update: Update) -> list[str]:
    """Return a line on columns in which a change has no effect."""
    if not update.not_read:
        return []
    names = ", ".join(update.not_read)
    return [f"These columns are not read, as they are worked out or kept by other commands: {names}."]


def _codes(update: Update) -> tuple[list[str], list[str]]:
    """Return the codes of what is added, and of what was there and is changed."""
    added = {row.code for row in update.rows if row.action is Action.ADDED}
    return sorted(added), sorted({row.code for row in update.rows} - added)


def record(noun: Noun, update: Update) -> dict[str, Any]:
    """Return the machine form: codes that were added and that were changed, and how many lines changed nothing."""
    added, changed = _codes(update)
    return {"noun": noun.name, "added": added, "changed": changed, "unchanged": update.unchanged}
