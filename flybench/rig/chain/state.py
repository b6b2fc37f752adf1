"""Where every node of every rig is, how it moves, and room for working it out."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from flybench.quantity import Floats
from flybench.rig.chain.batch import Batch

Booleans = NDArray[np.bool_]


@dataclass
class ChainState:
    """Nodes of all rigs: place x downstream and z down from the surface [m], velocity [m/s], (2, nodes, rigs);
    tension of each piece [N]; press, force on the bed [N]; the water's gusts down and downstream [m/s]."""

    place: Floats
    velocity: Floats
    tension: Floats
    press: Floats
    top: Booleans
    bed: Booleans
    rising: Floats
    surging: Floats
    work: dict[str, Floats] = field(default_factory=dict)

    def room(self, name: str, *shape: int) -> Floats:
        """Return scratch space of that name, made once."""
        if name not in self.work:
            self.work[name] = np.empty(shape, self.place.dtype)
        return self.work[name]


def landed(rigs: Batch) -> ChainState:
    """Return the rigs as they land: along the surface, or straight from the rod's tip to where the point meets it, moving
    with it, the flies with their entry speed."""
    pieces, count = len(rigs.layout.lengths), rigs.count
    place = np.zeros((2, pieces + 1, count), rigs.kind)
    velocity = np.zeros_like(place)
    along = np.concatenate([[0.0], np.cumsum(rigs.layout.lengths)])
    straight = 1 - rigs.slack
    if rigs.tip:
        share = along[:, None] / along[-1]
        reach = np.sqrt(np.maximum((straight * along[-1]) ** 2 - rigs.tip**2, 0.0))
        place[0] = share * reach * (-1 if rigs.upstream else 1)
        rigs.profile.at(place[1], velocity[0])
        place[1] = (share - 1) * rigs.tip
    else:
        place[0] = along[:, None] * straight * (-1 if rigs.upstream else 1)
        rigs.profile.at(place[1], velocity[0])
    for node in rigs.layout.nodes:
        velocity[1, node] = rigs.entry_speed
    if rigs.lead is not None:
        velocity[0, 0] = rigs.lead
        velocity[1, 0] = 0.0
    flat = np.zeros_like(place[0])
    never = np.zeros(flat.shape, dtype=bool)
    level = flat[0]
    return ChainState(place, velocity, flat[1:].copy(), flat, never, never.copy(), level.copy(), level.copy())
