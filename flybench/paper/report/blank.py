"""The blank page: A4 upright, on which words, rules and pictures are put in points from its top left corner."""

from __future__ import annotations

from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from flybench.charts.style import BODY, INK, RULE

WIDTH, HEIGHT = 595.276, 841.890
"""A4 upright [points] (ISO 216: 210 x 297 mm)."""
DPI = 150
"""Of the PNG: sharp when printed, and small enough to send (judgement) [dots per inch]."""
LEFT, RIGHT = 42.0, WIDTH - 42.0
"""Edges of what is printed, 15 mm inside the paper: more than any printer leaves white [points]."""
TOP, FOOT = 34.0, HEIGHT - 46.0
"""Upper edge of what is printed, and the rule above the small print [points]."""
LINE = 10.6
"""Line to line in tables and flags, 1.5 of the type [points]."""


class Page:
    """A figure on which words, rules and axes are put in points from the top left corner."""

    def __init__(self) -> None:
        """Take a white sheet."""
        self.figure = Figure(figsize=(WIDTH / 72, HEIGHT / 72), dpi=DPI, facecolor="white")

    def write(self, x: float, y: float, words: str, size: float = BODY, **look: Any) -> None:
        """Write one line with its baseline at ``y``; dollar signs are dollar signs."""
        look = {"color": INK, "family": "DejaVu Sans", "parse_math": False, **look}
        self.figure.text(x / WIDTH, 1 - y / HEIGHT, words, fontsize=size, va="baseline", **look)

    def rule(self, y: float) -> None:
        """Draw a thin line over the page."""
        ends = [LEFT / WIDTH, RIGHT / WIDTH]
        self.figure.add_artist(Line2D(ends, [1 - y / HEIGHT] * 2, color=RULE, linewidth=0.8))

    def mark(self, x: float, y: float, sign: str, colour: str) -> None:
        """Draw one plot marker."""
        at = ([x / WIDTH], [1 - y / HEIGHT])
        self.figure.add_artist(Line2D(*at, marker=sign, color=colour, markersize=4, markeredgewidth=0))

    def axes(self, left: float, top: float, right: float, bottom: float) -> Axes:
        """Add axes whose frame has these sides."""
        box = (left / WIDTH, 1 - bottom / HEIGHT, (right - left) / WIDTH, (bottom - top) / HEIGHT)
        return self.figure.add_axes(box)
