"""Forces on line and flies, each with how it grows with speed, so that a step may be long."""

from __future__ import annotations

import numpy as np

from flybench.quantity import Floats
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.film import film_drag
from flybench.rig.chain.state import ChainState
from flybench.rig.chain.turbulence import gust_down
from flybench.rig.chain.wetted import fly_in_two

NORMAL_GROWTH = 1.7
"""How fast the drag across the line grows with speed, d ln F / d ln u [-]: Cheng's law has 1.3 at Reynolds number 1,
1.7 at 40, 1.9 at 200 (judgement: one value for all); steady shapes do not depend on it."""
SHARING = 0.2
"""How far each end's own speed counts in the drag on it, against the piece's middle [-]: at 0 neighbours could move to
and fro undamped, at 1 (all drag at the nodes) the rig is slow by its own pieces; at 0.2 few pieces come nearest to
many (judgement, by tests/rig/test_rig_chain.py)."""
_STILL = 1e-12
"""Square of the least speed against the water that is divided by [m2/s2]."""
_NO_LENGTH = 1e-18
"""Square of the least length that is divided by [m2]."""


def directions(rigs: Batch, state: ChainState) -> tuple[Floats, Floats, Floats]:
    """Return where each piece points, (2, pieces, rigs), how long it is and by how much it is stretched [m]."""
    pieces = rigs.layout.lengths
    shape = (len(pieces), rigs.count)
    way, long = state.room("way", 2, *shape), state.room("long", *shape)
    np.subtract(state.place[:, 1:], state.place[:, :-1], out=way)
    np.multiply(way[0], way[0], out=long)
    square = np.multiply(way[1], way[1], out=state.room("square", *shape))
    long += square
    long += _NO_LENGTH
    np.sqrt(long, out=long)
    way /= long
    stretch = np.subtract(long, pieces[:, None], out=state.room("stretch", *shape))
    return way, long, stretch


def line_drag(
    rigs: Batch, state: ChainState, way: Floats, under: tuple[Floats, Floats] | None = None
) -> tuple[Floats, Floats, Floats]:
    """Return the drag on half of each piece and what the lower end has less, (2, pieces, rigs) [N], and its growth.

    Drag at the piece's middle is -c_n u_n across and -c_t u_t along it; the growth is the xx, xz and zz of
    a symmetric matrix [N s/m]. ``under`` are the wet_shares of a line that comes down through the air, which has no drag.
    """
    shape = way.shape[1:]
    slip = _slip(rigs, state)
    along, across = state.room("along", *shape), state.room("across", *shape)
    spare = state.room("spare", *shape)
    np.multiply(slip[0], way[0], out=along)
    along += np.multiply(slip[1], way[1], out=spare)
    np.multiply(slip[1], way[0], out=across)
    across -= np.multiply(slip[0], way[1], out=spare)
    normal, tangential = state.room("normal", *shape), state.room("tangential", *shape)
    rigs.line.drag.fill(np.abs(across), np.abs(along), normal, tangential)
    half = rigs.layout.lengths[:, None] / 2
    if under is not None:
        half = half * under[0]
    half = half * film_drag(rigs, state)
    normal *= half * rigs.normal
    tangential *= half * rigs.tangential
    along *= tangential
    across *= normal
    push = state.room("push", 2, *shape)
    np.multiply(across, way[1], out=push[0])
    push[0] -= np.multiply(along, way[0], out=spare)
    np.multiply(along, way[1], out=push[1])
    push[1] += np.multiply(across, way[0], out=spare)
    np.negative(push[1], out=push[1])
    growth = _growth(state, way, normal, tangential)
    shared = _shared(state, growth)
    if under is not None:
        shared -= push * under[1]
    return push, shared, growth


def _slip(rigs: Batch, state: ChainState) -> Floats:
    """Return the velocity of the pieces' middles against the water at the middle of what is wet [m/s]."""
    shape = (len(rigs.layout.lengths), rigs.count)
    slip, water, deep = state.room("slip", 2, *shape), state.room("water", *shape), state.room("deep", *shape)
    np.add(state.velocity[:, 1:], state.velocity[:, :-1], out=slip)
    slip *= 0.5
    wet = np.maximum(state.place[1], 0.0) if rigs.tip else state.place[1]
    np.add(wet[1:], wet[:-1], out=deep)
    deep *= 0.5
    rigs.profile.at(deep, water)
    water += state.surging
    slip[0] -= water
    slip[1] -= gust_down(rigs, state, deep)
    return slip


def _growth(state: ChainState, way: Floats, normal: Floats, tangential: Floats) -> Floats:
    """Return xx, xz and zz of c_n' n n + c_t t t."""
    growth = state.room("growth", 3, *way.shape[1:])
    normal *= NORMAL_GROWTH
    tangential -= normal
    np.multiply(tangential, way[0], out=growth[0])
    np.multiply(growth[0], way[1], out=growth[1])
    growth[0] *= way[0]
    np.subtract(tangential, growth[0], out=growth[2])
    growth[0] += normal
    growth[2] += normal
    return growth


def _shared(state: ChainState, growth: Floats) -> Floats:
    """Return half of what the ends' drag differs by, for they move at different speeds [N]."""
    lag = np.subtract(
        state.velocity[:, 1:], state.velocity[:, :-1], out=state.room("lag", 2, *growth.shape[1:])
    )
    lag *= SHARING / 2
    shared = state.room("shared", 2, *growth.shape[1:])
    np.multiply(growth[:2], lag[0], out=shared)
    shared += growth[1:] * lag[1]
    return shared


def fly_drag(
    rigs: Batch, state: ChainState, number: int
) -> tuple[Floats, Floats, tuple[Floats, Floats, Floats]]:
    """Return drag on one fly downstream and down [N], and xx, xz, zz of its growth [N s/m].

    F = -k |r| r, r its velocity against the water; growth k (|r| I + r r / |r|).
    """
    node, drag = rigs.layout.nodes[number], rigs.fly_drag[number]
    if rigs.tip:
        drag = drag * fly_in_two(rigs, state, number)[0]
    water = np.empty_like(drag)
    rigs.profile.at(state.place[1, node], water)
    right = state.velocity[0, node] - water - state.surging
    down = state.velocity[1, node] - gust_down(rigs, state, state.place[1, node])
    speed = np.sqrt(right * right + down * down + _STILL)
    pull = drag * speed
    twist = drag / speed
    growth = (pull + twist * right * right, twist * right * down, pull + twist * down * down)
    return -pull * right, -pull * down, growth
