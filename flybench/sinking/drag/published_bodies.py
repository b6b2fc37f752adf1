"""How the drag of published bodies goes with Reynolds number, as a share of how a sphere's does.

A fly's drag area falls with Reynolds number like A ~ C(Re)^s, C the coefficient of a sphere at the Reynolds number
on the bead's diameter. s is 1 for a sphere, about a half for a hook's wire, 1.5 to 2 for fibres of hackle, 0 for a
blunt body, whose drag goes with the square of speed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from flybench.hydraulics.cylinder import cylinder_slope
from flybench.hydraulics.sphere import drag_slope
from flybench.quantity import Floats

STEEPEST = 2.0
"""Upper end of s [-]: a little above the thinnest fibres of the published bodies, 1.9 or less (judgement)."""
_FLY_REYNOLDS = (300.0, 600.0, 1000.0)
"""Reynolds numbers on the bead at which laws are compared [-]: those of slow to middling flies, where the slope of a
sphere's coefficient is well off zero (judgement)."""
_PARTS: Final = {"hook wire": 0.2, "ribbing": 0.1, "hackle stems": 0.02, "hackle fibres": 0.01}
"""Thickness of a part over the bead's diameter [-] (common practice, no source)."""
_MIXED = 2.0
"""Published bodies that a fly mixes at the least [-] (judgement)."""


@dataclass(frozen=True)
class PublishedBody:
    """A published body, its share s at the Reynolds numbers of flies [-], and its source."""

    body: str
    exponent: float
    source: str


@cache
def published_bodies() -> tuple[PublishedBody, ...]:
    """Return the published bodies from which the prior of s is made, worked out from their laws.

    The mean of d ln C / d ln Re over that of a sphere [-], at Re 300, 600 and 1000 on the bead's diameter (where a
    sphere's slope is well off zero), kept within 0 to 2. Reference: Brown & Lawler (2003) for the sphere, Cheng
    (2013), doi:10.1061/(ASCE)HY.1943-7900.0000722, for cylinders; blunt bodies: Haider & Levenspiel (1989) give
    coefficients that no longer fall above Re 300 for sphericities of 0.8 and below.

    >>> [round(one.exponent, 2) for one in published_bodies() if one.body in ("sphere", "blunt body")]
    [1.0, 0.0]
    """
    sphere = drag_slope(_FLY_REYNOLDS)
    wires = [
        PublishedBody(name, _kept(cylinder_slope(np.array(_FLY_REYNOLDS) * share) / sphere), "Cheng (2013)")
        for name, share in _PARTS.items()
    ]
    return (
        PublishedBody("sphere", 1.0, "Brown & Lawler (2003)"),
        *wires,
        PublishedBody("blunt body", 0.0, "Haider & Levenspiel (1989), sphericity 0.5 to 0.8"),
    )


def prior_exponent() -> tuple[float, float]:
    """Return the mean and the standard deviation of s for a fly [-].

    Those over the published bodies, the deviation over the root of two, as a fly mixes at least two of them
    (judgement). Reference: ``published_bodies``.
    """
    found = [anchor.exponent for anchor in published_bodies()]
    return float(np.mean(found)), float(np.std(found, ddof=1) / np.sqrt(_MIXED))


def _kept(shares: Floats) -> float:
    return float(np.clip(np.mean(shares), 0.0, STEEPEST))
