"""What is not known of river, line and flies, drawn at random: the same draws for every rig, so that rigs compare."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtri

from flybench.errors import BadValueError
from flybench.hydraulics.cylinder import ALONG_DOUBT, NORMAL_DOUBT
from flybench.quantity import Floats, Measured
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.film import WETTED, WETTED_DOUBT
from flybench.rig.chain.turbulence import STONES_LAYER, SURFACE_LAYER, THINNEST_LAYER
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import SLACKEST, Hold, Tackle
from flybench.rig.water.current import Current, shear_velocity

WANDER = 0.9
"""Rms vertical speed of the water over u* [-]: 1.27 exp(-y/h) (Nezu & Nakagawa 1993, from memory) has 0.80 as mean over
the depth and 1.0 over the lower half, where flies are."""
MEMORY = 0.08
"""Time for which the water keeps its vertical speed, over h/u* [-]: 0.084 from sigma^2 T = 0.41 u* h / 6, the mean of the
parabolic eddy diffusivity over the depth, with WANDER."""
HIGHEST_TOPS = 0.5
"""Most of the depth that stones take in any draw [-] (judgement: else a draw would leave no water)."""
RELIEF = 0.05
"""Rms height of bumps and hollows that a drift meets, besides the stones' tops [m] (judgement)."""
HIGHEST_BUMP = 0.5
"""Most of the water above the stones that a bump takes in any draw [-] (judgement, as HIGHEST_TOPS)."""
_RIVER = 6
"""Kinds of numbers of river, line and handling: those of ``Draws`` but flies and noise."""


@dataclass(frozen=True)
class Draws:
    """Standard normal numbers [-], one a draw; 0 is the best estimate.

    depth, surface_speed, shape of the profile, line drag, slack and the bump or hollow that the drift meets, one a draw;
    speeds and weights of the flies, (draws, flies in the box); noise of the water's gusts, (2 x steps, draws), None
    for level water.
    """

    depth: Floats
    surface_speed: Floats
    shape: Floats
    line: Floats
    slack: Floats
    bump: Floats
    speeds: Floats
    weights: Floats
    noise: Floats | None

    @property
    def count(self) -> int:
        """Number of draws."""
        return len(self.depth)

    def of_flies(self, places: Sequence[int]) -> Draws:
        """Return the same draws for some flies of the box, by their places in it."""
        return replace(self, speeds=self.speeds[:, places], weights=self.weights[:, places])

    def lasting(self, steps: int, seed: int) -> Draws:
        """Return the same draws for drifts of ``steps`` steps or more: the gusts of those that are added are drawn anew."""
        if self.noise is None or len(self.noise) >= 2 * steps:
            return self
        known = len(self.noise) // 2
        fresh = np.random.default_rng([seed, known]).standard_normal((2, steps - known, self.count))
        return replace(
            self, noise=np.concatenate([self.noise[:known], fresh[0], self.noise[known:], fresh[1]])
        )


def drawn(count: int, flies: int, steps: int, seed: int, turbulence: bool = True) -> Draws:
    """Return ``count`` draws for a box of flies and drifts of up to ``steps`` steps; the seed fixes them.

    Each number but the water's up and down is drawn once from each of ``count`` equally likely parts of its law, so that
    the draws lie evenly (McKay, Beckman & Conover 1979, from memory); river and water are the same for any box.

    Raises BadValueError for no draws at all.
    """
    if count < 1:
        raise BadValueError(
            "draws", f"{count} is too few", "Give 1 or more; with 200 a share is good to about 0.03 (k = 1)."
        )
    rivers, flows, tied = np.random.default_rng(seed).spawn(3)
    noise = flows.standard_normal((2 * steps, count)) if turbulence else None
    speeds, weights = _even(tied, 2 * flies, count).reshape(2, flies, count)
    return _draws(_even(rivers, _RIVER, count), speeds.T, weights.T, noise)


def _even(chance: np.random.Generator, kinds: int, count: int) -> Floats:
    """Return normal numbers, (kinds, count): one of each kind from every equally likely part."""
    parts = chance.permuted(np.tile(np.arange(count), (kinds, 1)), axis=1)
    normal: Floats = ndtri((parts + chance.random((kinds, count))) / count)
    return normal


def best_estimate(flies: int) -> Draws:
    """Return the single draw where everything is as estimated, and the water runs level."""
    return _draws(np.zeros((_RIVER, 1)), np.zeros((1, flies)), np.zeros((1, flies)), None)


def _draws(river: Floats, speeds: Floats, weights: Floats, noise: Floats | None) -> Draws:
    depth, surface_speed, shape, line, slack, bump = river
    return Draws(depth, surface_speed, shape, line, slack, bump, speeds, weights, noise)


def rigs_of_draws(
    current: Current, tackle: Tackle, box: Sequence[RigFly], sets: Sequence[Sequence[int]], draws: Draws
) -> tuple[Batch, Floats | None]:
    """Return rigs for every set of flies and every draw, set by set, and their noise (2 x steps, rigs) [-].

    Parameters: box, all flies; sets, the places of each rig's flies in the box, the point last.
    """
    chosen = np.asarray(sets, dtype=int)
    count = len(chosen)
    surface, depth, shape = river(current, draws)
    power = current.bed.roughness is None
    friction = shear_velocity(surface, depth, shape, power)
    drag, weight, mass = _flies(current, box, chosen, draws)
    lead = {Hold.FLOATING: surface, Hold.STILL: 0 * surface}.get(
        tackle.hold, np.full(draws.count, tackle.lead_speed or 0.0)
    )

    def each(values: Floats) -> Floats:
        return np.tile(values, count)

    water = current.water
    rigs = Batch(
        layout=tackle.layout(),
        line=tackle.line(water),
        profile=current.profile(each(surface), each(depth), each(shape)),
        floor=each(_floor(current, draws, depth)),
        fly_drag=drag,
        fly_weight=weight,
        fly_mass=mass,
        lead=each(lead),
        slack=each(np.clip(tackle.usual_slack + tackle.slack_doubt * draws.slack, 0.0, SLACKEST)),
        entry_speed=np.full(count * draws.count, tackle.usual_entry_speed),
        normal=each(np.exp(NORMAL_DOUBT * draws.line)),
        tangential=each(np.exp(ALONG_DOUBT * draws.line)),
        wander=each(WANDER * friction),
        memory=each(MEMORY * depth / friction),
        tip=tackle.tip,
        calm=np.stack([each(SURFACE_LAYER * depth), each(_stones_layer(current, draws, depth))]),
        adrift=tackle.hold is Hold.FLOATING,
        tag=tackle.tag,
        film=each(WETTED * np.exp(WETTED_DOUBT * draws.line)) if tackle.floats else None,
    )
    return rigs, None if draws.noise is None else np.tile(draws.noise, (1, count))


def river(current: Current, draws: Draws) -> tuple[Floats, Floats, Floats]:
    """Return surface speed [m/s], depth [m] and shape (z0 [m] or exponent) of every draw."""
    shape, doubt = current.shape
    return (
        _spread(current.surface_speed, draws.surface_speed),
        _spread(current.depth, draws.depth),
        shape * np.exp(doubt * draws.shape),
    )


def tops(current: Current, draws: Draws, depth: Floats) -> Floats:
    """Return the height of the stones' tops in every draw [m]."""
    high = current.bed.tops * np.exp(current.bed.doubt * draws.shape)
    return np.minimum(high, HIGHEST_TOPS * depth)


def _stones_layer(current: Current, draws: Draws, depth: Floats) -> Floats:
    """Return the height above the stones' tops in which gusts die away, in every draw [m]."""
    layer: Floats = np.maximum(STONES_LAYER * tops(current, draws, depth), THINNEST_LAYER)
    return layer


def _floor(current: Current, draws: Draws, depth: Floats) -> Floats:
    """Return the depth of the stones' tops in every draw, on a bump or in a hollow [m]."""
    even = depth - tops(current, draws, depth)
    floor: Floats = np.maximum(even - RELIEF * draws.bump, (1 - HIGHEST_BUMP) * even)
    return floor


def _spread(measured: Measured, normal: Floats) -> Floats:
    """Return draws of a positive quantity: lognormal about its value."""
    spread: Floats = measured.value * np.exp(measured.standard_uncertainty / measured.value * normal)
    return spread


def _flies(
    current: Current, box: Sequence[RigFly], sets: np.ndarray, draws: Draws
) -> tuple[Floats, Floats, Floats]:
    """Return drag k [kg/m], weight [N] and moving mass [kg] of every set and draw, (flies, rigs)."""
    speed = np.stack([_spread(fly.speed, draws.speeds[:, number]) for number, fly in enumerate(box)])
    weight = np.stack([_spread(fly.weight, draws.weights[:, number]) for number, fly in enumerate(box)])
    mass = np.array([fly.moving_mass(current.water.density) for fly in box])
    places = sets.shape[1]
    flat = (places, len(sets) * draws.count)
    weights = weight[sets.T].reshape(flat)
    speeds = speed[sets.T].reshape(flat)
    masses = np.repeat(mass[sets.T], draws.count, axis=1)
    return weights / speeds**2, weights, masses
