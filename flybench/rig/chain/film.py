"""A leader that floats in the water's skin until the flies pull it under.

No drag of a thread that lies in the surface was found in print. What is taken: the wetted half of it drags, the skin carries
its weight, and it is pulled under piece by piece without a force of its own. Letting go of the skin takes some pi d sigma,
0.03 mN on 0.15 mm (worked out from the energy of the surface, no source), a hundredth of what a fly weighs.
"""

from __future__ import annotations

import math

import numpy as np

from flybench.quantity import Floats
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.state import Booleans, ChainState

WETTED = 0.5
"""Drag of a line that floats over that under water [-] (judgement: half of it is wetted)."""
WETTED_DOUBT = math.log(2)
"""Standard uncertainty of its logarithm [-] (judgement: a factor of two)."""
SKIN = 2.7e-3
"""Depth down to which a line counts as floating [m]: the capillary length of water, over which its surface bends."""


def floating(state: ChainState) -> Booleans:
    """Return which pieces lie in the skin with both ends, (pieces, rigs)."""
    deepest: Floats = np.maximum(state.place[1, 1:], state.place[1, :-1])
    return deepest < SKIN


def film_drag(rigs: Batch, state: ChainState) -> Floats | float:
    """Return the part of its drag under water that each piece has, (pieces, rigs) [-]."""
    if rigs.film is None:
        return 1.0
    part: Floats = np.where(floating(state), rigs.film, 1.0).astype(rigs.kind)
    return part


def carried(rigs: Batch, state: ChainState) -> Floats | float:
    """Return the part of half its weight that the skin carries of each piece, (pieces, rigs) [N]."""
    if rigs.film is None:
        return 0.0
    held: Floats = floating(state) * (rigs.layout.lengths[:, None] / 2 * rigs.line.weight)
    return held
