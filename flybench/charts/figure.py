"""One pair of axes as a file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from flybench.errors import BadValueError

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FORMATS = (".png", ".pdf", ".svg")
_DPI = 150


def save_figure(path: Path, suffix: str, width: float, height: float, draw: Callable[[Axes], None]) -> None:
    """Draw on one pair of axes and save it to ``path`` in the format of ``suffix``; sizes in inches.

    Raises BadValueError for a format that is none of ``FORMATS``.
    """
    from matplotlib.figure import Figure  # takes half a second

    kind = suffix.lower()
    if kind not in FORMATS:
        raise BadValueError("plot", f'"{suffix}" is no picture here', f"Use one of {', '.join(FORMATS)}.")
    figure = Figure(figsize=(width, height), dpi=_DPI, facecolor="white", layout="constrained")
    draw(figure.subplots())
    figure.savefig(path, format=kind[1:], metadata=None if kind == ".png" else {"Creator": "flybench"})
