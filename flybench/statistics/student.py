"""Student's law for parts that are known more or less well: their sum, widened, and how likely each size of each part is.

A part of the standard deviation u that is known with nu degrees of freedom has the variance u^2 nu / chi^2_nu: nobody knows
which, and the sum of such parts is averaged over all that may be. The interval of that average is, to some 2 %, the
root of the summed squares of each part's own interval (from 6 % less, where two parts of two degrees of freedom are as large,
to 2 % more). Degrees of freedom after Welch and Satterthwaite (JCGM 100:2008, G.4.1) would make it 40 % too narrow where few
are known: they are told for what they are, and nothing is worked out from them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from flybench.quantity import COVERAGE_FACTOR, Floats

HELD = 0.9772498680518208
"""Share of the normal distribution below 2 standard deviations [-]: what k = 2 is to hold on either side."""
MANY = 1e6
"""Degrees of freedom that stand for endlessly many [-] (judgement)."""
_GUESSES = 24
"""Sizes averaged over for each part that is not known for certain [-]: odds are then those of the integral to half a
percent (judgement)."""
_KEPT = 4096
"""Student's factors that are kept [-]: a shop's flies have few different degrees of freedom (judgement)."""


def widened(terms: Sequence[tuple[float, float]]) -> float:
    """Return the standard uncertainty of a sum, of which twice holds as much as 2 standard deviations of a normal one.

    u^2 = sum (u_i t_nu_i(0.977) / 2)^2, see above.

    Parameters: terms, independent ones: standard uncertainty in one unit, degrees of freedom [-].
    Returns: standard uncertainty in that unit. Reference: JCGM 100:2008, G.3, for one part.

    >>> round(widened([(1.0, 4.0)]), 3), round(widened([(3.0, float("inf")), (4.0, float("inf"))]), 3)
    (1.435, 5.0)
    """
    return math.hypot(*(size * factor(freedom) for size, freedom in terms))


@lru_cache(maxsize=_KEPT)
def factor(freedom: float) -> float:
    """Return by how much Student's interval is wider than the normal one of k = 2 [-]."""
    from scipy.special import stdtrit  # a tenth of a second, not for --help

    return 1.0 if freedom >= MANY else float(stdtrit(freedom, HELD)) / COVERAGE_FACTOR


def freedom_of(terms: Sequence[tuple[float, float]]) -> float:
    """Return effective degrees of freedom after Welch and Satterthwaite, no more than a million."""
    total = math.hypot(*(size for size, _ in terms))
    spread = sum((size / total) ** 4 / freedom for size, freedom in terms) if total > 0 else 0.0
    return min(1 / spread, MANY) if spread > 0 else MANY


@lru_cache(maxsize=_KEPT)
def guesses(freedom: float) -> Floats:
    """Return equally likely values of nu / chi^2_nu [-], by which the variance of a part may be off; [1] for a known one."""
    from scipy.special import gammaincinv  # the same

    if freedom >= MANY:
        return np.ones(1)
    places = (np.arange(_GUESSES) + 0.5) / _GUESSES
    found: Floats = freedom / (2.0 * gammaincinv(freedom / 2.0, places))
    return found
