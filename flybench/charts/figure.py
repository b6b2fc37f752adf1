"""One pair of axes as a figure or a file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from flybench.errors import BadValueError
from flybench.files import check_new, check_writable, whole_file

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FORMATS = (".png", ".pdf", ".svg")
"""Endings of the pictures that can be drawn."""
_DPI = 150
"""Dots per inch of a PNG [1/inch]: sharp on a screen and fair on paper (judgement)."""


def check_picture(path: Path, overwrite: bool) -> None:
    """Refuse, before any work is done, a picture that cannot be drawn, or a file that may not be replaced.

    Raises BadValueError for a format that is none of ``FORMATS``, FlybenchError as ``files.check_new``.
    """
    check_format(path.suffix)
    check_new(path, overwrite)


def check_format(suffix: str) -> str:
    """Return the ending of a picture in lower case; raises BadValueError where it is none of ``FORMATS``."""
    kind = suffix.lower()
    if kind not in FORMATS:
        cure = f"End its name in one of {', '.join(FORMATS)}."
        raise BadValueError("--plot", f'"{suffix}" is not a kind of picture that can be drawn', cure)
    return kind


@dataclass(frozen=True)
class Picture:
    """What to draw on one pair of axes, and how wide and high [inch]."""

    width: float
    height: float
    draw: Callable[[Axes], None]

    def figure(self) -> Figure:
        """Return it drawn."""
        from matplotlib.figure import Figure  # takes half a second

        figure = Figure(figsize=(self.width, self.height), dpi=_DPI, facecolor="white", layout="constrained")
        self.draw(figure.subplots())
        return figure

    def write(self, path: Path) -> None:
        """Write it as PNG, PDF or SVG, whole or not at all, over a file that is there.

        Raises BadValueError for another ending, FlybenchError as files do; see ``check_picture`` for what may be replaced.
        """
        kind = check_format(path.suffix)
        check_writable(path)
        with whole_file(path) as part:
            self.figure().savefig(
                part, format=kind[1:], metadata=None if kind == ".png" else {"Creator": "flybench"}
            )
