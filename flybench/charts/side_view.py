"""Figure of a drift from the side: leader and flies at a few moments, the fish, the bed, and where nine drifts in ten go."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from flybench.charts.figure import Picture
from flybench.charts.style import ACCENT, DROPS, INK, MUTED, RULE, SMALL, plain
from flybench.quantity import Floats
from flybench.rig.odds.drift import Drift
from flybench.rig.tackle.leader import Hold, Tackle
from flybench.rig.water.current import Current
from flybench.rig.water.level import FishLevel
from flybench.shop.river.goal_words import of_ten

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_SIZE = 7.5, 4.2
"""Width and height of the picture [inch] (judgement)."""
_LOOKS: tuple[dict[str, Any], ...] = (
    {"color": DROPS[0], "marker": "s", "linestyle": (0, (6, 1.5))},
    {"color": DROPS[2], "marker": "^", "linestyle": (0, (2, 1))},
    {"color": ACCENT, "marker": "o", "linestyle": "-"},
)
"""Looks of the droppers' paths and, last, of the point's: told apart in black and white by mark and line."""
_WATER, _FISH, _HATCH, _STONES = "#eef4f7", "#d3e2cf", "#7c9a79", "#c9c4bb"
"""Colours of the water, of the fish's level with its hatch, and of the stones: four greys in black and white."""
_DRAWN = 0.9, 0.78
"""Parts of the picture's width and height that the axes take [-]: the rest holds words."""
_STRETCHED = 1.5
"""Height over way from which it is said that heights are stretched [-] (judgement)."""
_ARROW_ROOM, _BAR_ROOM = 0.2, 0.14
"""Least parts of the picture's width that hold the words of the arrow and of the bar [-]."""
_TIME_ROOM = 0.06
"""Least part of the picture's width between two times that stand beside each other [-]."""
_ONE_ROW = 75
"""Most letters of a key to the lines that stands in one row [-]."""
_EVERY = 2
"""Of the moments at which the line is known, every so many show it (judgement: more lines hide each other)."""
_ABOVE, _BELOW = 0.2, 0.26
"""Room above the surface for moments and the current, and below the stones' tops for words, over their depth [-]."""
_TAG: dict[str, Any] = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.0}
"""White ground behind words on a hatch, as matplotlib takes it (judgement)."""


def drift_picture(drift: Drift, level: FishLevel, current: Current, tackle: Tackle) -> Picture:
    """Return the picture of a drift in this water, with the fish at this level, on this leader."""
    return Picture(*_SIZE, lambda axes: side_view(axes, drift, level, current, tackle))


def side_view(axes: Axes, drift: Drift, level: FishLevel, current: Current, tackle: Tackle) -> None:
    """Draw leader and flies at a few moments, the paths of the flies, and the range of nine point flies in ten (5 to 95 %).

    Ways [m] are downstream of where the point landed, depths [m] below the surface: each draw's share of the way down to
    its own bed, in water as deep as typed.
    """
    start = float(drift.flies[-1].x[0])
    _water(axes, drift, level, start)
    _range(axes, drift, start)
    _leaders(axes, drift, start)
    for number, look in enumerate(_looks(drift)):
        _path(axes, drift, number, start, look)
    _landing(axes, drift, level)
    _current(axes, drift, current)
    _bed_words(axes, drift, current)
    axes.set_ylim(_bottom(drift), _top(drift))
    axes.set_yticks([tick for tick in axes.get_yticks() if -1e-9 <= tick <= drift.floor])
    plain(
        axes,
        "Drift seen from the side",
        "m downstream of where the point landed",
        "m deep",
        note=_note(axes, drift, tackle),
    )
    axes.grid(False)
    _key(axes)


def _key(axes: Axes) -> None:
    """Write below the picture what its lines are."""
    letters = sum(len(label) for label in axes.get_legend_handles_labels()[1])
    rows = {"ncols": 5} if letters <= _ONE_ROW else {"ncols": 2}
    axes.legend(fontsize=SMALL, frameon=False, loc="upper center", bbox_to_anchor=(0.5, -0.1), **rows)


def _looks(drift: Drift) -> list[dict[str, Any]]:
    """Return the looks of the flies: one of the droppers' each, and the point's."""
    return [*_LOOKS[: len(drift.flies) - 1], _LOOKS[-1]]


def _top(drift: Drift) -> float:
    """Return how high above the surface the picture begins, as a depth [m]: above a line that comes down through the air."""
    return min(-_ABOVE * drift.floor, 1.1 * drift.floor * float(drift.seen.line_down.min()))


def _bottom(drift: Drift) -> float:
    """Return how deep the picture ends [m]: with room below the stones' tops for two lines of words."""
    return drift.floor + _BELOW / (1 + _ABOVE) * (drift.floor - _top(drift))


def _ends(drift: Drift, start: float) -> tuple[float, float]:
    """Return left and right end of the picture [m downstream of the landing]."""
    ways = np.concatenate([drift.seen.line_x.ravel(), *(fly.x for fly in drift.flies)]) - start
    room = 0.03 * float(np.ptp(ways))
    return float(ways.min()) - room, float(ways.max()) + room


def _water(axes: Axes, drift: Drift, level: FishLevel, start: float) -> None:
    """Draw surface, water, the fish's levels and the stones."""
    left, right = _ends(drift, start)
    axes.set_xlim(left, right)
    axes.axhspan(0.0, drift.floor, color=_WATER, linewidth=0, zorder=0)
    levels = [(level, "fish")]
    if drift.goal.dropper_level is not None and len(drift.flies) > 1:
        levels.append((drift.goal.dropper_level, "fish for the dropper"))
    for one, name in levels:
        high, low = drift.floor - one.high, drift.floor - one.low
        axes.axhspan(high, low, facecolor=_FISH, edgecolor=_HATCH, hatch="////", linewidth=0, zorder=0.5)
        axes.text(
            right - 0.01 * (right - left),
            (high + low) / 2,
            name,
            fontsize=SMALL,
            color=INK,
            ha="right",
            va="center",
            bbox=_TAG,
            zorder=5,
        )
    axes.axhspan(drift.floor, _bottom(drift), facecolor=_STONES, edgecolor=RULE, hatch="oo", linewidth=0)
    axes.axhline(drift.floor, color=INK, linewidth=1.0, zorder=2)
    axes.axhline(0.0, color=MUTED, linewidth=0.8, zorder=1)


def _range(axes: Axes, drift: Drift, start: float) -> None:
    """Draw where nine points in ten are, where there are draws to tell it."""
    if drift.draws < 2:
        return
    seen, way = drift.seen, drift.flies[-1].x - start
    low, high = (_drawn_deep(drift, share) for share in (seen.down_low, seen.down_high))
    axes.fill_between(
        way, low, high, facecolor=ACCENT, alpha=0.22, linewidth=0, zorder=1.5, label="nine points in ten"
    )
    axes.plot(way, low, way, high, color=ACCENT, linewidth=0.5, alpha=0.7, zorder=1.6)


def _leaders(axes: Axes, drift: Drift, start: float) -> None:
    """Draw the leader at some moments, with the time: above its top, or beside the point where the tops hardly move."""
    seen = drift.seen
    left, right = axes.get_xlim()
    step = np.ptp(seen.line_x[::_EVERY, 0]) / (len(seen.moments) // _EVERY)
    moves = bool(step > _TIME_ROOM * (right - left))
    for number in range(0, len(seen.moments), _EVERY):
        x, depth = seen.line_x[number] - start, _drawn_deep(drift, seen.line_down[number])
        axes.plot(x, depth, color=INK, linewidth=0.8, zorder=3, label="leader" if number == 0 else "")
        place = (float(x[-1]), float(depth[-1]))
        look: dict[str, Any] = {"xytext": (-5, -2), "ha": "right", "va": "top", "bbox": _TAG}
        if number == 0:
            look = {"xytext": (5, -2), "ha": "left", "va": "top", "bbox": _TAG}
        if moves:
            place = (float(x[0]), float(min(depth[0], 0.0)))
            look = {"xytext": (0, 3), "ha": "center", "va": "bottom"}
        time = f"{float(drift.times[seen.moments[number]]):.1f} s"
        axes.annotate(time, place, textcoords="offset points", fontsize=SMALL, color=INK, zorder=5, **look)


def _drawn_deep(drift: Drift, down: Floats) -> Floats:
    """Return depths as they are drawn [m], from shares of the way down [-]: nothing goes through the bed."""
    deep: Floats = drift.floor * np.minimum(down, 1.0)
    return deep


def _path(axes: Axes, drift: Drift, number: int, start: float, look: dict[str, Any]) -> None:
    """Draw the path of a fly, with a mark at every moment."""
    fly, seen = drift.flies[number], drift.seen
    label = fly.role if fly.name == fly.role else f"{fly.role} {fly.name}"
    axes.plot(
        fly.x - start,
        _drawn_deep(drift, seen.down[number]),
        linewidth=1.3,
        markersize=4,
        markevery=list(seen.moments),
        label=label,
        zorder=4,
        **look,
    )


def _landing(axes: Axes, drift: Drift, level: FishLevel) -> None:
    """Draw from where to where the fish lie for which this is the place to land the flies, or say that there is none."""
    left, right = axes.get_xlim()
    place = drift.floor + 0.35 * (_bottom(drift) - drift.floor)
    if not math.isfinite(drift.landing):
        told = f"down in time in {of_ten(drift.share_down)}, and {of_ten(drift.goal.down)} are wanted: no place to land it"
        look: dict[str, Any] = {"fontsize": SMALL, "color": INK, "va": "center", "bbox": _TAG}
        axes.text((left + right) / 2, place, told, ha="center", **look)
        return
    first, last = drift.landing, min(drift.landing + drift.goal.stretch, right)
    axes.annotate(
        "",
        (first, place),
        (0.0, place),
        arrowprops={"arrowstyle": "<->", "color": INK, "linewidth": 0.9, "shrinkA": 0, "shrinkB": 0},
    )
    axes.plot([first, last], [place, place], color=INK, linewidth=3.5, solid_capstyle="butt", zorder=3)
    axes.plot([0.0, 0.0], [0.0, place], color=INK, linewidth=0.6, linestyle=":", zorder=2)
    axes.plot([first, first], [drift.floor - level.high, place], color=INK, linewidth=0.9, zorder=3)
    _landing_words(axes, drift, (first, last, place))


def _landing_words(axes: Axes, drift: Drift, where: tuple[float, float, float]) -> None:
    """Write what arrow and bar mean: on them, or beside them where they are too short for it.

    where: ends of the arrow and of the bar [m downstream of the landing], and how deep they are drawn [m].
    """
    first, last, place = where
    left, right = axes.get_xlim()
    look: dict[str, Any] = {"fontsize": SMALL, "color": INK, "va": "center", "bbox": _TAG, "zorder": 5}
    beside = []
    for low, high, text, room in (
        (0.0, first, f"land it {drift.landing:.1f} m upstream", _ARROW_ROOM),
        (first, last, "the fish lie here", _BAR_ROOM),
    ):
        if high - low < room * (right - left):
            beside.append(text)
            continue
        axes.text((low + high) / 2, place, text, ha="center", **look)
    if beside:
        axes.text(last, place, f" {', '.join(beside)}", ha="left", **look)


def _current(axes: Axes, drift: Drift, current: Current) -> None:
    """Draw which way the water runs, and how fast at the surface."""
    left, right = axes.get_xlim()
    tail, height = left + 0.8 * (right - left), -0.62 * _ABOVE * drift.floor
    axes.annotate(
        f"{current.surface_speed.value:.2g} m/s ",
        (tail + 0.12 * (right - left), height),
        (tail, height),
        fontsize=SMALL,
        color=INK,
        ha="right",
        va="center",
        arrowprops={"arrowstyle": "-|>", "color": DROPS[0], "linewidth": 1.6},
    )


def _bed_words(axes: Axes, drift: Drift, current: Current) -> None:
    """Write how deep the stones' tops lie, and how well that is known."""
    axes.text(
        0.01,
        0.015,
        f"tops of the stones: {drift.floor:.2f} m deep, ± {current.depth.expanded:.2f} m",
        fontsize=SMALL,
        color=INK,
        ha="left",
        va="bottom",
        transform=axes.transAxes,
        bbox=_TAG,
    )


def _note(axes: Axes, drift: Drift, tackle: Tackle) -> str:
    """Return what the lines and marks are, and how much higher than wide things are drawn."""
    between = float(drift.times[drift.seen.moments[1]])
    wide, high = (abs(float(np.ptp(ends))) for ends in (axes.get_xlim(), axes.get_ylim()))
    times = (_SIZE[1] * _DRAWN[1] / high) / (_SIZE[0] * _DRAWN[0] / wide)
    stretched = f"; heights are drawn {times:.1g} times as large as ways" if times >= _STRETCHED else ""
    line = "leader" if tackle.hold is not Hold.TIGHT else "line from the rod's tip"
    shown = f"drawn every {_EVERY * between:.1f} s, marks every {between:.1f} s{stretched}"
    return f"{tackle.length:g} m of {line}, {shown}"
