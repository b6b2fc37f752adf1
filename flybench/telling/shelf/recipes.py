"""What an import or export of recipe files did: words and machine form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from flybench.catalog.recipe.to_rows import Counts, Stored
from flybench.telling.table import paragraph
from flybench.telling.wording import counted


def imported_lines(stored: Stored) -> list[str]:
    """Return how many patterns and materials were added, changed and already there."""
    return [_counts("pattern", stored.patterns), _counts("material", stored.materials)]


def _counts(name: str, counts: Counts) -> str:
    return (
        f"{name.capitalize()}s: {counts.added} added, {counts.changed} changed, "
        f"{counts.unchanged} already in the catalog as they are in the file."
    )


def imported_machine(stored: Stored) -> dict[str, Any]:
    """Return the same numbers for machines."""
    return asdict(stored)


def exported_lines(files: Sequence[Path], folder: Path) -> list[str]:
    """Return how many recipe files are in which folder now."""
    return [paragraph(f"{counted(len(files), 'recipe')} in {folder}, photos beside them.")]


def exported_machine(files: Sequence[Path]) -> list[str]:
    """Return the recipe files for machines."""
    return [str(file) for file in files]
