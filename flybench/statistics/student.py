"""Student's law for sums of independent parts that are known more or less well, after Welch and Satterthwaite."""

from __future__ import annotations

import math
from collections.abc import Sequence

from flybench.quantity import COVERAGE_FACTOR

HELD = 0.9772498680518208
"""Share of the normal distribution below 2 standard deviations [-]: what k = 2 is to hold on either side."""
MANY = 1e6
"""Degrees of freedom that stand for endlessly many [-] (judgement)."""


def widened(terms: Sequence[tuple[float, float]]) -> float:
    """Return the standard uncertainty of a sum, of which twice holds as much as 2 standard deviations of a normal one.

    u = t_nu(0.977) / 2 hypot(u_i), nu the effective degrees of freedom.

    Parameters: terms, independent ones: standard uncertainty in one unit, degrees of freedom [-]; not all zero.
    Returns: standard uncertainty in that unit. Reference: JCGM 100:2008, G.3 and G.4.1.

    >>> round(widened([(1.0, 4.0)]), 3), round(widened([(3.0, float("inf")), (4.0, float("inf"))]), 3)
    (1.435, 5.0)
    """
    from scipy.special import stdtrit  # a tenth of a second, not for --help

    freedom = freedom_of(terms)
    if freedom >= MANY:
        return size_of(terms)
    return size_of(terms) * float(stdtrit(freedom, HELD)) / COVERAGE_FACTOR


def size_of(terms: Sequence[tuple[float, float]]) -> float:
    """Return the standard uncertainty of a sum, in the unit of its terms: see ``widened``."""
    return math.hypot(*(size for size, _ in terms))


def freedom_of(terms: Sequence[tuple[float, float]]) -> float:
    """Return effective degrees of freedom after Welch and Satterthwaite, no more than a million."""
    total = size_of(terms)
    spread = sum((size / total) ** 4 / freedom for size, freedom in terms) if total > 0 else 0.0
    return min(1 / spread, MANY) if spread > 0 else MANY


def student(freedom: float, t: float) -> float:
    """Return the probability of Student's law below t [-], for degrees of freedom [-]."""
    from scipy.special import stdtr  # the same

    return float(stdtr(freedom, t))
