"""Pooling values that differ by more than their own uncertainties: random effects, plain numbers in and out.

Each value has a true value of its own, scattered about the common one by an unknown spread s: y_j ~ N(mu, u_j^2 + s^2).
``pool`` averages over the spread with a weak prior, so that one value, or two that agree by luck, do not pass for
certainty. ``paule_mandel`` finds the spread from the scatter alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flybench.quantity import Floats
from flybench.statistics.tails import half_width

SPREAD_FREEDOM = 2.0
"""Degrees of freedom of Student's law for the spread [-]: half of it lies below 0.8 of its scale, a tenth above three,
so that values which scatter far more than usual are soon believed (judgement; Gelman 2006 takes one to a few)."""
_WIDEST_SPREAD = 200.0
"""Largest spread averaged over, in scales of its prior [-]: 2.5e-5 of the prior lies beyond (judgement)."""
_BENT = 6.0
"""How much denser spreads are tried near nought than at the widest, as exp of this [-]: 0.03 of a scale apart near nought,
where most of the prior lies (judgement)."""
_SPREADS = 241
"""Spreads averaged over [-]: so many that the sum stands for the integral (judgement)."""
_MOST_STEPS = 200
"""Most steps of Paule and Mandel's search [-]; it takes some ten (judgement)."""
_CLOSE = 1e-12
"""Surplus of squares, a value, at which that search ends [-]: as close as floats come (judgement)."""


@dataclass(frozen=True)
class Pooled:
    """A pooled value and what its standard uncertainty is made of, all in the unit of the values."""

    value: float
    within: float
    """Standard uncertainty from the values' own uncertainties."""
    between: float
    """What their spread adds to it, so that both make ``standard_uncertainty``."""
    spread: float
    """Usual standard deviation between values."""
    count: int
    """How many values were pooled."""

    @property
    def standard_uncertainty(self) -> float:
        """Return half the half-width of the interval that holds 95.45 % of the law of the value, in its unit.

        Student's factor is in it: k = 2 of it holds what it says, however few values there are.
        """
        return float(np.hypot(self.within, self.between))

    @property
    def degrees_of_freedom(self) -> float:
        """Return those of the spread [-]: values less one, and one for a single value with a prior."""
        return float(max(self.count - 1, 1))


def pool(values: Floats, uncertainties: Floats, expected: float) -> Pooled:
    """Pool values that nothing but their own scatter is known of, averaged over the spread between them.

    y_j ~ N(mu, u_j^2 + s^2), mu flat, s half Student's t with two degrees of freedom and the scale ``expected``
    times the median of the values.

    Parameters: values (n), n >= 1, and standard uncertainties (n), above zero, in one unit; expected [-], the usual
    spread between values as a share of their size, above zero.
    Returns: the pooled value and its uncertainty, in the unit of the values.
    Range: values above zero; none of this is checked here.
    Reference: DerSimonian & Laird (1986), Controlled Clinical Trials 7, 177-188, for the model; Gelman (2006),
    Bayesian Analysis 1, 515-534, for the prior (from memory).

    >>> found = pool(np.array([0.30, 0.31]), np.array([0.002, 0.002]), 0.015)
    >>> round(found.value, 4), round(found.within, 4), round(found.between, 4)
    (0.305, 0.0014, 0.0068)
    """
    scale = expected * float(np.median(values))
    even = np.linspace(0.0, _BENT, _SPREADS)
    spread = _WIDEST_SPREAD * scale * np.sinh(even) / np.sinh(_BENT)
    variance = uncertainties[None, :] ** 2 + spread[:, None] ** 2
    weight = 1.0 / variance
    total = weight.sum(axis=1)
    mean = (weight @ values) / total
    misfit = np.sum(weight * (values[None, :] - mean[:, None]) ** 2, axis=1)
    prior = -0.5 * (SPREAD_FREEDOM + 1.0) * np.log1p((spread / scale) ** 2 / SPREAD_FREEDOM)
    log = -0.5 * (np.log(variance).sum(axis=1) + np.log(total) + misfit) + prior
    p = np.exp(log - log.max()) * np.cosh(even)
    p[0] *= 0.5
    p /= p.sum()
    centre = float(p @ mean)
    whole = 0.5 * half_width(p, mean - centre, total**-0.5)
    within = float(1.0 / np.sqrt(np.sum(uncertainties**-2.0)))
    between = float(np.sqrt(max(whole**2 - within**2, 0.0)))
    return Pooled(centre, within, between, float(p @ spread), len(values))


def paule_mandel(values: Floats, uncertainties: Floats) -> float:
    """Return the standard deviation between groups that explains how far their values scatter.

    It is the s for which sum (y_i - mean)^2 / (u_i^2 + s^2) is n - 1, the mean weighted by 1 / (u_i^2 + s^2);
    zero where the uncertainties alone explain the scatter, and for fewer than two values.

    Parameters: values (n) and standard uncertainties (n), above zero, in one unit.
    Returns: s in that unit.
    Reference: Paule & Mandel (1982), J. Res. Natl. Bur. Stand. 87, 377-385; DerSimonian & Kacker (2007),
    Contemporary Clinical Trials 28, 105-114 (both from memory).

    >>> round(paule_mandel(np.array([1.0, 3.0]), np.array([1.0, 1.0])), 6)
    1.0
    """
    variance, spread = uncertainties**2, 0.0
    for _ in range(_MOST_STEPS):
        weight = 1.0 / (variance + spread)
        squares = (values - weight @ values / weight.sum()) ** 2
        surplus = float(weight @ squares) - (len(values) - 1)
        if surplus <= _CLOSE * len(values):
            break
        spread += surplus / float(weight**2 @ squares)
    return float(np.sqrt(spread))


def weights(uncertainties: Floats, spread: float) -> Floats:
    """Return the weights of values that scatter by a spread, adding up to 1.

    w_i ~ 1 / (u_i^2 + s^2)

    Parameters: uncertainties, standard ones (n), and spread, in one unit; not both zero. Returns: weights [-].
    Reference: as ``paule_mandel``.

    >>> weights(np.array([0.0, 1.0]), 1.0).round(3).tolist()
    [0.667, 0.333]
    """
    found = 1.0 / (uncertainties**2 + spread**2)
    shares: Floats = found / found.sum()
    return shares
