"""What falls show for each stretch that a clip may be played at: approach, drag and speed against what flies can have.

A clip seen q times too slow shows q^2 times the response number and q^2 times the drag on what is seen of the fly.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from flybench.bench.fit.response_number import NUMBERS, ResponseProfile
from flybench.quantity import Floats, Measured

_LIGHTEST, _HEAVIEST = 1.15, 8.0
"""Density ratios of flies [-], log-uniform between: hardly sinking, to a bare tungsten bead on a hook (judgement)."""
_ADDED_MASS = (0.2, 0.35, 0.5, 0.7)
"""Added mass over displaced mass [-]: slender body nose first 0.21 at length to breadth 2 (Lamb 1918, R&M 623), sphere 0.5,
hackle that holds water 0.7 (judgement)."""
_LONGER, _NUMBER_SLACK, _DROP_SLACK = 0.08, 0.1, 0.12
"""Mean and standard deviation of the logarithm of the response number that the law leaves open, for the fly, and standard
deviation for each drop [-]: a drag exponent of 1.7 makes it a sixth longer, history force and the hand that lets go make
it longer too, and nothing makes it much shorter (judgement)."""
_DRAG, _DRAG_SPREAD = 0.9, 0.6
"""Drag coefficient on the disc of the seen breadth, and standard deviation of its logarithm [-]: sphere 0.4, cylinder end on
0.9, disc 1.2; a fly shows its camera one side only, and hackle that is hardly seen drags (judgement)."""
_USUAL_BEAD = 0.0025
"""Diameter of the bead where none was typed [m]: beads of 2 to 4 mm are usual (common practice, no source)."""
_FASTEST = 1.5
"""Sink speed that no fly reaches [m/s]: a bare tungsten ball of 3 mm reaches 1.36 (``hydraulics.falling_body``), and a fly
carries a hook and a dressing (judgement)."""
_BEYOND = 0.03
"""Standard deviation of what a speed may lie beyond that, relative [-]: scale and fit (judgement)."""
_STEP = float(np.log(NUMBERS[1] / NUMBERS[0]))
"""Step of the logarithm of NUMBERS [-]."""
_FINE = np.linspace(-4.0, 5.0, 361)
"""Logarithms of the response number at which what flies can have is worked out [-]."""


def approach_told(profiles: list[ResponseProfile]) -> Floats:
    """Return the log likelihood of each of NUMBERS by all falls of one clip, with what the law leaves open folded in."""
    return sum((_loosened(profile.log_likelihood) for profile in profiles), np.zeros(len(NUMBERS)))


def approach_log(stretch: float, told: Floats, density: Measured | None) -> float:
    """Return the logarithm of the mean likelihood of the falls under what flies can have, seen so much too slow.

    Parameters: stretch [-]; told, from ``approach_told``; density ratio of fly to water [-], None where not known.
    """
    mean, spread = (None, None) if density is None else (density.value, density.standard_uncertainty)
    prior = np.interp(
        np.log(NUMBERS) - 2 * np.log(stretch), _FINE, _usual_numbers(mean, spread), left=0.0, right=0.0
    )
    top = float(np.max(told))
    return top + float(np.log(np.sum(prior * np.exp(told - top)) * _STEP + 1e-300))


def speed_log(speed: float) -> float:
    """Return the logarithm of the likelihood of a sink speed [m/s], ruling out only what no fly reaches."""
    return -0.5 * (max(speed / _FASTEST - 1.0, 0.0) / _BEYOND) ** 2


def filled_share(breadth: float, bead: float | None) -> float:
    """Return the least share of the disc of the seen breadth that drags [-]: that of the bead; both diameters in m."""
    return min((bead or _USUAL_BEAD) / breadth, 1.0) ** 2


def drag_log(stretch: float, drag: Measured | None, filled: float = 1.0) -> float:
    """Return the logarithm of the likelihood of a drag on the disc of the seen breadth [-], seen so much too slow.

    Hackle lets water through: only a share of that disc may drag, from all of it down to ``filled`` [-]. By as much a drag
    may be smaller than usual, two standard deviations of its logarithm.
    """
    if drag is None:
        return 0.0
    off = float(np.log(drag.value / _DRAG) - 2 * np.log(stretch))
    open_to = -0.5 * np.log(filled) if off < 0 else 0.0
    return bell(off, float(np.hypot(np.hypot(_DRAG_SPREAD, drag.standard_uncertainty / drag.value), open_to)))


def bell(off: float, spread: float) -> float:
    """Return the logarithm of a normal law, but for a constant."""
    return -0.5 * float(off / spread) ** 2


@cache
def _usual_numbers(density: float | None, spread: float | None) -> Floats:
    """Return the density over the logarithm of the response number that flies can have, at _FINE."""
    if density is None or spread is None:
        ratios, weights = np.geomspace(_LIGHTEST, _HEAVIEST, 60), np.ones(60)
    else:
        off = np.linspace(-3.0, 3.0, 25)
        ratios, weights = np.maximum(density + off * spread, 1.02), np.exp(-0.5 * off**2)
    numbers = np.array([_LONGER + np.log((ratios + mass) / (ratios - 1)) for mass in _ADDED_MASS])
    bells = np.exp(-0.5 * ((_FINE - numbers[..., None]) / _NUMBER_SLACK) ** 2)
    density_of = np.einsum("arf,r->f", bells, weights)
    return np.asarray(density_of / (np.sum(density_of) * (_FINE[1] - _FINE[0])))


def _loosened(log_likelihood: Floats) -> Floats:
    """Return a drop's log likelihood with what its law leaves open folded in."""
    reach = np.arange(-8, 9) * _STEP
    bell = np.exp(-0.5 * (reach / _DROP_SLACK) ** 2)
    padded = np.pad(np.exp(log_likelihood), 8, mode="edge")
    folded = np.convolve(padded, bell / bell.sum(), mode="valid")
    return np.asarray(np.log(folded + 1e-300))
