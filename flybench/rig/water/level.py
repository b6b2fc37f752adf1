"""Where the fish are: a slice of the water, as heights above the stones' tops."""

from __future__ import annotations

from dataclasses import dataclass

from flybench.errors import BadValueError
from flybench.rig.water.current import Current

NEAR = 0.2
"""How far above the stones' tops a fish that holds near the bottom takes a fly [m] (judgement)."""
MIDDLE = (0.4, 0.6)
"""The middle of the water, over its depth down to the stones' tops [-] (judgement: a fifth of it)."""
AROUND = 0.1
"""How far above and below the depth that was named a fish takes a fly [m] (judgement: as thick as NEAR)."""


@dataclass(frozen=True)
class FishLevel:
    """Where the fly should be: heights above the stones' tops [m], from ``low`` to ``high``."""

    low: float
    high: float


NEAR_BOTTOM = FishLevel(0.0, NEAR)
"""Where the point should be unless something else is said: up to 0.2 m above the stones' tops [m]."""


def near_bottom(current: Current) -> FishLevel:
    """Return the lowest 0.2 m above the stones' tops, or all the water where it is shallower."""
    return FishLevel(0.0, min(NEAR, current.floor))


def middle(current: Current) -> FishLevel:
    """Return the middle fifth of the water."""
    return FishLevel(MIDDLE[0] * current.floor, MIDDLE[1] * current.floor)


def around(depth: float, current: Current) -> FishLevel:
    """Return the level about a depth below the surface [m], 0.1 m above and below it.

    Raises BadValueError for a depth that is not between surface and stones' tops.
    """
    if not 0 < depth < current.floor:
        problem = f"{depth:g} m is not between the surface and the stones' tops at {current.floor:.3g} m"
        raise BadValueError("level", problem, "Give a depth in this water.")
    height = current.floor - depth
    return FishLevel(max(height - AROUND, 0.0), min(height + AROUND, current.floor))


def check_level(level: FishLevel, current: Current) -> None:
    """Refuse, by BadValueError, a level without height or one that lies above the surface."""
    if not 0 <= level.low < level.high <= current.floor:
        problem = f"{level.low:g} to {level.high:g} m above the stones is not a level in {current.floor:g} m of water"
        raise BadValueError("level", problem, "Give two heights from 0 up, the lower first.")
