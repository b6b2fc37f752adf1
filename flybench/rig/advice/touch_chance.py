"""How often a rig is felt to touch the bottom, in each of many possible rivers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.special import ndtr

from flybench.quantity import Floats, inside
from flybench.rig.advice.belief import OWN_SLACK, Belief
from flybench.rig.chain.simulate import simulate, steps
from flybench.rig.chain.watchers import Tally
from flybench.rig.odds.draws import RELIEF, Draws, best_estimate, drawn, rigs_of_draws, river, tops
from flybench.rig.odds.goal import LONGEST_DRIFT, SHORTEST_DRIFT
from flybench.rig.tackle.leader import Rig
from flybench.rig.water.current import Current, shear_velocity
from flybench.rig.water.level import FishLevel

SURE = 0.005
"""Least chance that a drift is felt to touch, or not to [-] (judgement): one drift rules nothing out."""
SCATTER_DRAWS = 200
"""Draws that tell how single drifts scatter (judgement: the scatter is then good to 5 %)."""
_ABYSS = 50.0
"""A depth that no fly reaches in a drift [m]."""
_ANY = FishLevel(0.0, 0.1)
"""A level that is counted and not used [m]: only the deepest place matters here."""


def touch_chance(rig: Rig, current: Current, belief: Belief, seconds: float, seed: int = 1) -> Floats:
    """Return the chance that a fly is felt to touch in a drift, for every possible river and angler of the belief.

    p = Phi((z + b r - h + s) / sigma): z, the depth the flies would reach without a bed; b and sigma, what turbulence and
    each cast's own slack add to it and scatter it by; s, the height of the stones' tops; r = sqrt(u* h) over that of the
    best estimate, by which b and sigma grow with the diffusivity of the water; with the bed's relief in sigma. Felt are
    f + (1 - m - f) p, m missed and f false.

    Parameters: seconds of a drift [s]; seed of the draws.
    Returns: chance [-], (rivers, anglers).
    Range: 0.5 to 60 s; BadValueError outside.
    """
    inside("seconds", seconds, SHORTEST_DRIFT, LONGEST_DRIFT, "s", "Give the length of a drift, such as 8 s.")
    free = _deepest(rig, current, belief.with_flies(rig.flies), seconds)
    shift, scatter = _scatter(rig, current, seconds, seed)
    grown = _growth(current, belief)
    floor = belief.depth - tops(current, belief.draws, belief.depth)
    chance = ndtr((free + shift * grown - floor) / np.hypot(scatter * grown, RELIEF))
    felt: Floats = belief.false + (1 - belief.missed - belief.false) * chance[:, None]
    return np.clip(felt, SURE, 1 - SURE)


def _growth(current: Current, belief: Belief) -> Floats:
    """Return sqrt(u* h) of every possible river over that of the best estimate [-]."""
    power = current.bed.roughness is None
    speed, depth, shape = river(current, belief.draws)
    best = current.shear_velocity.value * current.depth.value
    grown: Floats = np.sqrt(shear_velocity(speed, depth, shape, power) * depth / best)
    return grown


def _deepest(rig: Rig, current: Current, taken: Draws, seconds: float) -> Floats:
    """Return the deepest that any fly comes without a bed, a draw each [m]."""
    rigs, noise = rigs_of_draws(current, rig.tackle, rig.flies, [tuple(range(len(rig.flies)))], taken)
    rigs = replace(rigs, floor=np.full(rigs.count, _ABYSS))
    tally = Tally(rigs, _ANY, seconds)
    simulate(rigs, steps(seconds), tally, noise)
    return tally.deepest


def _scatter(rig: Rig, current: Current, seconds: float, seed: int) -> tuple[float, float]:
    """Return by how much the deepest place of single drifts lies below the estimate, and how it scatters [m]."""
    drawn_anew = drawn(SCATTER_DRAWS, len(rig.flies), len(steps(seconds)), seed)
    none, flies = np.zeros(SCATTER_DRAWS), np.zeros((SCATTER_DRAWS, len(rig.flies)))
    slack = OWN_SLACK * drawn_anew.slack
    taken = Draws(none, none, none, none, slack, none, flies, flies, drawn_anew.noise)
    [estimate] = _deepest(rig, current, best_estimate(len(rig.flies)), seconds)
    apart = _deepest(rig, current, taken, seconds) - estimate
    return float(np.mean(apart)), float(np.std(apart, ddof=1))
