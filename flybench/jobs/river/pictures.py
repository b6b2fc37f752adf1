"""Pictures of drifts, written whole or not at all."""

from __future__ import annotations

from pathlib import Path

from flybench.charts.side_view import side_view
from flybench.jobs.river.rigs import Drifted
from flybench.jobs.sink.pictures import save_picture


def plot_drift(found: Drifted, path: Path) -> None:
    """Write the side view of a drift."""
    depth, length = found.current.depth.value, found.rig.tackle.length
    save_picture(path, 7.5, 3.6, lambda axes: side_view(axes, found.drift, found.band, depth, length))
