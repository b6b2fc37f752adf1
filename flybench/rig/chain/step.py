"""One step of time for all rigs: linearly implicit, so that a stiff line allows steps of 0.08 s.

Baraff & Witkin (1998), Large Steps in Cloth Simulation, from memory; with the tension of the step before in
the part that turns a piece, so that taut steady shapes do not depend on the step.
"""

from __future__ import annotations

import numpy as np

from flybench.quantity import Floats
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.equations import WALL, Equations, solve_step, stretched
from flybench.rig.chain.film import carried
from flybench.rig.chain.forces import directions, fly_drag, line_drag
from flybench.rig.chain.state import ChainState
from flybench.rig.chain.wetted import fly_buoyancy, fly_in_two, line_weight, wet_shares

FRICTION = 0.5
"""Coefficient of friction of line and flies on the bed [-] (judgement: wet stone and plastic or steel, 0.3 to 0.6)."""
GIVE = 0.005
"""How far a piece may be stretched for a moment [-] (judgement); a pull of 1 mN stretches it by 0.00005."""
CREEP = 2e-3
"""Speed below which what lies on the bed is held rather than dragged [m/s] (judgement: 2 cm over a drift of 10 s)."""


def take_step(rigs: Batch, state: ChainState, dt: float) -> None:
    """Move the state on by ``dt`` [s]."""
    equations = _equations(rigs, state, dt)
    velocity = solve_step(equations)
    stretch = stretched(equations.stretch, equations.way, velocity, dt)
    np.maximum(stretch, 0.0, out=stretch)
    stretch *= equations.stiffness
    state.tension = stretch * equations.taut
    state.top, state.bed = equations.top, equations.bed
    if state.bed.any():
        state.press = np.where(state.bed, WALL * np.maximum(velocity[1] - equations.high, 0.0), 0.0)
    else:
        state.press = np.zeros_like(state.press)
    state.velocity = velocity
    state.place += velocity * dt
    np.clip(state.place[1], -rigs.tip, rigs.floor, out=state.place[1])
    if _shorten(rigs, state):
        np.clip(state.place[1], -rigs.tip, rigs.floor, out=state.place[1])


def _shorten(rigs: Batch, state: ChainState) -> bool:
    """Draw in, from the surface down, what turned so fast that it is longer than a line can be; tell whether any was."""
    most = rigs.layout.lengths * (1 + GIVE)
    span = np.subtract(
        state.place[:, 1:], state.place[:, :-1], out=state.room("lag", *state.place[:, 1:].shape)
    )
    span *= span
    span[0] += span[1]
    columns = np.flatnonzero((span[0] > (most * most)[:, None]).any(axis=0))
    if not len(columns):
        return False
    place = state.place[..., columns]
    for piece, length in enumerate(most):
        span = place[:, piece + 1] - place[:, piece]
        long = np.sqrt(span[0] * span[0] + span[1] * span[1])
        span *= length / np.maximum(long, length)
        np.add(place[:, piece], span, out=place[:, piece + 1])
    state.place[..., columns] = place
    return True


def _equations(rigs: Batch, state: ChainState, dt: float) -> Equations:
    """Return the equations of the step, with the first guess of what pulls and touches."""
    way, long, stretch = directions(rigs, state)
    own, right = _nodes(rigs, state, dt, way)
    stiffness = rigs.line.stiffness / rigs.layout.lengths[:, None]
    turning = state.tension * dt
    turning /= long
    low = (rigs.tip + state.place[1]) * (-1 / dt)
    high = (rigs.floor - state.place[1]) * (1 / dt)
    start = None
    if rigs.lead is not None:
        along = rigs.lead + state.surging if rigs.adrift else rigs.lead
        start = np.stack([along, np.zeros(rigs.count)])
    taut = stretched(stretch, way, state.velocity, dt) > 0
    taut |= state.tension > 0
    bed = state.bed | (state.velocity[1] > high)
    return Equations(dt, own, right, way, stretch, stiffness, turning, low, high, start, taut, state.top, bed)


def _nodes(rigs: Batch, state: ChainState, dt: float, way: Floats) -> tuple[Floats, Floats]:
    """Return the nodes' blocks and right sides: inertia, drag, weight and friction."""
    pieces = rigs.layout.lengths
    under = wet_shares(state) if rigs.tip else None
    push, shared, growth = line_drag(rigs, state, way, under)
    shape = (len(pieces) + 1, rigs.count)
    own, right = state.room("own", 3, *shape), state.room("right", 2, *shape)
    own[:, 1:] = growth
    own[:, 0] = 0.0
    own[:, :-1] += growth
    right[:, 1:] = push
    right[:, 0] = 0.0
    right[:, 1:] -= shared
    right[:, :-1] += push
    right[:, :-1] += shared
    _add_line(rigs, dt, under, own, right)
    held = carried(rigs, state)
    right[1, :-1] -= held
    right[1, 1:] -= held
    for number, node in enumerate(rigs.layout.nodes):
        _add_fly(rigs, state, dt, number, own[:, node], right[:, node])
    right[0] += own[0] * state.velocity[0]
    right[0] += own[1] * state.velocity[1]
    right[1] += own[1] * state.velocity[0]
    right[1] += own[2] * state.velocity[1]
    if rigs.tip:
        for number, node in enumerate(rigs.layout.nodes):
            own[2, node] += dt * fly_buoyancy(rigs, state, number)
    if state.bed.any():
        own[0] += FRICTION * state.press / np.maximum(np.abs(state.velocity[0]), CREEP)
    return own, right


def _add_line(
    rigs: Batch, dt: float, under: tuple[Floats, Floats] | None, own: Floats, right: Floats
) -> None:
    """Add inertia and weight of the line to its nodes' blocks and right sides."""
    pieces = rigs.layout.lengths
    if under is None:
        share = np.zeros((len(pieces) + 1, 1), rigs.kind)
        share[1:, 0] += pieces / 2
        share[:-1, 0] += pieces / 2
        own[::2] += share * (rigs.line.mass / dt)
        right[1] += share * rigs.line.weight
        return
    upper, lower, mass = line_weight(rigs, *under)
    right[1, :-1] += upper
    right[1, 1:] += lower
    own[::2, :-1] += mass / dt
    own[::2, 1:] += mass / dt


def _add_fly(rigs: Batch, state: ChainState, dt: float, number: int, own: Floats, right: Floats) -> None:
    """Add one fly to its node's block and right side."""
    pull_x, pull_z, growth = fly_drag(rigs, state, number)
    weight, mass = rigs.fly_weight[number], rigs.fly_mass[number]
    if rigs.tip:
        _, weight, mass = fly_in_two(rigs, state, number)
    inertia = mass / dt
    own[0] += growth[0] + inertia
    own[1] += growth[1]
    own[2] += growth[2] + inertia
    right[0] += pull_x
    right[1] += pull_z + weight
