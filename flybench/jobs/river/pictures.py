"""Pictures of drifts."""

from __future__ import annotations

from flybench.charts.figure import Picture
from flybench.charts.side_view import side_view
from flybench.jobs.river.rigs import RigDrift

_SIZE = 7.5, 3.6
"""Width and height of the side view [inch] (judgement)."""


def drift_picture(found: RigDrift) -> Picture:
    """Return the side view of a drift."""
    depth, length = found.current.depth.value, found.rig.tackle.length
    return Picture(*_SIZE, lambda axes: side_view(axes, found.drift, found.level, depth, length))
