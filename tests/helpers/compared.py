"""A measured fly with its speed and what its doubt is made of, as a side of a comparison."""

from __future__ import annotations

from flybench.statistics.comparing import DoubtPart, Repeat, Side


def side(speed: float, shared: dict[int, float], own: float = 0.001, runs: float = 0.0) -> Side:
    """Return a side of this speed [m/s]; ``shared`` are doubts by what is shared [m/s]."""
    parts = DoubtPart("drops", Repeat.DROPS, own), DoubtPart("runs", Repeat.RUNS, runs)
    return Side("f", speed, parts, {Repeat.DROPS: 5, Repeat.RUNS: 1}, shared)
