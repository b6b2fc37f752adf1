"""Pictures that are shown twice: editors hold them to slow a clip down, other programs to raise its frame rate.

Each holds one reading and not two: the second would only repeat the first at a later time.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

HELD = 0.2
"""Step below which a picture is held, over the mean step of the fall [-]: a fly keeps to its speed within a third, and a
picture that was coded again lies within a tenth of a pixel (judgement)."""
_LEAST_STEP_PX = 0.8
"""Mean step from which it is looked for [px]: readings scatter by 0.1 px, their differences by 0.14 px, so that a fly that
moved on seems held at four deviations (judgement)."""


def first_shown(places: Floats, metres_per_px: float) -> NDArray[np.bool_]:
    """Return which readings of a fall are no repetition of the one before; ``places`` (n, 2) [m], n at least 2.

    All of them where the fly moves too little from one picture to the next for anyone to tell.
    """
    steps = np.linalg.norm(np.diff(places, axis=0), axis=1)
    usual = float(np.mean(steps))
    if usual < _LEAST_STEP_PX * metres_per_px:
        return np.ones(len(places), dtype=bool)
    return np.append(True, steps > HELD * usual)
