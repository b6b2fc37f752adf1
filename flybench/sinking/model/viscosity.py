"""How the drag of a fly goes with the viscosity of the water, learned only from flies that were dropped in two waters.

A fly's drag area goes with water and speed as

    ln A = a + g(Re) - d ln Re - b ln v

with g the mean of the published bodies, d how much steeper the fly falls than it, and b how far soft dressing bends
back with speed. Flies that differ in bead, hook and dressing say nothing of d: what the model gets wrong from one bead
to the next would pass for it. d is made of parts that all flies, those of a style, those of a pattern share, and of
one of the fly's own; how large these are is learned too.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray

from flybench.errors import BadValueError
from flybench.hydraulics.water import Water
from flybench.quantity import Floats
from flybench.sinking.drag.published_bodies import mean_logarithm
from flybench.sinking.drag.shape import reference_length
from flybench.sinking.drag.tied_fly import Build, MeasuredFly

DENSE = 4000.0
"""Density of a fly whose weight is not known [kg/m3] (judgement)."""
BEND, BEND_SPREAD = 0.1, 0.1
"""Exponent b of speed by which soft dressing bends back: mean and standard deviation [-]. Wire does not bend;
leaves and hairs in flowing water lose up to half a power of their drag or more (from memory), and are a part of a fly
(judgement)."""
_ALL = 0.17
"""Standard deviation of what all flies of a shop have in common of d [-] (judgement): with all that is below, that of a
fly is 0.24, a little more than the 0.21 to 0.23 by which the published bodies differ at Reynolds numbers 300 to 600."""
_STYLES, _PATTERNS, _FLIES = (0.03, 0.08, 0.16), (0.03, 0.08, 0.16), (0.03, 0.06, 0.12)
"""Standard deviations of what styles, patterns and flies add to d [-], tried in all combinations, alike likely before
anything was measured (judgement)."""
_FLOOR = 0.04
"""Least standard deviation of d [-]: no body follows a power over all waters from 0 to 30 degC (judgement: the slopes of
the published bodies change by that much where viscosity doubles)."""

_STEP = 0.005
"""Step of d and its standard deviation where one fly is asked for [-] (judgement)."""


@dataclass(frozen=True)
class InTwoWaters:
    """What a fly dropped in two waters or more says of d: value, variance of its own, and by how much it is off where
    everything measured in one of the waters is off by its shared uncertainty [-]."""

    fly: str
    build: Build
    steeper: float
    variance: float
    shared: float


@dataclass(frozen=True)
class _Known:
    """What flies say of d for each set of spreads (g): the spreads squared (g, 3), the weight of each set (g), the covariance
    of what was seen inverted (g, n, n), and that times what was seen (g, n)."""

    squares: Floats
    weights: Floats
    inverse: Floats
    told: Floats


@dataclass(frozen=True)
class ViscosityLaw:
    """What a shop knows of d, from the flies that it dropped in two waters or more."""

    seen: tuple[InTwoWaters, ...]
    _told: dict[tuple[str, str, str], tuple[float, float]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    """What was asked before: flies that were not dropped in two waters are as others of their style and pattern."""

    def steeper(self, flies: Sequence[tuple[str, Build]]) -> tuple[Floats, Floats]:
        """Return d of flies, by code (empty for an untied one) and build: mean (n) and covariance (n, n) [-].

        The mean over all sets of spreads, each weighted by its evidence (Gaussian, closed form). What is shared within
        an evening counts as one error for all flies dropped in two waters, as far as it moves both: more of them do not
        average it away.
        """
        known = self._known
        alike = _alike(flies, [(one.fly, one.build) for one in self.seen])
        across = _ALL**2 + np.tensordot(known.squares, alike, 1)
        gain = across @ known.inverse
        means = (across @ known.told[:, :, None])[:, :, 0]
        mean = known.weights @ means
        apart = means - mean
        usual = _ALL**2 + np.tensordot(known.weights @ known.squares, _alike(flies, flies), 1)
        learned = sum(w * one @ other.T for w, one, other in zip(known.weights, gain, across, strict=True))
        return mean, usual - learned + (known.weights * apart.T) @ apart + _FLOOR**2 * np.eye(len(flies))

    @cached_property
    def _flies(self) -> frozenset[str]:
        return frozenset(one.fly for one in self.seen)

    @cached_property
    def _known(self) -> _Known:
        """Return what the flies seen say for each set of spreads, whoever is asked about: worked out once."""
        value = np.array([one.steeper for one in self.seen])
        shared = np.square([one.shared for one in self.seen])
        noise = np.diag([one.variance for one in self.seen]) + np.minimum.outer(shared, shared)
        asked = [(one.fly, one.build) for one in self.seen]
        squares = np.square(list(product(_STYLES, _PATTERNS, _FLIES)))
        covariance = _ALL**2 + np.tensordot(squares, _alike(asked, asked), 1) + noise
        inverse = np.linalg.inv(covariance)
        told = inverse @ value
        evidence = -0.5 * (told @ value) - 0.5 * np.linalg.slogdet(covariance)[1]
        weights = np.exp(evidence - evidence.max())
        return _Known(squares, weights / weights.sum(), inverse, told)

    def of(self, fly: str, build: Build) -> tuple[float, float]:
        """Return mean and standard deviation of d of one fly [-], in steps of 0.005; an empty code stands for one not tied
        yet.

        A step is an eighth of the least standard deviation: one more run in a shop seldom moves all other flies' speeds.
        """
        own = fly if fly in self._flies else ""
        key = own, build.style, build.pattern
        if key not in self._told:
            mean, covariance = self.steeper([(own, build)])
            deviation = float(np.sqrt(covariance[0, 0]))
            self._told[key] = round(float(mean[0]) / _STEP) * _STEP, round(deviation / _STEP) * _STEP
        return self._told[key]


def learn_viscosity(measured: Sequence[MeasuredFly]) -> ViscosityLaw:
    """Return what measured flies say of how drag goes with viscosity: those with more than one water do."""
    by_fly: dict[str, list[MeasuredFly]] = defaultdict(list)
    for one in measured:
        by_fly[one.fly].append(one)
    told = [_in_two_waters(rows) for rows in by_fly.values() if len(rows) > 1]
    return ViscosityLaw(tuple(one for one in told if one is not None))


def _in_two_waters(rows: Sequence[MeasuredFly]) -> InTwoWaters | None:
    """Return the slope of a straight line through one fly's waters: what is left of ln A beside g, over -ln Re."""
    first = rows[0]
    if not all(sinks_in(first, one.water) for one in rows):
        return None  # its weight is wrong: it was seen to sink in all of them
    length = reference_length(first.build)
    reynolds = np.array([one.speed * length / one.water.kinematic_viscosity for one in rows])
    speeds = np.array([one.speed for one in rows])
    heavy = np.array([weight_ratio(first, one.water) for one in rows])
    area = heavy / (np.array([one.water.density for one in rows]) * speeds**2)
    left = np.log(area) - mean_logarithm(reynolds) + BEND * np.log(speeds)
    weights = 1 / np.square([2 * one.own / one.speed for one in rows])
    along = -np.log(reynolds)
    along = along - weights @ along / weights.sum()
    told = float(weights @ along**2)
    if told == 0.0:
        return None
    shares = weights * along / told
    shared = float(np.linalg.norm(shares * [2 * one.shared / one.speed for one in rows]))
    return InTwoWaters(first.fly, first.build, float(shares @ left), 1 / told, shared)


def weight_ratio(measured: MeasuredFly, water: Water) -> float:
    """Return a fly's weight in this water over that in its own [-]; of unknown weight, it is 4000 kg/m3 dense."""
    if measured.weight is None:
        return 1 - (water.density - measured.water.density) / (DENSE - measured.water.density)
    there, here = (measured.weight.in_water(one).weight.value for one in (water, measured.water))
    return there / here


def sinks_in(measured: MeasuredFly, water: Water) -> bool:
    """Tell whether a fly of known weight sinks in other water, too; of unknown weight, it does."""
    try:
        weight_ratio(measured, water)
    except BadValueError:
        return False
    return True


def _alike(some: Sequence[tuple[str, Build]], others: Sequence[tuple[str, Build]]) -> Floats:
    """Return 1 where two are of one style, of one pattern, are one fly: (3, n, m)."""
    pairs = zip(_names(some), _names(others), strict=True)
    return np.array([one[:, None] == other for one, other in pairs], dtype=float)


def _names(flies: Sequence[tuple[str, Build]]) -> list[NDArray[np.str_]]:
    """Return the styles, the patterns and the codes of flies; one that is not tied is like no other."""
    names = (
        [build.style for _, build in flies],
        [build.pattern for _, build in flies],
        [code or f"untied {number}" for number, (code, _) in enumerate(flies)],
    )
    return [np.array(one, dtype=str) for one in names]
