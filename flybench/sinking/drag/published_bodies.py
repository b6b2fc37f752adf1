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
"""Upper end of s."""
_FLY_REYNOLDS = (300.0, 600.0, 1000.0)
_PARTS: Final = {"hook wire": 0.2, "ribbing": 0.1, "hackle stems": 0.02, "hackle fibres": 0.01}
"""Thickness of a part over the bead's diameter (common practice, no source)."""


@dataclass(frozen=True)
class Anchor:
    """A published body and its share s at the Reynolds numbers of flies."""

    body: str
    exponent: float
    source: str


@cache
def anchors() -> tuple[Anchor, ...]:
    """Return the published bodies from which the prior of s is made, worked out from their laws.

    The mean of d ln C / d ln Re over that of a sphere, at Re 300, 600 and 1000 on the bead's diameter (where a
    sphere's slope is well off zero), kept within 0 to 2. Reference: Brown & Lawler (2003) for the sphere, Cheng
    (2013), doi:10.1061/(ASCE)HY.1943-7900.0000722, for cylinders; blunt bodies: Haider & Levenspiel (1989) give
    coefficients that no longer fall above Re 300 for sphericities of 0.8 and below.
    """
    sphere = drag_slope(_FLY_REYNOLDS)
    wires = [
        Anchor(name, _kept(cylinder_slope(np.array(_FLY_REYNOLDS) * share) / sphere), "Cheng (2013)")
        for name, share in _PARTS.items()
    ]
    return (
        Anchor("sphere", 1.0, "Brown & Lawler (2003)"),
        *wires,
        Anchor("blunt body", 0.0, "Haider & Levenspiel (1989), sphericity 0.5 to 0.8"),
    )


def prior_exponent() -> tuple[float, float]:
    """Return the mean and the standard deviation of s for a fly: those over the published bodies, the deviation
    over the root of two, as a fly mixes at least two of them (judgement)."""
    found = [anchor.exponent for anchor in anchors()]
    return float(np.mean(found)), float(np.std(found, ddof=1) / np.sqrt(2))


def _kept(shares: Floats) -> float:
    return float(np.clip(np.mean(shares), 0.0, STEEPEST))
