"""What the river says: how often the point touched the bottom tells depth times speed of the water.

From drifts of a given way only the product of depth and speed is learned well, each alone hardly: measure the
surface speed with a float to get the depth. Drifts of a given time tell the depth itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from scipy.special import ndtr

from flybench.errors import BadValueError
from flybench.quantity import Floats, inside
from flybench.rig.chain.simulate import simulate, steps
from flybench.rig.chain.watchers import Tally, drift_ends
from flybench.rig.odds.draws import Draws, drawn, rigs_of_draws, tops
from flybench.rig.tackle.leader import Rig
from flybench.rig.water.current import Current
from flybench.rig.water.level import FishLevel

DEPTHS, SPEEDS = 41, 31
"""Points of the grid over the logarithms of depth and surface speed (judgement: finer ones change an interval by less
than a percent)."""
REACH = 3.2
"""How many standard uncertainties the grid reaches to either side [-] (judgement: 0.1 % lie outside)."""
RELIEF = 0.05
"""Rms height of bumps and hollows that a drift meets, besides the stones' tops [m] (judgement)."""
MISSED = 0.01
"""Least share of touches that are missed, or felt where there was none [-] (judgement): one drift rules nothing out."""
WANTED = 0.25
"""Share of drifts that should touch [-]: now and then, so that the point is known to run near the bed (common practice,
no source, for touching now and then; the number is judgement)."""
SHORTEST, LONGEST = 0.5, 60.0
"""Range of the time of a drift [s], and least way of one [m] (judgement)."""
SCATTER_DRAWS = 200
"""Draws that tell how single drifts scatter (judgement: the scatter is then good to 5 %)."""
_ABYSS = 50.0
"""A depth that no point reaches in a drift [m]."""
_SHALLOW = FishLevel(0.0, 0.1)
"""A level that is counted and not used [m]: only the deepest place matters here."""


class HowOften(StrEnum):
    """How often the point touched, where it was not counted."""

    NEVER = "never"
    SOMETIMES = "sometimes"
    ALWAYS = "every time"


@dataclass(frozen=True)
class Touches:
    """Drifts with one rig: their number, and how many of them touched the bottom, counted or in a word.

    Raises BadValueError for counts that cannot be, and for "sometimes" of a single drift.
    """

    drifts: int
    touched: int | HowOften

    def __post_init__(self) -> None:
        """Refuse counts that cannot be."""
        if self.drifts < 1:
            raise BadValueError("drifts", f"{self.drifts} drifts say nothing", "Give 1 or more.")
        if isinstance(self.touched, HowOften):
            if self.touched is HowOften.SOMETIMES and self.drifts < 2:
                raise BadValueError(
                    "drifts", "one drift alone cannot touch sometimes", "Give the number of drifts."
                )
        elif not 0 <= self.touched <= self.drifts:
            problem = f"{self.touched} of {self.drifts} drifts cannot have touched"
            raise BadValueError("touched", problem, "Count each drift once, however often it touched.")

    def log_likelihood(self, chance: Floats) -> Floats:
        """Return the logarithm of how likely this is for a chance of touching in each drift [-], but for a constant.

        Reference: the binomial distribution.
        """
        n = self.drifts
        if self.touched is HowOften.SOMETIMES:
            some: Floats = np.log1p(-(chance**n) - (1 - chance) ** n)
            return some
        touched = (
            {HowOften.NEVER: 0, HowOften.ALWAYS: n}[self.touched]
            if isinstance(self.touched, HowOften)
            else self.touched
        )
        likely: Floats = touched * np.log(chance) + (n - touched) * np.log1p(-chance)
        return likely


@dataclass(frozen=True)
class Interval:
    """A median with the ends of its 80 % interval, in the unit of what it is of."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class Belief:
    """What is believed of depth [m] and surface speed [m/s], on a grid; share (depths, speeds) sums to 1."""

    depth: Floats
    speed: Floats
    share: Floats

    @property
    def depth_interval(self) -> Interval:
        """80 % interval of the depth [m]."""
        return _interval(np.log(self.depth), self.share.sum(axis=1))

    @property
    def speed_interval(self) -> Interval:
        """80 % interval of the surface speed [m/s]."""
        return _interval(np.log(self.speed), self.share.sum(axis=0))

    @property
    def product_interval(self) -> Interval:
        """80 % interval of depth times surface speed [m2/s], which touches tell best."""
        product = np.log(np.multiply.outer(self.depth, self.speed)).ravel()
        if len(product) == 1:
            return _interval(product, self.share.ravel())
        edges = np.linspace(product.min(), product.max(), DEPTHS + 1)
        share, _ = np.histogram(product, edges, weights=self.share.ravel())
        return _interval((edges[1:] + edges[:-1]) / 2, share)


def prior_belief(current: Current) -> Belief:
    """Return what is believed before any drift: depth [m] and surface speed [m/s] as measured, lognormal, independent."""
    (depth, deep), (speed, fast) = (
        _axis(part.value, part.standard_uncertainty / part.value, count)
        for part, count in ((current.depth, DEPTHS), (current.surface_speed, SPEEDS))
    )
    share = np.multiply.outer(deep, fast)
    return Belief(depth, speed, share / share.sum())


def touch_chance(
    rig: Rig, current: Current, belief: Belief, seconds: float, length: float = math.inf, seed: int = 1
) -> Floats:
    """Return the chance that the point touches in a drift, for every depth and speed of the belief.

    p = Phi((z + b - h + s) / sigma): z, the depth the point would reach without a bed; b and sigma, what draws of
    turbulence, slack, line drag and the flies' own doubts add to it and scatter it by, with the bed's relief; s,
    the height of the stones' tops.

    Parameters: seconds of a drift at the most [s]; length, way of the line's entry after which it is over [m]; seed of
    the draws.
    Returns: chance [-], (depths, speeds).
    Range: 0.5 to 60 s, from 0.5 m; BadValueError outside.
    """
    inside("seconds", seconds, SHORTEST, LONGEST, "s", "Give the length of a drift, such as 8 s.")
    inside("length", length, SHORTEST, math.inf, "m", "Give the way from landing to lifting off.")
    free = _free_depth(rig, current, belief, (seconds, length))
    shift, scatter = _scatter(rig, current, (seconds, length), seed)
    sigma = np.hypot(scatter, RELIEF)
    chance = ndtr((free + shift - belief.depth[:, None] + current.bed.tops) / sigma)
    clipped: Floats = np.clip(chance, MISSED, 1 - MISSED)
    return clipped


def updated_belief(belief: Belief, chance: Floats, touches: Touches) -> Belief:
    """Return the belief after drifts with a rig whose chances of touching are ``chance`` [-]: Bayes' rule on the grid."""
    likely = touches.log_likelihood(chance)
    share = belief.share * np.exp(likely - likely.max())
    return replace(belief, share=share / share.sum())


def _axis(value: float, doubt: float, count: int) -> tuple[Floats, Floats]:
    """Return a grid over a positive quantity and the share of each point."""
    if doubt == 0:
        return np.array([value]), np.ones(1)
    normal = np.linspace(-REACH, REACH, count)
    return value * np.exp(doubt * normal), np.exp(-(normal**2) / 2)


def _interval(logs: Floats, share: Floats) -> Interval:
    """Return the 80 % interval of what has these shares on an even grid of logarithms, between the grid's points."""
    if len(logs) == 1:
        return Interval(*(float(np.exp(logs[0])),) * 3)
    half = (logs[1] - logs[0]) / 2
    edges = np.append(logs - half, logs[-1] + half)
    below = np.append(0.0, np.cumsum(share) / share.sum())
    return Interval(*(float(np.exp(np.interp(part, below, edges))) for part in (0.1, 0.5, 0.9)))


def _deepest(rig: Rig, current: Current, taken: Draws, drift: tuple[float, float]) -> Floats:
    """Return the deepest the point comes without a bed, a draw each [m]."""
    rigs, noise = rigs_of_draws(current, rig.tackle, rig.flies, [tuple(range(len(rig.flies)))], taken)
    rigs = replace(rigs, floor=np.full(rigs.count, _ABYSS))
    tally = Tally(rigs, _SHALLOW, drift_ends(rigs, *drift))
    simulate(rigs, steps(drift[0]), tally, noise)
    return tally.deepest


def _free_depth(rig: Rig, current: Current, belief: Belief, drift: tuple[float, float]) -> Floats:
    """Return the depth the point would reach without a bed, over the grid [m]."""
    deep, fast = (part.ravel() for part in np.meshgrid(belief.depth, belief.speed, indexing="ij"))
    none = np.zeros(len(deep))
    flies = np.zeros((len(deep), len(rig.flies)))
    at = Draws(
        _normal(deep, current.depth.value, current.depth.standard_uncertainty),
        _normal(fast, current.surface_speed.value, current.surface_speed.standard_uncertainty),
        none,
        none,
        none,
        flies,
        flies,
        None,
    )
    return _deepest(rig, current, at, drift).reshape(belief.share.shape)


def _normal(values: Floats, centre: float, spread: float) -> Floats:
    """Return values as standard normal numbers of the lognormal they come from."""
    logs: Floats = np.log(values / centre)
    return logs / (spread / centre) if spread > 0 else 0 * logs


def _scatter(rig: Rig, current: Current, drift: tuple[float, float], seed: int) -> tuple[float, float]:
    """Return by how much the deepest point of single drifts lies below the estimate, and how it scatters [m]."""
    taken = drawn(SCATTER_DRAWS, len(rig.flies), len(steps(drift[0])), seed)
    river = np.zeros(taken.count)
    known = replace(taken, depth=river, surface_speed=river)
    deepest = _deepest(rig, current, known, drift)
    heights = tops(current, known, river + current.depth.value) - current.bed.tops
    [estimate] = _deepest(rig, current, _only_estimate(taken), drift)
    apart = deepest + heights - estimate
    return float(np.mean(apart)), float(np.std(apart, ddof=1))


def _only_estimate(taken: Draws) -> Draws:
    none, flies = np.zeros(1), np.zeros((1, taken.speeds.shape[1]))
    return Draws(none, none, none, none, none, flies, flies, None)
