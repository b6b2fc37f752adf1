"""How much of line and flies is under water, where the line comes down from a rod's tip through the air."""

from __future__ import annotations

import numpy as np

from flybench.hydraulics.sphere import GRAVITY
from flybench.quantity import Floats
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.state import ChainState

FLY_SIZE = 0.01
"""Way over which a fly that goes through the surface is wetted by and by [m] (judgement: a fly's length)."""
_LEVEL = 1e-6
"""Least height of a piece's upper end above its lower one that is divided by [m]."""


def wet_shares(state: ChainState) -> tuple[Floats, Floats]:
    """Return the share of each piece that is under water, and by how much more than half of what acts on that part its lower
    end has [-]; (pieces, rigs).

    A piece that crosses the surface is wet from there down, and what acts on the wet part acts at its middle.
    """
    upper, lower = state.place[1, :-1], state.place[1, 1:]
    deepest = np.maximum(upper, lower)
    wet: Floats = np.clip(deepest / np.maximum(np.abs(lower - upper), _LEVEL), 0.0, 1.0)
    lean: Floats = np.where(lower < upper, wet - 1, 1 - wet)
    return wet, lean


def line_weight(rigs: Batch, wet: Floats, lean: Floats) -> tuple[Floats, Floats, Floats]:
    """Return weight of each piece at its upper and at its lower end [N], and its mass at either [kg]."""
    line, half = rigs.line, rigs.layout.lengths[:, None] / 2
    whole, lifted = half * (line.weight + line.lift), half * wet * line.lift
    mass = half * (line.mass - (1 - wet) * line.lift / GRAVITY)
    return whole - lifted * (1 - lean), whole - lifted * (1 + lean), mass


def fly_in_two(rigs: Batch, state: ChainState, number: int) -> tuple[Floats, Floats, Floats]:
    """Return how much of a fly is under water [-], its weight there [N], and its mass with added mass [kg].

    Mass with added mass is m + (m - W/g)/2, W the weight in water, so that the dry mass m follows from both.
    """
    weight, mass = rigs.fly_weight[number], rigs.fly_mass[number]
    wet: Floats = np.clip(0.5 + state.place[1, rigs.layout.nodes[number]] / FLY_SIZE, 0.0, 1.0)
    dry = _dry_mass(rigs, number)
    return wet, dry * GRAVITY - wet * (dry * GRAVITY - weight), dry + wet * (mass - dry)


def fly_buoyancy(rigs: Batch, state: ChainState, number: int) -> Floats:
    """Return by how much lighter a fly gets as it goes down through the surface [N/m], 0 below and above."""
    depth = state.place[1, rigs.layout.nodes[number]]
    crossing = np.abs(depth) < FLY_SIZE / 2
    lighter: Floats = crossing * (_dry_mass(rigs, number) * GRAVITY - rigs.fly_weight[number]) / FLY_SIZE
    return lighter


def _dry_mass(rigs: Batch, number: int) -> Floats:
    """Return the mass of a fly without added mass [kg], no less than it weighs in water."""
    weight = rigs.fly_weight[number] / GRAVITY
    dry: Floats = np.maximum((rigs.fly_mass[number] + weight / 2) / 1.5, weight)
    return dry
