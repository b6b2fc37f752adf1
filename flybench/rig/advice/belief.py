"""What is believed of a river and of a rig in it: many possible ones, each as likely as what was seen makes it.

Depth, surface speed, bed, drag of the line, sink speeds and weights of the flies, the slack of a caster and how well he
feels a touch stay the same from drift to drift, so each is drawn once for every possible river. From drifts of a given
way only the product of depth and speed is learned well: measure the speed with a float to get the depth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from zlib import crc32

import numpy as np
from scipy.special import ndtri

from flybench.quantity import Floats
from flybench.rig.odds.draws import Draws, drawn, river
from flybench.rig.tackle.flies import RigFly
from flybench.rig.water.current import Current

AS_TYPED, OTHERWISE = 600, 400
"""Possible rivers as they were typed, and others (judgement: an interval then moves by some percent with the seed)."""
WRONG = 0.3
"""Probability that depth and surface speed are misjudged by more than was typed [-] (judgement: people judge them by eye and
are often wrong by a quarter; 80 % intervals then hold in about 80 % of waters, as typed or not, see benchmarks/README.md)."""
WIDER = 4.0
"""How much wider than typed depth and surface speed then are [-] (judgement: 20 % become 80 %, k = 2)."""
OWN_SLACK = 0.5
"""Part of the doubt of the slack that is each cast's own [-] (judgement); the rest is the caster's: the squares sum to 1."""
MISSED, FALSE = (0.05, 0.15, 0.25), (1 / 60, 0.05, 1 / 12)
"""Shares of touches that are not felt, and of drifts without one in which one is thought to be felt [-], each three as likely
as the others (judgement: up to a third of soft touches, one stone or weed in ten)."""
_SEED = 5
"""Fixes the possible rivers, so that the same reports give the same answer."""


@dataclass(frozen=True)
class Interval:
    """A median with the ends of its 80 % interval, in the unit of what it is of."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class Belief:
    """Possible rivers.

    depth [m] and speed of the surface [m/s] of each; draws, standard normal numbers of all that stays from drift to
    drift [-]; typed, whether it is one as typed. missed, shares of touches that are not felt, and false, of drifts in
    which one is wrongly felt [-], which anglers may have. share, how likely each river and angler are, (rivers,
    anglers): sums to 1.
    """

    depth: Floats
    speed: Floats
    draws: Draws
    missed: Floats
    false: Floats
    typed: np.ndarray
    share: Floats

    @property
    def rivers(self) -> Floats:
        """How likely each river is [-]."""
        likely: Floats = self.share.sum(axis=1)
        return likely

    @property
    def depth_interval(self) -> Interval:
        """80 % interval of the depth [m]."""
        return interval(self.depth, self.rivers)

    @property
    def speed_interval(self) -> Interval:
        """80 % interval of the surface speed [m/s]."""
        return interval(self.speed, self.rivers)

    @property
    def product_interval(self) -> Interval:
        """80 % interval of depth times surface speed [m2/s], which touches tell best."""
        return interval(self.depth * self.speed, self.rivers)

    def with_flies(self, flies: Sequence[RigFly]) -> Draws:
        """Return the draws with numbers for these flies: the same for the same name, whatever rig it is tied on."""
        columns = [_own_numbers(fly.name, len(self.share)) for fly in flies]
        speeds, weights = (np.stack([one[part] for one in columns], axis=1) for part in (0, 1))
        return replace(self.draws, speeds=speeds, weights=weights)

    def likely(self, flies: Sequence[RigFly], count: int, steps: int, seed: int = 1) -> Draws:
        """Return ``count`` draws for ``steps`` steps from the possible rivers, each as often as it is likely.

        Bumps, turbulence and the cast's own part of the slack are drawn anew.
        """
        places = np.searchsorted(np.cumsum(self.rivers), (np.arange(count) + 0.5) / count).clip(
            max=len(self.share) - 1
        )
        kept, fresh = self.with_flies(flies), drawn(count, 0, steps, seed)
        return Draws(
            depth=kept.depth[places],
            surface_speed=kept.surface_speed[places],
            shape=kept.shape[places],
            line=kept.line[places],
            slack=kept.slack[places] + OWN_SLACK * fresh.slack,
            bump=fresh.bump,
            speeds=kept.speeds[places],
            weights=kept.weights[places],
            noise=fresh.noise,
        )


def prior_belief(current: Current) -> Belief:
    """Return what is believed before any drift: depth and surface speed as typed, or wider in three of ten waters."""
    count = AS_TYPED + OTHERWISE
    typed = np.arange(count) < AS_TYPED
    parts = [drawn(number, 0, 1, _SEED + place, False) for place, number in enumerate((AS_TYPED, OTHERWISE))]
    wider, none = np.where(typed, 1.0, WIDER), np.zeros((count, 0))
    draws = Draws(
        depth=wider * _together(parts, "depth"),
        surface_speed=wider * _together(parts, "surface_speed"),
        shape=_together(parts, "shape"),
        line=_together(parts, "line"),
        slack=np.sqrt(1 - OWN_SLACK**2) * _together(parts, "slack"),
        bump=np.zeros(count),
        speeds=none,
        weights=none,
        noise=None,
    )
    speed, depth, _ = river(current, draws)
    missed, false = (part.ravel() for part in np.meshgrid(MISSED, FALSE))
    share = np.multiply.outer(
        np.where(typed, (1 - WRONG) / AS_TYPED, WRONG / OTHERWISE), np.full(len(missed), 1 / len(missed))
    )
    return Belief(depth, speed, draws, missed, false, typed, share)


def updated_belief(belief: Belief, likely: Floats) -> Belief:
    """Return the belief after something whose logarithm of likelihood is given for each river and angler: Bayes' rule."""
    share = belief.share * np.exp(likely - likely.max())
    return replace(belief, share=share / share.sum())


def interval(values: Floats, share: Floats) -> Interval:
    """Return the 80 % interval of values, each with its share, between the middles of their steps."""
    order = np.argsort(values)
    below = np.cumsum(share[order]) - share[order] / 2
    ends = np.interp((0.1, 0.5, 0.9), below / share.sum(), np.log(values[order]))
    return Interval(*(float(np.exp(end)) for end in ends))


def _together(parts: Sequence[Draws], name: str) -> Floats:
    joined: Floats = np.concatenate([getattr(part, name) for part in parts])
    return joined


def _own_numbers(name: str, count: int) -> Floats:
    """Return standard normal numbers for speed and weight of a fly, by its name, (2, count)."""
    chance = np.random.default_rng([_SEED, crc32(name.casefold().encode())])
    parts = chance.permuted(np.tile(np.arange(count), (2, 1)), axis=1)
    numbers: Floats = ndtri((parts + 0.5) / count)
    return numbers
