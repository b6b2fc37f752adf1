"""The river's own turbulence as a rig meets it: gusts up and down, and gusts downstream that go with them.

One eddy holds a whole rig, for the largest are as large as the water is deep. Near the surface and near the stones the
up-and-down part dies away; along the surface, gusts do not.
"""

from __future__ import annotations

import math

import numpy as np

from flybench.quantity import Floats
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.state import ChainState

ALONG_OVER_UP = 2.30 / 1.27
"""Rms speed downstream over that up and down [-], rms/u* being 2.30 and 1.27 exp(-y/h) (Nezu 1977, Nezu & Nakagawa 1993, as
an abstract of Johnson & Cowen 2018 gives the factors; they report that these move with Reynolds number and bed)."""
LONGER = 3.0
"""Memory of gusts downstream over that of those up and down [-]: half of the time in which 1.5 u* goes along a length of 0.75
depths is 0.25 h/u*, where up and down has 0.08 (judgement; the length from memory)."""
TOGETHER = 0.4
"""How far gusts downstream and gusts down go together [-]: u*^2 (1 - y/h) of stress over both rms is 0.37 to 0.47 from 0.1 to
0.7 of the depth, by the laws above."""
SURFACE_LAYER = 0.1
"""Part of the depth below the surface in which gusts up and down grow from none to all [-] (judgement: a level surface lets
none through; simulations find a layer that goes with the depth, Bauer et al. 2025, arXiv:2501.06017, abstract)."""
STONES_LAYER = 2.5
"""Height above the stones' tops in which they do so, over that of the tops above the bed's own level [-]: the radius of a
stone of D84 (judgement)."""
THINNEST_LAYER = 0.005
"""Least height of such a layer [m] (judgement: half a fly)."""


def blow(rigs: Batch, state: ChainState, dt: float, noise: Floats, number: int) -> None:
    """Let the gusts of all rigs change over ``dt`` [s], the step of that number from 0; noise, standard normal numbers [-],
    first those up and down of all steps, then what gusts downstream have of their own, (2 x steps, rigs).

    Ornstein-Uhlenbeck walks, exact for any step.
    """
    draw, at_first = noise[number], number == 0
    own = math.sqrt(1 - TOGETHER**2) * noise[len(noise) // 2 + number]
    state.rising = _walked(state.rising, rigs.wander, rigs.memory, dt, draw, at_first)
    along = ALONG_OVER_UP * rigs.wander
    state.surging = _walked(state.surging, along, LONGER * rigs.memory, dt, TOGETHER * draw + own, at_first)


def _walked(speed: Floats, rms: Floats, memory: Floats, dt: float, draw: Floats, at_first: bool) -> Floats:
    if at_first:
        return rms * draw
    kept = np.exp(-dt / memory)
    walked: Floats = kept * speed + rms * np.sqrt(1 - kept**2) * draw
    return walked


def gust_down(rigs: Batch, state: ChainState, depth: Floats) -> Floats:
    """Return the speed of the water downwards at some depths [m], (..., rigs) [m/s]."""
    if rigs.calm is None:
        return state.rising
    surface, stones = rigs.calm
    share = np.minimum(depth / surface, (rigs.floor - depth) / stones)
    down: Floats = state.rising * np.clip(share, 0.0, 1.0)
    return down
