"""What an import of recipe files did: words and machine form."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from flybench.catalog.recipe.to_rows import Counts, Stored


def lines(stored: Stored) -> list[str]:
    """Return how many patterns and materials were added, changed and already there."""
    return [_counts("pattern", stored.patterns), _counts("material", stored.materials)]


def _counts(name: str, counts: Counts) -> str:
    return (
        f"{name.capitalize()}s: {counts.added} added, {counts.changed} changed, "
        f"{counts.unchanged} already in the catalog as they are in the file."
    )


def record(stored: Stored) -> dict[str, Any]:
    """Return the same numbers for machines."""
    return asdict(stored)
