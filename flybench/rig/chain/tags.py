"""Where flies are that hang on tags off the leader: droppers, each within a tag's length of its knot."""

from __future__ import annotations

import numpy as np

from flybench.quantity import Floats
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.forces import fly_drag
from flybench.rig.chain.state import Booleans, ChainState

LIMP = 0.1
"""Pull of a dropper on its tag, over its weight in water, at which the tag is half stretched out [-] (judgement: a fly that
sinks as fast as the rig hardly pulls, and lies anywhere about its knot)."""
_RESTS = 1e-6
"""How near the bed a fly on a tag rests [m]: rounding."""


def flies_at(rigs: Batch, state: ChainState) -> Floats:
    """Return where the flies are, x and depth, (2, flies, rigs) [m].

    A dropper hangs off its knot in the direction in which drag and weight together pull it, at the speed of the knot; what
    it pulls the leader by is the same as at the knot. It neither leaves the water nor goes into the bed.
    """
    nodes = list(rigs.layout.nodes)
    places = state.place[:, nodes]
    if not rigs.tag:
        return places
    for number in range(len(nodes) - 1):
        right, down, _ = fly_drag(rigs, state, number)
        weight = rigs.fly_weight[number]
        down = down + weight
        out = rigs.tag / (np.hypot(right, down) + LIMP * weight)
        places[0, number] += out * right
        places[1, number] += out * down
        highest = np.minimum(state.place[1, nodes[number]], 0.0)
        np.clip(places[1, number], highest, rigs.floor, out=places[1, number])
    return places


def flies_rest(rigs: Batch, state: ChainState, places: Floats) -> Booleans:
    """Return which flies, at ``places``, touch the bed, (flies, rigs)."""
    rests: Booleans = state.bed[list(rigs.layout.nodes)]
    if rigs.tag:
        rests[:-1] |= places[1, :-1] >= rigs.floor - _RESTS
    return rests
