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
        nodes_now = np.concatenate([[lead * now, 0.0, lead, 0.0], y]).reshape(-1, 4).T
        place, speed = nodes_now[:2], nodes_now[2:]
        span, apart = np.diff(place), np.diff(speed)
        long = np.hypot(*span) + 1e-12
        way = span / long
        taut = long > lengths
        pull = taut * (rigs.line.stiffness * (long / lengths - 1) + DAMPING * (way * apart).sum(axis=0))
        force = _drag(rigs, place, speed, way, halves, nodes)
        force[1] += weight
        force[:, :-1] += pull * way
        force[:, 1:] -= pull * way
        top = place[1] < 0
        force[1] -= top * (SURFACE * place[1] + DAMPING * speed[1])
        return np.concatenate([speed, force / mass]).T[1:].ravel()

    start = np.zeros((2, pieces + 1))
    start[0] = -np.concatenate([[0.0], np.cumsum(lengths)]) * (1 - rigs.slack[0])
    water = np.empty((pieces + 1, 1))
    rigs.profile.at(start[1][:, None], water)
    moving = np.stack([water[:, 0], np.zeros(pieces + 1)])
    moving[1, nodes] = rigs.entry_speed[0]
    first = np.concatenate([start, moving]).T[1:].ravel()
    band = {"lband": 7, "uband": 7}
    done = solve_ivp(change, (0, seconds), first, method="LSODA", rtol=1e-4, atol=1e-6, **band)
    return float(done.y[-3, -1])


def _drag(rigs: Batch, place: Floats, speed: Floats, way: Floats, halves: Floats, nodes: list[int]) -> Floats:
    """Return line and fly drag at the nodes [N]; a node's line points as its pieces do together."""
    water = np.empty((len(halves), 1))
    rigs.profile.at(place[1][:, None], water)
    slip = speed - np.stack([water[:, 0], 0 * water[:, 0]])
    along = np.pad(way, ((0, 0), (0, 1))) + np.pad(way, ((0, 0), (1, 0)))
    along /= np.hypot(*along) + 1e-12
    ut = (slip * along).sum(axis=0)
    un = slip - ut * along
    across = np.hypot(*un)
    normal, tangential = np.empty_like(across), np.empty_like(across)
    rigs.line.drag.fill(across, np.abs(ut), normal, tangential)
    force = -halves * (normal * un + tangential * ut * along)
    force[:, nodes] -= rigs.fly_drag[:, 0] * np.hypot(*slip[:, nodes]) * slip[:, nodes]
    return np.asarray(force)
