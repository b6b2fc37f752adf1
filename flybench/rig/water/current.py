"""The water in front of you: depth, surface speed and bed, and from them the speed at every depth."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from flybench.errors import BadValueError
from flybench.hydraulics.water import Water
from flybench.quantity import Floats, Measured, inside
from flybench.rig.water.bed import UNKNOWN, Bed
from flybench.rig.water.profile import KARMAN, LogProfile, PowerProfile, Profile
from flybench.statistics.budget import propagate

SHALLOWEST, DEEPEST = 0.1, 6.0
"""Range of the depth [m]: below it no leader hangs, above it none reaches (judgement)."""
SLOWEST, FASTEST = 0.02, 3.0
"""Range of the surface speed [m/s]: from almost still to faster than anybody stands in (judgement)."""
STEEPNESS, STEEPNESS_DOUBT = 6.0, 0.3
"""Exponent m of u ~ y^(1/m) where the bed is not known [-]: 1/6 to 1/7 in stream gauging (Rantz 1982, from memory);
and standard uncertainty of its logarithm [-]: equal steepness from gravel to cobble is 1/5 to 1/3.5 (judgement)."""
ROUGH = 5.0
"""Depth over D84 below which neither law of the profile holds [-] (Nikora et al. 2001; Ferguson 2007; abstracts read)."""
HIGH_TOPS = 0.02
"""Height of the stones' tops from which it is said that flies rest on them [m] (judgement: more than a fly's length)."""
VAGUEST = 0.5
"""Most standard uncertainty over the value [-]: beyond it the expanded one is as large as the value itself."""
PRESS_DOUBT = 0.15
"""Standard uncertainty of one press of a stop watch [s] (judgement: about the scatter of human reaction)."""
SHORTEST_WAY, LONGEST_WAY = 0.5, 100.0
"""Range of the distance over which a float is timed [m] (judgement)."""
SHORTEST_TIME, LONGEST_TIME = 1.0, 300.0
"""Range of the time a float takes [s]: below it the watch says little, above it the water is hardly one (judgement)."""


@dataclass(frozen=True)
class Current:
    """The water in front of the angler.

    depth h [m], down to the bed's own level; surface_speed u_s [m/s]; temperature [K]; bed.

    Raises BadValueError for water outside 0.1 to 6 m and 0.02 to 3 m/s, and for stones as high as the water is deep.
    """

    depth: Measured
    surface_speed: Measured
    temperature: float
    bed: Bed = UNKNOWN

    def __post_init__(self) -> None:
        """Refuse water that no rig is fished in, or that the laws do not cover."""
        inside("depth", self.depth.value, SHALLOWEST, DEEPEST, "m", "Measure it with the wading staff.")
        cure = "Time a float over a known distance; the surface of fishable water runs 0.1 to 1.5 m/s."
        inside("surface speed", self.surface_speed.value, SLOWEST, FASTEST, "m/s", cure)
        for key, part in (("depth", self.depth), ("surface speed", self.surface_speed)):
            _refuse_vague(key, part)
        Water(self.temperature)
        if (self.bed.stone or 0.0) >= self.depth.value:
            problem = f"stones of {self.bed.stone:g} m stand out of water that is {self.depth.value:g} m deep"
            raise BadValueError(
                "bed", problem, "Choose deeper water or smaller stones: no law of the current covers this."
            )

    @cached_property
    def water(self) -> Water:
        """The water as a liquid."""
        return Water(self.temperature)

    @property
    def flags(self) -> tuple[str, ...]:
        """What makes the speeds doubtful: words of flags.FLAGS."""
        raised = []
        if self.bed.roughness is None:
            raised.append("bed-unknown")
        if self.bed.stone is not None and self.depth.value < ROUGH * self.bed.stone:
            raised.append("shallow-rough")
        if self.bed.tops >= HIGH_TOPS:
            raised.append("stone-tops")
        return tuple(raised)

    @property
    def floor(self) -> float:
        """Depth of the stones' tops, where flies come to rest [m]."""
        return self.depth.value - self.bed.tops

    def speed(self, depth: ArrayLike) -> tuple[Floats, Floats]:
        """Return speed and its standard uncertainty [m/s] at depths below the surface [m], one after another.

        u = u_s ln(1 + y/z0) / ln(1 + h/z0), y above the bed; u = u_s (y/h)^(1/6) where the bed is not known.
        The heights y stay; depth, surface speed and bed carry their doubt.

        Range: depths from 0 to the depth of the water; BadValueError outside.
        Reference: the logarithmic law of rough beds and the power law of stream gauging (Rantz 1982, from memory).
        """
        cure = "Ask for a depth between surface and bed."
        heights = self.depth.value - inside("depth", depth, 0.0, self.depth.value, "m", cure)
        return self._with_doubt(lambda h, us, shape: us * _share(self.bed, heights / h, h, shape))

    @property
    def mean_speed(self) -> Measured:
        """Mean over the depth [m/s]: u_s [(1 + a) ln(1 + a) - a] / [a ln(1 + a)], a = h/z0; u_s m/(1 + m)."""

        def mean(h: float, us: float, shape: float) -> float:
            if self.bed.roughness is None:
                return us * shape / (1 + shape)
            a = h / shape
            return us * ((1 + a) * math.log1p(a) - a) / (a * math.log1p(a))

        value, doubt = self._with_doubt(mean)
        return Measured(float(value[0]), float(doubt[0]))

    @property
    def shear_velocity(self) -> Measured:
        """u* = 0.41 u_s / ln(1 + h/z0) [m/s]; of the log law as steep where the bed is not known."""
        value, doubt = self._with_doubt(
            lambda h, us, shape: shear_velocity(us, h, shape, self.bed.roughness is None)
        )
        return Measured(float(value[0]), float(doubt[0]))

    @property
    def shape(self) -> tuple[float, float]:
        """z0 [m], or the exponent m where the bed is not known, and the standard uncertainty of its logarithm."""
        if self.bed.roughness is None:
            return STEEPNESS, STEEPNESS_DOUBT
        return self.bed.roughness, self.bed.doubt

    def profile(self, surface_speed: Floats, depth: Floats, shape: Floats) -> Profile:
        """Return the profile of this bed for other depths [m], surface speeds [m/s] and shapes."""
        if self.bed.roughness is None:
            return PowerProfile(surface_speed, depth, shape)
        return LogProfile(surface_speed, depth, shape)

    def _with_doubt(self, law: Callable[[float, float, float], ArrayLike]) -> tuple[Floats, Floats]:
        """Return a law of depth, surface speed and shape with its standard uncertainty, to first order."""
        shape, doubt = self.shape
        values = [self.depth.value, self.surface_speed.value, math.log(shape)]
        spreads = [self.depth.standard_uncertainty, self.surface_speed.standard_uncertainty, doubt]
        found, covariance = propagate(lambda x: law(x[0], x[1], math.exp(x[2])), values, np.square(spreads))
        return found, np.sqrt(np.diag(covariance))


def shear_velocity(surface_speed: ArrayLike, depth: ArrayLike, shape: ArrayLike, power: bool) -> Floats:
    """Return u* [m/s]; ``shape`` is z0 [m], or the exponent m of a power law: ln(h/z0) = m + 1 is as steep."""
    steep = np.add(shape, 1.0) if power else np.log1p(np.divide(depth, shape))
    return KARMAN * np.asarray(surface_speed, dtype=float) / steep


def float_speed(distance: Measured, times: Sequence[float]) -> Measured:
    """Return the surface speed [m/s] from a float timed once or several times over a distance [m], times in s.

    u = d / t; the doubts of both presses of the watch, of the distance, and the scatter of the times count
    (JCGM 100:2008, 5.1.6).

    Range: 0.5 to 100 m and 1 to 300 s; BadValueError outside, and where no time is given.

    >>> speed = float_speed(Measured(5.0, 0.05), [8.1, 8.5, 7.9])
    >>> round(speed.value, 3), round(speed.standard_uncertainty, 3)
    (0.612, 0.015)
    """
    inside("distance", distance.value, SHORTEST_WAY, LONGEST_WAY, "m", "Pace off 3 to 10 m of even water.")
    if not len(times):
        raise BadValueError("time", "none is given", "Time a float over the distance, better three times.")
    taken = inside(
        "time", list(times), SHORTEST_TIME, LONGEST_TIME, "s", "Choose a distance that takes 5 to 60 s."
    )
    scatter = float(np.std(taken, ddof=1)) if len(taken) > 1 else 0.0
    one = max(scatter, math.sqrt(2) * PRESS_DOUBT) / math.sqrt(len(taken))
    value = distance.value / float(np.mean(taken))
    relative = math.hypot(one / float(np.mean(taken)), distance.standard_uncertainty / distance.value)
    return Measured(value, value * relative)


def _refuse_vague(key: str, part: Measured) -> None:
    """Refuse a doubt as large as the value itself."""
    if part.standard_uncertainty > VAGUEST * part.value:
        problem = f"{part.value:g} ± {part.expanded:g} says next to nothing"
        raise BadValueError(key, problem, "Measure it better: its ± may be as large as the value, no more.")


def _share(bed: Bed, share: Floats, depth: float, shape: float) -> Floats:
    """Return the speed over the surface speed at heights y/h."""
    if bed.roughness is None:
        return share ** (1 / shape)
    return np.log1p(share * depth / shape) / math.log1p(depth / shape)
