"""Shared look of the figures: quiet, and readable in black and white."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flybench.bench.verdict.result import MeasuredDrop

if TYPE_CHECKING:
    from matplotlib.axes import Axes

INK = "#1d2b33"
MUTED = "#6d7a81"
RULE = "#d5dbde"
ACCENT = "#b4551d"
DROPS = ("#1b5e7a", "#b4551d", "#4d7c4a", "#7a4a8a", "#8a7325", "#3c4f9e", "#9e3c5d", "#4a4a4a")
MARKS = ("o", "s", "^", "D", "v", "P", "X", "<")
LINES: tuple[Any, ...] = (
    "-",
    (0, (6, 1.5)),
    (0, (4, 1, 1, 1)),
    (0, (2, 1)),
    (0, (8, 2)),
    (0, (6, 1, 1, 1, 1, 1)),
    (0, (1, 1)),
    (0, (3, 2)),
)
"""Colours, markers and line styles of the drops in turn: told apart in black and white by the latter two (judgement)."""
SMALL = 7.0
"""Small type, of axes and legends [points]: the least that reads well on paper (judgement)."""
MOST_NAMED = 8
"""Drops that are told apart by name; more would not find room."""
BODY = 8.5
"""Type of titles [points] (judgement)."""


def look_of(number: int, measured: MeasuredDrop) -> tuple[str, str, Any]:
    """Return colour, marker and line style of the n-th drop; those not used are grey."""
    turn = number % len(DROPS)
    return DROPS[turn] if measured.used else MUTED, MARKS[turn], LINES[turn]


def plain(axes: Axes, title: str, x: str = "", y: str = "", indent: float = 0.0, note: str = "") -> None:
    """Give axes a title (moved by ``indent`` axes widths), a note under it, labels and a quiet frame."""
    pad = 5 + (SMALL + 3 if note else 0)
    axes.set_title(title, x=indent, fontsize=BODY, color=INK, loc="left", fontweight="bold", pad=pad)
    if note:
        axes.annotate(
            note,
            (indent, 1.0),
            xytext=(0, 5),
            xycoords="axes fraction",
            textcoords="offset points",
            fontsize=SMALL,
            color=INK,
        )
    axes.set_xlabel(x, fontsize=SMALL, color=INK, labelpad=2)
    axes.set_ylabel(y, fontsize=SMALL, color=INK, labelpad=3)
    quiet(axes)


def quiet(axes: Axes) -> None:
    """Give axes a quiet frame: two sides, small ticks, a faint grid."""
    axes.tick_params(labelsize=SMALL, colors=INK, length=2.5)
    axes.grid(True, color=RULE, linewidth=0.5)
    axes.set_axisbelow(True)
    for name, spine in axes.spines.items():
        spine.set_visible(name in ("left", "bottom"))
        spine.set_color(MUTED)


def readings(axes: Axes, x: Any, y: Any, colour: str, mark: str, most: int = 60) -> None:
    """Draw readings as small marks, thinned out evenly to about ``most``."""
    every = max(len(x) // most, 1)
    look: dict[str, Any] = {"markersize": 2.6, "alpha": 0.75, "markeredgewidth": 0, "linestyle": "none"}
    axes.plot(x[::every], y[::every], marker=mark, color=colour, **look)
