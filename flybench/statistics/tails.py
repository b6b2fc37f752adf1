"""How much of a normal and of a Student's distribution lies where, for a few values, without loading scipy for it."""

from __future__ import annotations

import math

import numpy as np

from flybench.quantity import Floats

_TWO_SIGMA = 0.954499736
"""Probability within two standard deviations of a normal law [-]."""
_MOST_STEPS = 60
"""Most steps of the search for an interval's half-width [-]: as many halvings come to the last digit; it takes some six."""
_CLOSE = 1e-10
"""Step over the half-width at which that search ends [-]: Newton's next one would be about its square, the last digit."""
_LEAST_SLOPE = 1e-300
"""Slope taken where a law is so far off that its density is nought [1 / unit]: the step is then a halving."""
_ROOT_OF_TWO_PI = math.sqrt(2.0 * math.pi)
"""What a normal density lacks when written as exp(-x^2 / 2) [-]."""
_UNSEEN = 1e-9
"""Weight of a law that no interval feels [-]."""
_ERF = np.frompyfunc(math.erf, 1, 1)
"""The error function of each value of an array [-], as the C library has it."""


def normal_below(values: Floats) -> Floats:
    """Return the share of the standard normal distribution below each value [-]."""
    return 0.5 + 0.5 * np.asarray(_ERF(values / math.sqrt(2.0)), dtype=float)


def student_beyond(value: float, freedom: int) -> float:
    """Return the share of Student's distribution beyond plus and minus a value [-], for whole degrees of freedom from one up.

    A finite series in the angle whose tangent is value / sqrt(freedom). Reference: Abramowitz and Stegun (1964), Handbook of
    Mathematical Functions, 26.7.3 and 26.7.4 (from memory). Good to 1e-14, not to so many of its own digits.
    """
    angle = math.atan(abs(value) / math.sqrt(freedom))
    odd = freedom % 2 == 1
    term = math.cos(angle) if odd else 1.0
    total = term if freedom > 1 else 0.0
    for order in range(3 if odd else 2, freedom - 1, 2):
        term *= (order - 1) / order * math.cos(angle) ** 2
        total += term
    within = 2.0 / math.pi * (angle + math.sin(angle) * total) if odd else math.sin(angle) * total
    return 1.0 - within


def half_width(weights: Floats, off: Floats, widths: Floats) -> float:
    """Return the half-width about nought that holds as much of a mixture of normal laws as two standard deviations of one do.

    Newton's search, halving wherever a step would leave what the root is known to lie in.

    Parameters: weights (n,), which add up to one; their middles, off, and standard deviations, above nought, in one unit.
    """
    seen = weights > _UNSEEN
    weights, off, widths = weights[seen], off[seen], widths[seen]
    low, high = 0.0, float(2.0 * np.max(widths) + np.max(np.abs(off))) * 2.0
    reach = min(2.0 * math.sqrt(float(weights @ (widths**2 + off**2))), high)
    for _ in range(_MOST_STEPS):
        above, below = (reach - off) / widths, (-reach - off) / widths
        short = _TWO_SIGMA - float(weights @ (normal_below(above) - normal_below(below)))
        low, high = (reach, high) if short > 0 else (low, reach)
        slope = float((weights / widths) @ (np.exp(-0.5 * above**2) + np.exp(-0.5 * below**2)))
        step = short * _ROOT_OF_TWO_PI / max(slope, _LEAST_SLOPE)
        if abs(step) <= _CLOSE * reach:
            return reach + step
        reach = reach + step if low < reach + step < high else 0.5 * (low + high)
    return reach
