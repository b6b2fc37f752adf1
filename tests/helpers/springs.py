"""The chain as stiff springs that only pull, drag at the nodes, in scipy's LSODA: slow, and shares only the laws."""

from __future__ import annotations

import numpy as np
from scipy.integrate import solve_ivp

from flybench.quantity import Floats
from flybench.rig.chain.batch import Batch

DAMPING = 0.05
"""Of a spring [N s/m], so that a slack line does not ring: about critical for its pieces."""
SURFACE = 5.0
"""Stiffness of the surface [N/m]."""
_BAND = 7
"""How far apart in the state two numbers that feel each other can be: x of a node, and the speed down of the next."""
_NUDGE = 1e-7
"""Step of the Jacobian's differences [m] and [m/s]: pieces are some centimetres, speeds some centimetres a second."""


def spring_depth(rigs: Batch, seconds: float) -> float:
    """Return how deep the point of one rig comes, the chain as springs that only pull, drag at the nodes [m]."""
    lengths, nodes = rigs.layout.lengths, list(rigs.layout.nodes)
    pieces = len(lengths)
    halves = (np.append(lengths, 0) + np.append(0, lengths)) / 2
    mass, weight = halves * rigs.line.mass, halves * rigs.line.weight
    mass[nodes] += rigs.fly_mass[:, 0]
    weight[nodes] += rigs.fly_weight[:, 0]
    lead = 0.0 if rigs.lead is None else float(rigs.lead[0])

    def change(now: float, y: Floats) -> Floats:
        """Return how quickly the state changes; y, one state (4 for each node but the first) or several as columns."""
        moving = y.reshape(pieces, 4, -1).transpose(1, 0, 2)
        first = np.array([lead * now, 0.0, lead, 0.0])[:, None, None].repeat(moving.shape[2], axis=2)
        nodes_now = np.concatenate([first, moving], axis=1)
        place, speed = nodes_now[:2], nodes_now[2:]
        span, apart = np.diff(place, axis=1), np.diff(speed, axis=1)
        long = np.hypot(*span) + 1e-12
        way = span / long
        taut = long > lengths[:, None]
        stretch = long / lengths[:, None] - 1
        pull = taut * (rigs.line.stiffness * stretch + DAMPING * (way * apart).sum(axis=0))
        force = _drag(rigs, place, speed, way, halves, nodes)
        force[1] += weight[:, None]
        force[:, :-1] += pull * way
        force[:, 1:] -= pull * way
        top = place[1] < 0
        force[1] -= top * (SURFACE * place[1] + DAMPING * speed[1])
        changes = np.concatenate([speed, force / mass[:, None]])[:, 1:]
        return changes.transpose(1, 0, 2).reshape(y.shape)

    def slopes(now: float, y: Floats) -> Floats:
        """Return the Jacobian's band: columns nudged together that are too far apart to feel each other."""
        apart = 2 * _BAND + 1
        groups = np.arange(len(y)) % apart
        nudged = y[:, None] + _NUDGE * (groups[:, None] == np.arange(apart))
        differences = (change(now, nudged) - change(now, y)[:, None]) / _NUDGE
        band = np.zeros((apart, len(y)))
        for row in range(apart):
            to = np.arange(len(y)) + row - _BAND
            inside = (to >= 0) & (to < len(y))
            band[row, inside] = differences[to[inside], groups[inside]]
        return band

    start = np.zeros((2, pieces + 1))
    start[0] = -np.concatenate([[0.0], np.cumsum(lengths)]) * (1 - rigs.slack[0])
    water = np.empty((pieces + 1, 1))
    rigs.profile.at(start[1][:, None], water)
    moving = np.stack([water[:, 0], np.zeros(pieces + 1)])
    moving[1, nodes] = rigs.entry_speed[0]
    first = np.concatenate([start, moving]).T[1:].ravel()
    band = {"lband": _BAND, "uband": _BAND, "jac": slopes}
    done = solve_ivp(change, (0, seconds), first, method="LSODA", rtol=1e-4, atol=1e-6, **band)
    return float(done.y[-3, -1])


def _drag(rigs: Batch, place: Floats, speed: Floats, way: Floats, halves: Floats, nodes: list[int]) -> Floats:
    """Return line and fly drag at the nodes [N]; a node's line points as its pieces do together."""
    water = np.empty_like(place[1])
    rigs.profile.at(place[1], water)
    slip = speed.copy()
    slip[0] -= water
    along = np.zeros_like(slip)
    along[:, :-1] = way
    along[:, 1:] += way
    along /= np.hypot(*along) + 1e-12
    ut = (slip * along).sum(axis=0)
    un = slip - ut * along
    across = np.hypot(*un)
    normal, tangential = np.empty_like(across), np.empty_like(across)
    rigs.line.drag.fill(across, np.abs(ut), normal, tangential)
    force = -halves[:, None] * (normal * un + tangential * ut * along)
    force[:, nodes] -= rigs.fly_drag * np.hypot(*slip[:, nodes]) * slip[:, nodes]
    return np.asarray(force)
