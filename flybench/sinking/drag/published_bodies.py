"""How the drag of published bodies goes with Reynolds number: as a share of how a sphere's does, and their mean.

From fly to fly, drag area falls with speed like A ~ C(Re)^s, C the coefficient of a sphere at the Reynolds number
on the bead's diameter. s is 1 for a sphere, about a half for a hook's wire, 1.5 to 2 for fibres of hackle, 0 for a
blunt body, whose drag goes with the square of speed. How one fly's drag goes with the water is looked for about the
mean of these bodies, which still falls where a smooth sphere's coefficient no longer does.
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
_LOW, _HIGH, _STEPS = 30.0, 1e4, 200
"""Reynolds numbers on the bead between which the mean of the bodies is worked out [-], and into how many steps: no fly
was measured below, none is above (judgement); beyond them the slope stays as it is at the end."""
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


def mean_slope(reynolds: Floats) -> Floats:
    """Return how steeply drag falls with Reynolds number, -d ln C / d ln Re [-], on the mean over the published bodies.

    A smooth sphere whose coefficient rises again (above Re 4000) counts as 0. Parameters: reynolds, on the bead's
    diameter [-], held within 30 to 1e4. Reference: ``published_bodies``.

    >>> [round(float(mean_slope(np.array(one))), 2) for one in (300.0, 1000.0, 3000.0)]
    [0.36, 0.23, 0.15]
    """
    held = np.clip(np.asarray(reynolds, dtype=float), _LOW, _HIGH)
    slopes = [
        drag_slope(held),
        *(cylinder_slope(held * share) for share in _PARTS.values()),
        np.zeros_like(held),
    ]
    mean: Floats = np.mean(np.maximum(-np.array(slopes), 0.0), axis=0)
    return mean


def mean_logarithm(reynolds: Floats) -> Floats:
    """Return ln of the mean body's drag coefficient [-], 0 at Re 30: ``mean_slope`` summed up (trapezoids)."""
    places, sums, slopes = _table()
    here = np.log(np.asarray(reynolds, dtype=float))
    beyond = slopes[0] * np.minimum(here - places[0], 0.0) + slopes[-1] * np.maximum(here - places[-1], 0.0)
    found: Floats = -(np.interp(here, places, sums) + beyond)
    return found


@cache
def _table() -> tuple[Floats, Floats, Floats]:
    """Return ln Re, the slope summed up to there, and the slope there [-]."""
    places = np.linspace(np.log(_LOW), np.log(_HIGH), _STEPS)
    slopes = mean_slope(np.exp(places))
    steps = np.diff(places) * (slopes[1:] + slopes[:-1]) / 2
    return places, np.concatenate([[0.0], np.cumsum(steps)]), slopes


def _kept(shares: Floats) -> float:
    return float(np.clip(np.mean(shares), 0.0, STEEPEST))
