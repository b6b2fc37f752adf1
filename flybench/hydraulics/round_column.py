"""A round column of water as a lens: how much wider it shows what stands in the plane of its axis."""

from __future__ import annotations

import math

_HALVINGS = 60
"""Halvings of an angle in which a ray is found to a float's last digits [-]: 2^-52 of its first value."""


def widening(radius: float, distance: float, index: float, aside: float) -> float:
    """Return how many times as far aside a point in the axis's plane looks as it would in a flat tank [-].

    A ray from the lens, ``distance`` [m] before the front of a column of ``radius`` [m] and ``index`` [-], meets its circle,
    is bent about the circle's own normal and crosses the plane of the axis ``aside`` [m] from the axis. In a flat tank a
    ray that left the lens alike, bent at a pane through the front, crosses it nearer. The wall is left out: its faces are
    nearly parallel.

    Range: ``aside`` from above nought to what the lens sees of the plane; beyond, the outermost ray is taken.
    Reference: Snell's law, traced exactly; near the axis it is (n D + R) / (D + R), the paraxial formula of any textbook.

    >>> round(widening(0.075, 0.5, 1.333, 0.001), 3), round((1.333 * 0.5 + 0.075) / 0.575, 3)
    (1.29, 1.29)
    """
    low, high = 0.0, math.acos(radius / (radius + distance))
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _crossing(middle, radius, distance, index)[0] < aside else (low, middle)
    crossed, slope = _crossing(high, radius, distance, index)
    sine = slope / math.hypot(1.0, slope) / index
    return (distance * slope + radius * sine / math.sqrt(1.0 - sine**2)) / crossed


def _crossing(round_by: float, radius: float, distance: float, index: float) -> tuple[float, float]:
    """Return where the ray that meets the circle ``round_by`` [rad] from its front crosses the axis's plane [m], and its
    slope at the lens [-]."""
    x, z = radius * math.sin(round_by), distance + radius * (1.0 - math.cos(round_by))
    falls_in = math.atan2(x, z) + round_by
    inside = math.asin(min(math.sin(falls_in), 1.0) / index) - round_by
    return x + radius * math.cos(round_by) * math.tan(inside), x / z
