"""Pooling: one sink speed from several drops that differ by more than their own uncertainties.

Random effects: each drop has its own true speed, scattered about the fly's by an unknown spread. The
spread is averaged over, with a weak prior, so that one drop, or two that agree by luck, do not pass for
certainty.

Model: y_j ~ N(mu, u_j^2 + s^2), mu flat, s half-normal. DerSimonian and Laird (1986), Controlled Clinical
Trials 7, 177-188, for the model; Gelman (2006), Bayesian Analysis 1, 515-534, for the prior (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

EXPECTED_SPREAD = 0.015
"""Scale of the prior for the drop-to-drop spread, as a share of the speed (judgement)."""
_WETTING_P = 0.05
_WETTING_LEAST = 0.01
_MOST_STEPS = 200
_CLOSE = 1e-12


@dataclass(frozen=True)
class Pooled:
    """The pooled speed [m/s] and what its standard uncertainty is made of."""

    speed: float
    within: float
    """From the drops' own uncertainties [m/s]."""
    between: float
    """From the spread of the drops [m/s]."""
    spread: float
    """Usual drop-to-drop standard deviation [m/s]."""
    count: int

    @property
    def standard_uncertainty(self) -> float:
        """Return both parts together [m/s]."""
        return float(np.hypot(self.within, self.between))

    @property
    def degrees_of_freedom(self) -> float:
        """Return those of the spread: drops less one, and one for a single drop with a prior."""
        return float(max(self.count - 1, 1))


def pool(speeds: Floats, uncertainties: Floats) -> Pooled:
    """Pool drops' speeds (n,) and standard uncertainties (n,) [m/s], n >= 1."""
    scale = EXPECTED_SPREAD * float(np.median(speeds))
    spread = np.linspace(0.0, 6.0 * scale, 241)
    variance = uncertainties[None, :] ** 2 + spread[:, None] ** 2
    weight = 1.0 / variance
    total = weight.sum(axis=1)
    mean = (weight @ speeds) / total
    misfit = np.sum(weight * (speeds[None, :] - mean[:, None]) ** 2, axis=1)
    log = -0.5 * (np.log(variance).sum(axis=1) + np.log(total) + misfit) - 0.5 * (spread / scale) ** 2
    p = np.exp(log - log.max())
    p /= p.sum()
    centre = float(p @ mean)
    whole = float(p @ (1.0 / total + (mean - centre) ** 2))
    within = float(1.0 / np.sqrt(np.sum(uncertainties**-2.0)))
    between = float(np.sqrt(max(whole - within**2, 0.0)))
    return Pooled(centre, within, between, float(np.sqrt(p @ spread**2)), len(speeds))


def paule_mandel(values: Floats, uncertainties: Floats) -> float:
    """Return the standard deviation between groups that explains how far their values scatter.

    It is the s for which sum (y_i - mean)^2 / (u_i^2 + s^2) is n - 1, the mean weighted by 1 / (u_i^2 + s^2);
    zero where the uncertainties alone explain the scatter, and for fewer than two values.
    Parameters: values (n,) and standard uncertainties (n,), above zero, in one unit. Returns: s in that unit.
    Reference: Paule and Mandel (1982), J. Res. Natl. Bur. Stand. 87, 377-385; DerSimonian and Kacker (2007),
    Contemporary Clinical Trials 28, 105-114 (both from memory).
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


def wetting_trend(speeds: Floats, uncertainties: Floats) -> float | None:
    """Return how much faster the fly got a drop, as a share of its speed, or None where it did not.

    A dressing that holds air falls slower on its first drops. Needs three drops that get faster one after
    the other, or a slope that chance rarely gives (p < 0.05), and a gain beyond the drops' own uncertainties.
    """
    if len(speeds) < 3:
        return None
    slope, p_value = _slope(speeds)
    share = slope / float(np.mean(speeds))
    gain = speeds[-1] - speeds[0]
    plain = gain > 2.0 * np.hypot(uncertainties[0], uncertainties[-1])
    steady = np.all(np.diff(speeds) > 0) or (len(speeds) > 3 and p_value < _WETTING_P)
    return share if steady and plain and gain > _WETTING_LEAST * speeds[-1] and share > 0 else None


def _slope(speeds: Floats) -> tuple[float, float]:
    """Return the least-squares slope over the drops' order and its two-sided p value (Student's t)."""
    from scipy.special import stdtr  # loaded meanwhile, see jobs.measure

    order = np.arange(len(speeds)) - (len(speeds) - 1) / 2
    spread = float(order @ order)
    slope = float(order @ speeds) / spread
    rest = speeds - speeds.mean() - slope * order
    freedom = len(speeds) - 2
    error = float(np.sqrt(rest @ rest / freedom / spread))
    return slope, float(2.0 * stdtr(freedom, -abs(slope) / max(error, 1e-300)))
