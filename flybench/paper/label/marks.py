"""What is drawn on one label.

Coordinates: points, x to the right and y downwards, from the top left corner of the label's safe area.
"""

from __future__ import annotations

from dataclasses import dataclass

from flybench.paper.label.qr import Grid
from flybench.paper.label.text import Line


@dataclass(frozen=True)
class SetLine:
    """A line of text: the left end of its baseline and its type size [points]; white on black, or black."""

    x: float
    y: float
    size: float
    line: Line
    white: bool = False


@dataclass(frozen=True)
class Frame:
    """A rectangle [points]: filled black, or a dashed outline inside these sides."""

    x: float
    y: float
    width: float
    height: float
    filled: bool


@dataclass(frozen=True)
class QrMark:
    """A QR code: the top left corner of its quiet zone and the side of a module [points]."""

    x: float
    y: float
    module: float
    grid: Grid


@dataclass(frozen=True)
class LaidOut:
    """A label laid out; ``left_out`` and ``shortened`` name the parts that had no room."""

    lines: tuple[SetLine, ...]
    frame: Frame | None = None
    qr: QrMark | None = None
    left_out: tuple[str, ...] = ()
    shortened: tuple[str, ...] = ()
