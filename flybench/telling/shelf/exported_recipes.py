"""Recipe files that were written: words and machine form."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from flybench.telling.table import paragraph
from flybench.telling.wording import counted


def lines(files: Sequence[Path], folder: Path) -> list[str]:
    """Return how many recipe files are in which folder now."""
    return [paragraph(f"{counted(len(files), 'recipe')} in {folder}, photos beside them.")]


def record(files: Sequence[Path]) -> list[str]:
    """Return the recipe files for machines."""
    return [str(file) for file in files]
