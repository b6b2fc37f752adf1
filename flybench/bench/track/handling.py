"""Handling: ways down on which a hand had the fly, told from falls by what came after them."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
Runs = list[NDArray[np.int64]]

LIFTED_AGAIN = "went down by a hand (it was lifted again in mid-water)"
"""Why a way down was no drop, as the user is told."""
_HELD = 0.005
"""Rise after a stop from which the fly was lifted and not just held [m]: more than a hand trembles (judgement)."""
_LIFTED = 0.010
"""Rise after a way down from which the fly was lifted again [m]: as long as a fly, so that neither a bounce off the floor
nor a fly that tips over at rest counts (judgement)."""
_OFF_THE_FLOOR = 0.025
"""How far above the deepest place of the clip a way down has to end to end in mid-water [m]: a fly lies on the floor, on
stones or on the foot of the card, all of them lower than two flies' lengths (judgement)."""


def stopped(runs: Runs, depth: Floats, slow: Mask, shortest: float) -> set[int]:
    """Return the numbers of the runs that only brought the fly to where its fall began.

    A fly that stops, is not lifted, and then falls at least ``shortest`` [m] further was lowered and held,
    or caught on something.
    """
    held = set()
    for number, (run, after) in enumerate(pairwise(runs)):
        between = np.arange(run[-1] + 1, after[0])
        paused = bool(np.any(slow[between])) and depth[between].min() > depth[run[-1]] - _HELD
        if paused and depth[after[-1]] - depth[after[0]] >= shortest:
            held.add(number)
    return held


def lifted_again(runs: Runs, depth: Floats, deepest: float) -> set[int]:
    """Return the numbers of the runs that ended in mid-water and were followed by a rise.

    A fall ends on the floor or where the thing stays; a hand that gropes for its hold, or goes on with
    lifting after a step down, ends elsewhere. ``deepest`` is the deepest place of the clip [m].
    """
    if not runs:
        return set()
    ends = [int(run[0]) for run in runs[1:]] + [len(depth)]
    return {
        number
        for number, (run, until) in enumerate(zip(runs, ends, strict=True))
        if deepest - depth[run].max() > _OFF_THE_FLOOR and _rise(depth[run[-1] : until]) > _LIFTED
    }


def _rise(depth: Floats) -> float:
    """Return the greatest way up from any place to a later one [m]."""
    return float(np.max(np.maximum.accumulate(depth) - depth))
