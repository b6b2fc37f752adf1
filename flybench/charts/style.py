"""Shared look of the figures: quiet, and readable in black and white."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.axes import Axes

INK = "#1d2b33"
MUTED = "#7d8a91"
RULE = "#d5dbde"
ACCENT = "#b4551d"
DROPS = ("#1b5e7a", "#b4551d", "#4d7c4a", "#7a4a8a", "#8a7325", "#3c4f9e", "#9e3c5d", "#4a4a4a")
MARKS = ("o", "s", "^", "D", "v", "P", "X", "<")
SMALL = 7.0
BODY = 8.5


def colour_of(number: int) -> str:
    """Return the colour of the n-th drop."""
    return DROPS[number % len(DROPS)]


def mark_of(number: int) -> str:
    """Return the marker of the n-th drop."""
    return MARKS[number % len(MARKS)]


def plain(axes: Axes, title: str, x: str = "", y: str = "") -> None:
    """Give axes a title, labels and a quiet frame."""
    axes.set_title(title, fontsize=BODY, color=INK, loc="left", fontweight="bold")
    axes.set_xlabel(x, fontsize=SMALL, color=INK)
    axes.set_ylabel(y, fontsize=SMALL, color=INK)
    axes.tick_params(labelsize=SMALL, colors=INK, length=2.5)
    axes.grid(True, color=RULE, linewidth=0.5)
    axes.set_axisbelow(True)
    for name, spine in axes.spines.items():
        spine.set_visible(name in ("left", "bottom"))
        spine.set_color(MUTED)
