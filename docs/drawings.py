"""Drawings for the documentation: the tank with every distance named, the rig with its parts, and how flies enter."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.axes import Axes

WATER, GLASS, INK, CARD, FLY = "#dbe9f0", "#7d97a5", "#222222", "#f5f2e8", "#7a3b12"
FROM_ABOVE = ((0, 0), 200, 140)
"""The tank seen from above: its near left corner, inner width and depth [mm]."""


def tank(path: Path) -> None:
    """Draw the tank from above and from the side, with the names that the bench sheet gives each distance."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(9.6, 4.6), dpi=110, facecolor="white", layout="constrained")
    above, side = figure.subplots(1, 2, width_ratios=(1.25, 1))
    _from_above(above)
    _from_the_side(side)
    for axes in (above, side):
        axes.set_aspect("equal")
        axes.set_axis_off()
    figure.savefig(path)


def _from_above(axes: Axes) -> None:
    _, width, depth = FROM_ABOVE
    axes.set_title("from above", fontsize=10, loc="left")
    _box(axes, -4, -4, width + 8, depth + 8, GLASS)
    _box(axes, 0, 0, width, depth, WATER)
    axes.plot([60, 140], [82, 82], color=INK, linewidth=3)
    axes.text(146, 88, "card", va="center", fontsize=9)
    axes.plot(100, 70, "o", color=FLY, markersize=7)
    axes.text(92, 68, "fly", va="center", ha="right", fontsize=9)
    _box(axes, 70, -150, 60, 12, "#444444")
    axes.text(100, -165, "phone, upright", ha="center", fontsize=9)
    for edge in (30, 170):
        axes.plot([100, edge], [-138, 140], color=GLASS, linewidth=0.6, linestyle=":")
    _span(axes, (0, 154), (width, 154), "tank width")
    _span(axes, (214, 0), (214, depth), "tank depth")
    _span(axes, (24, 0), (24, 70), "fall plane")
    _span(axes, (100, -138), (100, -4), "distance")
    _span(axes, (120, 70), (120, 82), "")
    axes.text(126, 74, "gap", va="center", fontsize=9)
    axes.set_xlim(-30, 300)
    axes.set_ylim(-185, 180)


def _from_the_side(axes: Axes) -> None:
    axes.set_title("from the front, as the phone sees it", fontsize=10, loc="left")
    _box(axes, -4, -4, 208, 324, GLASS)
    _box(axes, 0, 0, 200, 320, "white")
    _box(axes, 0, 0, 200, 300, WATER)
    _box(axes, 55, 20, 90, 270, CARD)
    for left in (57, 131):
        for row in range(22):
            if row % 2 == (left > 100):
                _box(axes, left, 24 + 12 * row, 12, 12, INK)
    for place, alpha in ((262, 0.35), (220, 0.5), (165, 0.7), (100, 1.0)):
        axes.plot(100, place, "o", color=FLY, markersize=7, alpha=alpha)
    axes.annotate("", (100, 60), (100, 92), arrowprops={"arrowstyle": "->", "color": FLY})
    axes.text(210, 286, "let go of the fly\nunder water, here", fontsize=9, va="center")
    axes.annotate(
        "", (106, 272), (208, 284), arrowprops={"arrowstyle": "-", "color": GLASS, "linewidth": 0.8}
    )
    axes.text(210, 110, "the card's white lane\nlies behind the fall", fontsize=9, va="center")
    axes.set_xlim(-20, 330)
    axes.set_ylim(-20, 345)


def rig(path: Path) -> None:
    """Draw the rig in running water with the names that the commands give its parts."""
    import numpy as np
    from matplotlib.figure import Figure

    figure = Figure(figsize=(9.6, 4.2), dpi=110, facecolor="white", layout="constrained")
    axes = figure.subplots()
    bed = -1.2
    axes.fill_between([-0.4, 4.6], bed, 0, color=WATER, linewidth=0)
    axes.fill_between([-0.4, 4.6], bed, bed + 0.2, color="#f0dcb8", linewidth=0)
    stones = np.random.default_rng(3).uniform(0.04, 0.09, 40)
    for place, size in zip(np.linspace(-0.35, 4.55, 40), stones, strict=True):
        axes.add_patch(_stone(place, bed - 0.02, size))
    x = np.linspace(0, 1, 50)
    line_x, line_y = 1.0 + 1.5 * x, -1.05 * x**0.8
    axes.plot(line_x, line_y, color=INK, linewidth=1.2)
    axes.plot(line_x[-1], line_y[-1], "o", color=FLY, markersize=9)
    axes.plot([line_x[30], line_x[30] + 0.1], [line_y[30], line_y[30] - 0.06], color=INK, linewidth=1)
    axes.plot(line_x[30] + 0.1, line_y[30] - 0.06, "o", color=FLY, markersize=6)
    axes.plot([0.1, 1.0], [0.9, 0.0], color="#c2452d", linewidth=2)
    notes = (
        ("sighter", 0.6, 0.55),
        ("leader", 1.42, -0.55),
        ("dropper", 2.1, -0.72),
        ("point", 2.6, -1.0),
        ("the fish's level: near the bottom", 3.1, bed + 0.1),
        ("depth", -0.12, -0.55),
    )
    for text, at_x, at_y in notes:
        axes.text(at_x, at_y, text, fontsize=10, va="center", ha="right" if text == "leader" else "left")
    for height, speed in ((-0.1, 0.9), (-0.5, 0.75), (-0.9, 0.5)):
        axes.annotate(
            "", (3.4 + speed, height), (3.4, height), arrowprops={"arrowstyle": "->", "color": GLASS}
        )
    axes.text(3.4, 0.1, "surface speed: the water runs slower near the bed", fontsize=10)
    axes.annotate("", (-0.2, bed), (-0.2, 0), arrowprops={"arrowstyle": "<->", "color": INK})
    axes.set_xlim(-0.4, 5.6)
    axes.set_ylim(-1.4, 1.1)
    axes.set_axis_off()
    figure.savefig(path)


def entries(path: Path) -> None:
    """Draw how flies enter at three angles, and a tight line, with what the program takes from each."""
    import math

    from matplotlib.figure import Figure

    from flybench.rig.tackle.entry import STEEP

    figure = Figure(figsize=(9.6, 3.2), dpi=110, facecolor="white", layout="constrained")
    panels = figure.subplots(1, 4)
    words = ("--entry flat", '--entry-angle "40 deg"', "--entry steep")
    for axes, angle, word in zip(panels, (0.0, math.radians(40), STEEP), words, strict=False):
        _entry(axes, angle, word)
    _tight(panels[3])
    for axes in panels:
        axes.fill_between([-0.25, 1.25], -0.6, 0, color=WATER, linewidth=0)
        axes.set_xlim(-0.25, 1.25)
        axes.set_ylim(-0.95, 1.25)
        axes.set_aspect("equal")
        axes.set_axis_off()
    figure.savefig(path)


def _entry(axes: Axes, angle: float, word: str) -> None:
    """Draw a leader of length 1 as it comes in at an angle [rad], and how it lies then: loose by what it stood up."""
    import math

    import numpy as np

    from flybench.rig.tackle.entry import slack_at, speed_at

    reach = math.cos(angle)
    axes.plot([0, reach], [0.02, 0.02 + math.sin(angle)], color="#c2452d", linewidth=1.6, linestyle="--")
    x = np.linspace(0, reach, 200)
    waves = 0.35 * slack_at(angle) * np.abs(np.sin(4 * np.pi * x / reach)) * (x / reach < 0.75)
    axes.plot(x, -0.3 * waves, color=INK, linewidth=1.2)
    axes.plot(0, 0, "o", color=FLY, markersize=8)
    if speed_at(angle):
        axes.annotate("", (0, -0.45), (0, -0.06), arrowprops={"arrowstyle": "->", "color": FLY})
    axes.text(0.5, 1.2, f"{word}\n{math.degrees(angle):.0f} degrees", fontsize=9, ha="center", va="top")
    said = f"{slack_at(angle) * 100:.0f} % of the leader loose,\nflies go down at {speed_at(angle):.1f} m/s"
    axes.text(0.5, -0.65, said, fontsize=9, ha="center", va="top")


def _tight(axes: Axes) -> None:
    """Draw a line that comes straight down from the rod's tip."""
    axes.plot([0.0, 0.85], [0.0, 0.85], color="#c2452d", linewidth=1.6)
    axes.plot([0.85, 1.25], [0.85, 0.6], color=INK, linewidth=2.4)
    axes.plot(0, 0, "o", color=FLY, markersize=8)
    axes.annotate("", (1.05, 0.0), (1.05, 0.7), arrowprops={"arrowstyle": "<->", "color": INK})
    axes.text(1.03, 0.3, "tip height", fontsize=9, ha="right")
    axes.annotate("", (1.22, 0.95), (0.92, 0.95), arrowprops={"arrowstyle": "->", "color": GLASS})
    axes.text(0.86, 0.98, "lead", fontsize=9, ha="right")
    axes.text(0.5, 1.2, "--hold tight", fontsize=9, ha="center", va="top")
    axes.text(
        0.5,
        -0.65,
        "a sixth of that slack;\nits length counts from the tip",
        fontsize=9,
        ha="center",
        va="top",
    )


def _stone(x: float, y: float, size: float) -> object:
    from matplotlib.patches import Ellipse

    return Ellipse((x, y), 0.16, 2 * size, facecolor="#9a9184", edgecolor="#6c6458", linewidth=0.6)


def _box(axes: Axes, x: float, y: float, width: float, height: float, colour: str) -> None:
    from matplotlib.patches import Rectangle

    axes.add_patch(Rectangle((x, y), width, height, facecolor=colour, edgecolor="none"))


def _span(axes: Axes, start: tuple[float, float], end: tuple[float, float], name: str) -> None:
    """Draw a distance with its name beside it."""
    axes.annotate("", end, start, arrowprops={"arrowstyle": "<->", "color": INK, "linewidth": 1})
    upright = start[0] == end[0]
    middle = (
        (start[0] + end[0]) / 2 + (5 if upright else 0),
        (start[1] + end[1]) / 2 + (0 if upright else 6),
    )
    axes.text(
        *middle,
        name,
        fontsize=9,
        color=INK,
        ha="left" if upright else "center",
        va="center" if upright else "bottom",
    )
