"""What the walls of the tank take off the sink speed.

The published formulas disagree: a ball a tenth as wide as its tube loses 1 to 6 % at the Reynolds
numbers of flies. So no single formula is trusted: the middle of those that apply is used, and half
their spread is carried as standard uncertainty. Creeping-flow formulas (Faxén, Haberman-Sayre,
Francis) say 20 % there and never take part above Re 1.

All are for spheres on the axis of a round tube. For a rectangular tank take its shorter side as
the tube's diameter, which is a judgement, not a published fact.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from flybench.quantity import Floats, Measured, inside

WIDEST_RATIO = 0.3
"""Highest ratio of body to tank width that is corrected at all [-]: beyond it the formulas differ by a quarter of the
speed, and the wake meets the wall (judgement)."""
SLOWEST, FASTEST = 1e-3, 2e5
"""Range of the Reynolds number [-]: from creeping flow to where a sphere's boundary layer turns turbulent, the end of
the drag laws here (judgement)."""
FLOOR = 0.1
"""Least standard uncertainty over the correction 1 - f [-]: for where one formula stands alone (judgement)."""


@dataclass(frozen=True)
class WallFormula:
    """A wall formula: factor [-] over (ratio [-], Re [-]), where it holds, its source.

    ``fades`` are four Reynolds numbers [-]: it begins to count at the first, counts in full from the
    second to the third, and no longer at the fourth.
    """

    factor: Callable[[Floats, Floats], Floats]
    fades: tuple[float, float, float, float]
    reference: str

    def weight(self, reynolds: Floats) -> Floats:
        """Return from 0 to 1 how far the formula counts, a ramp in ln Re at either end."""
        start, full, last, end = np.log(self.fades)
        at = np.log(reynolds)
        rising = np.clip((at - start) / (full - start), 0, 1)
        falling = np.clip((end - at) / (end - last), 0, 1)
        weight: Floats = np.minimum(rising, falling)
        return weight


def wall_factor(ratio: float, reynolds: float) -> Measured:
    """Return the sink speed in the tank over the sink speed in free water.

    f = (lowest + highest applicable formula) / 2; standard uncertainty = half the difference, at
    least a tenth of 1 - f. Divide the speed measured in the tank by f.

    Parameters: ratio, width of the body over width of the tank [-]; reynolds, of the free fall [-].
    Returns: factor with standard uncertainty [-]; a ratio of 0 gives exactly 1 and 0.
    Range: ratio 0 to 0.3, Re 0.001 to 2e5; BadValueError outside. A body that wobbles can lose far more than this.
    References: see FORMULAS. That half the spread is the standard uncertainty is a judgement.

    >>> factor = wall_factor(0.05, 2000.0)
    >>> round(factor.value, 3), round(factor.standard_uncertainty, 3)
    (0.985, 0.014)
    """
    lowest, highest = factor_limits(ratio, reynolds)
    middle = float(lowest + highest) / 2
    spread = float(highest - lowest) / 2
    return Measured(middle, max(spread, FLOOR * (1 - middle)))


PLANE_SHARE = 9 / 16 / 2.1050
"""What a plane wall on one side takes off the speed, over what a tube takes whose wall is as near all around [-]: the leading
terms of Faxén's and of Haberman and Sayre's formulas, both for creeping flow."""


def plane_wall_factor(width: float, distance: float, reynolds: float) -> Measured:
    """Return the sink speed beside one plane wall over the sink speed in free water.

    At the Reynolds numbers of flies nothing published tells it, and creeping flow, where a wall is felt farthest, is no
    guide to its size. So nothing is corrected; the standard uncertainty is that of a slow-down anywhere between none and
    half of PLANE_SHARE of the most that a tube of twice the distance takes (judgement).

    Parameters: width of the body and distance of its middle from the wall, in one unit; reynolds, of the free fall [-].
    Returns: factor with standard uncertainty [-]. Range: as wall_factor, with width / (2 distance) as the ratio; nearer than
    WIDEST_RATIO allows, the ratio counts as WIDEST_RATIO, which the uncertainty does not cover.
    References: Faxén (1922) for a plane wall, 1 - 9/16 radius / distance, as given by Happel & Brenner (1965), from memory.

    >>> factor = plane_wall_factor(0.005, 0.012, 1000.0)
    >>> factor.value, round(factor.standard_uncertainty, 3)
    (1.0, 0.01)
    """
    lowest, _ = factor_limits(min(width / (2.0 * distance), WIDEST_RATIO), reynolds)
    return Measured(1.0, PLANE_SHARE * float(1.0 - lowest) / 2.0 / math.sqrt(3.0))


def factor_limits(ratio: ArrayLike, reynolds: ArrayLike) -> tuple[Floats, Floats]:
    """Return the lowest and the highest applicable wall factor, over arrays.

    A formula outside its range is replaced by Di Felice's, which holds at every Reynolds number;
    within its ramp it counts in part, so nothing jumps as Re passes from one set to the next.

    Parameters, range: as wall_factor.
    Returns: lowest and highest factor [-]. References: see FORMULAS.

    >>> [round(float(limit), 3) for limit in factor_limits(0.05, 2000.0)]
    [0.971, 0.999]
    """
    cure = "The tank is too narrow: use one at least 3.3, better 30, times as wide as the fly."
    width = inside("ratio of fly to tank width", ratio, 0.0, WIDEST_RATIO, "", cure)
    speed = inside("Reynolds number", reynolds, SLOWEST, FASTEST, "", "Check diameter, speed and water.")
    everywhere = _di_felice(width, speed)
    blended = [
        everywhere + formula.weight(speed) * (formula.factor(width, speed) - everywhere)
        for formula in FORMULAS.values()
    ]
    return np.min(blended, axis=0), np.max(blended, axis=0)


def _di_felice(ratio: Floats, reynolds: Floats) -> Floats:
    power = (3.3 + 0.085 * reynolds) / (1 + 0.1 * reynolds)
    return ((1 - ratio) / (1 - 0.33 * ratio)) ** power


def _haberman_sayre(ratio: Floats, _: Floats) -> Floats:
    above = 1 - 2.1050 * ratio + 2.0865 * ratio**3 - 1.7068 * ratio**5 + 0.72603 * ratio**6
    return above / (1 - 0.75857 * ratio**5)


def _francis(ratio: Floats, _: Floats) -> Floats:
    return ((1 - ratio) / (1 - 0.475 * ratio)) ** 4


def _munroe(ratio: Floats, _: Floats) -> Floats:
    return 1 - ratio**1.5


def _newton(ratio: Floats, _: Floats) -> Floats:
    return (1 - ratio**2) * np.sqrt(1 - 0.5 * ratio**2)


def _clift(ratio: Floats, _: Floats) -> Floats:
    return 1 - 1.6 * ratio**1.6


def _jsme(ratio: Floats, _: Floats) -> Floats:
    return 1 - 2.130 * ratio**2.462


_NEVER_FADES = (1e-9, 1e-8, 1e8, 1e9)
"""Fades of a formula that counts in full from SLOWEST to FASTEST [-]: both ends lie far outside."""
_INERTIAL = (100.0, 500.0, 1e8, 1e9)
"""Fades of formulas for inertial flow [-]: Clift et al. give 1e2 for theirs, others "about 1e3"; a ramp between, so that
nothing jumps (judgement)."""
_CREEPING = (1e-9, 1e-8, 0.05, 0.1)
"""Fades of an exact creeping-flow formula [-]: inertia adds a percent at Re 0.1 (judgement)."""
_SLOW = (1e-9, 1e-8, 0.5, 1.0)
"""Fades of Francis' formula [-]: measured up to Re 1 (from memory)."""
_CLIFT_ENDS = (100.0, 500.0, 1e4, 2e4)
"""Fades of Clift's formula [-]: Re 1e2 to 1e4 in the book (from memory), a ramp beyond (judgement)."""

FORMULAS = {
    "di-felice": WallFormula(
        _di_felice, _NEVER_FADES, "Di Felice (1996), Int. J. Multiphase Flow 22, 527-533, from memory"
    ),
    "haberman-sayre": WallFormula(
        _haberman_sayre,
        _CREEPING,
        "Haberman & Sayre (1958), David Taylor Model Basin Report 1143",
    ),
    "francis": WallFormula(_francis, _SLOW, "Francis (1933), Physics 4, 403, from memory"),
    "munroe": WallFormula(_munroe, _INERTIAL, "Munroe (1888), Trans. AIME 17, 637, from memory"),
    "newton": WallFormula(_newton, _INERTIAL, "Newton (1687), as given by later reviews, from memory"),
    "clift": WallFormula(_clift, _CLIFT_ENDS, "Clift, Grace & Weber (1978), Re 1e2 to 1e4, from memory"),
    "jsme-straight": WallFormula(
        _jsme, _INERTIAL, "Bulletin of the JSME 18, no. 124 (1975), spheres falling straight (abstract)"
    ),
}
"""Every wall formula by name; their numbers are those of the sources named."""
