"""Figure of a drift from the side: paths of the flies, the fish's level, the bed, and the range of nine drifts in ten."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flybench.charts.figure import Picture
from flybench.charts.style import ACCENT, DROPS, INK, MUTED, RULE, SMALL, plain
from flybench.rig.odds.drift import Drift
from flybench.rig.tackle.leader import Tackle
from flybench.rig.water.current import Current
from flybench.rig.water.level import FishLevel

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_MARKS = ("s", "^", "o")
"""Shapes of the marks on the droppers' paths and, last, on the point's."""
_LABELS = 8
"""Marks on a path (judgement)."""


_SIZE = 7.5, 3.6
"""Width and height of the picture [inch] (judgement)."""


def drift_picture(drift: Drift, level: FishLevel, current: Current, tackle: Tackle) -> Picture:
    """Return the picture of a drift in this water, with the fish at this level, on this leader."""
    depth, length = current.depth.value, tackle.length
    return Picture(*_SIZE, lambda axes: side_view(axes, drift, level, depth, length))


def side_view(axes: Axes, drift: Drift, level: FishLevel, depth: float, length: float) -> None:
    """Draw paths of the flies [m] downstream and down, with the range of nine point flies in ten (5 to 95 %), the fish's
    level and the bed; ``depth`` of the water, ``length`` of the leader [m]."""
    point = drift.flies[-1]
    right = float(max(fly.x.max() for fly in drift.flies)) + 0.3
    left = float(min(fly.x.min() for fly in drift.flies)) - 0.2
    axes.axhspan(drift.floor - level.high, drift.floor - level.low, color="#4d7c4a", alpha=0.15, linewidth=0)
    axes.axhspan(drift.floor, depth + 0.08, color=RULE, linewidth=0)
    axes.axhline(drift.floor, color=MUTED, linewidth=1.0)
    axes.fill_between(point.x, point.depth_low, point.depth_high, color=ACCENT, alpha=0.2, linewidth=0)
    for number, fly in enumerate(drift.flies):
        colour = ACCENT if fly is point else DROPS[0]
        mark = _MARKS[-1] if fly is point else _MARKS[number]
        label = fly.role if fly.name == fly.role else f"{fly.role} {fly.name}"
        every = max(len(drift.times) // _LABELS, 1)
        axes.plot(
            fly.x,
            fly.depth,
            color=colour,
            linewidth=1.3,
            marker=mark,
            markevery=every,
            markersize=4,
            label=label,
        )
    axes.text(
        right,
        drift.floor - (level.low + level.high) / 2,
        "fish ",
        fontsize=SMALL,
        color=INK,
        ha="right",
        va="center",
    )
    axes.text(
        right, drift.floor + 0.02, "tops of the stones ", fontsize=SMALL, color=INK, ha="right", va="top"
    )
    axes.set_xlim(left, right)
    axes.set_ylim(depth + 0.08, -0.05)
    plain(
        axes,
        f"Drift seen from the side; {length:g} m of leader in the water; shaded: nine points in ten",
        "m downstream of where the line entered the water; a mark every "
        f"{float(drift.times[max(len(drift.times) // _LABELS, 1)]):.1f} s",
        "m deep",
    )
    axes.legend(fontsize=SMALL, frameon=False, loc="upper right")
