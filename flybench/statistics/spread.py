"""A spread between values that is learned: what is usual to begin with, and what groups of values show of it.

The values of a group (runs of one fly, flies of one variant) lie about a mean of their own, y_ij ~ N(m_i, u_ij^2 + s^2).
The spread s is one for all groups; before anything is seen, s^2 is nu s_0^2 / chi^2_nu (scaled inverse chi-squared): "usually
s_0, as sure as nu degrees of freedom make it", with a heavy tail towards more. What is learned is said in the same two
numbers, so that it can be the beginning of the next step: from the usual to the shop, from the shop to the single fly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flybench.quantity import Floats
from flybench.statistics.pooling import paule_mandel

_LEAST, _MOST = 1 / 40, 100.0
"""Least and largest spread tried, over that expected or the scatter seen, whichever is less or more [-]: less than
1e-4 of what is believed lies beyond them (judgement)."""
_STEPS = 81
"""Spreads tried in each of two searches, the second one about what the first found [-] (judgement)."""
_NARROW = 6.0
"""Half-width of the second search in standard deviations of the first [-] (judgement)."""
MOST_FREEDOM = 1000.0
"""Degrees of freedom that stand for a spread that is known [-] (judgement: Student's factor is then 2.005 for 2)."""
_STEPS_OF_NEWTON = 8
"""Steps of Newton's search for the inverse of psi' [-]: to the last digit (Minka 2000, Estimating a Dirichlet distribution,
has start and step; from memory)."""


@dataclass(frozen=True)
class Spread:
    """A standard deviation between values, in their unit or as a share of them, and its degrees of freedom [-]."""

    size: float
    freedom: float

    def beside(self, scatter: float) -> Spread:
        """Return the spread of values that were seen to scatter by so much: that scatter itself, in the unit of the spread,
        where it is more than three times what is believed; what is believed, where it is less than twice, as chance has it.
        """
        return Spread(
            min(max(2.0 * scatter - 3.0 * self.size, self.size), max(scatter, self.size)), self.freedom
        )

    def of_one(self, alike: float, at_least: float) -> Spread:
        """Return the spread of one group of many, each of which scatters somewhat otherwise than the rest.

        What is not known of the many and how the one differs from them add up: 1 / nu' = 1 / nu + (1 - nu_0 / nu) / nu_alike.

        Parameters: alike, degrees of freedom with which one is as the many are; at_least, those of what is expected before
        anything is seen, in which such differences are already [-].
        """
        return Spread(self.size, 1.0 / (1.0 / self.freedom + (1.0 - at_least / self.freedom) / alike))


@dataclass(frozen=True)
class Group:
    """Values about one mean of their own (n) and the standard uncertainties (n) of each, in one unit."""

    values: Floats
    uncertainties: Floats


def seen(expected: Spread, groups: Sequence[Group]) -> Spread:
    """Return the spread that groups of values show, beginning with an expected one.

    The density of ln s is that of the expected spread times the restricted likelihood of each group,
    sum over i of -[sum ln(u^2 + s^2) + ln sum w + sum w (y - m)^2] / 2, w = 1 / (u^2 + s^2); size and freedom are those of
    the scaled inverse chi-squared law whose ln s has the same mean and variance.

    Parameters: expected, in the unit of the values; groups, of which those of one value show nothing.
    Returns: the spread, in the unit of the values. Range: uncertainties of zero or more; nothing is checked here.
    Reference: Gelman et al., Bayesian Data Analysis, 3rd edition, 2.6 and 5.4 (from memory); Patterson & Thompson (1971),
    Biometrika 58, 545-554, for the restricted likelihood (from memory).

    >>> found = seen(Spread(0.02, 2.0), [Group(np.array([0.0, 0.02]), np.zeros(2))])
    >>> round(found.size, 4), round(found.freedom, 1)  # (2 x 0.02^2 + 0.02^2 / 2) / 3
    (0.0183, 3.0)
    """
    telling = [group for group in groups if len(group.values) > 1]
    if not telling:
        return expected
    values = np.concatenate([group.values for group in telling])
    variance = np.concatenate([group.uncertainties for group in telling]) ** 2
    begins = np.cumsum([0, *(len(group.values) for group in telling[:-1])])
    widest = max(float(np.ptp(group.values)) for group in telling)
    tried = np.linspace(
        np.log(_LEAST * min(expected.size, max(widest, 1e-3 * expected.size))),
        np.log(_MOST * max(expected.size, widest)),
        _STEPS,
    )
    mean, deviation = _moments(tried, _density(tried, expected, values, variance, begins))
    tried = np.linspace(mean - _NARROW * deviation, mean + _NARROW * deviation, _STEPS)
    mean, deviation = _moments(tried, _density(tried, expected, values, variance, begins))
    return _spread_of(mean, deviation)


def own_spread(expected: Spread, group: Group) -> Spread:
    """Return the spread of values that are pooled: as ``seen``, but the scatter itself where that is far more.

    Values that contradict each other are not pooled to a small uncertainty because others of the kind agree.
    Parameters, returns and range as ``seen``.
    """
    return seen(expected, [group]).beside(_scatter(group))


def least_spread(expected: Spread, group: Group) -> Spread:
    """Return the spread of values as ``seen``, but never less than the scatter that they show: for telling how they differ.

    Parameters, returns and range as ``seen``.
    """
    found = seen(expected, [group])
    return Spread(max(found.size, _scatter(group)), found.freedom)


def _scatter(group: Group) -> float:
    return paule_mandel(group.values, group.uncertainties) if len(group.values) > 1 else 0.0


def _density(
    tried: Floats, expected: Spread, values: Floats, variance: Floats, begins: NDArray[np.intp]
) -> Floats:
    """Return how much each logarithm of a spread is believed, not yet adding up to 1."""
    log = -expected.freedom * (tried + 0.5 * (expected.size / np.exp(tried)) ** 2)
    sizes = np.diff([*begins, len(values)])
    weight = 1.0 / (variance + np.exp(2.0 * tried)[:, None])
    total = np.add.reduceat(weight, begins, axis=1)
    mean = np.add.reduceat(weight * values, begins, axis=1) / total
    misfit = weight * (values - np.repeat(mean, sizes, axis=1)) ** 2
    log += 0.5 * (np.log(weight).sum(axis=1) - np.log(total).sum(axis=1) - misfit.sum(axis=1))
    density: Floats = np.exp(log - log.max())
    return density


def _moments(tried: Floats, density: Floats) -> tuple[float, float]:
    """Return mean and standard deviation of the logarithm of a spread."""
    weight = density / density.sum()
    mean = float(weight @ tried)
    return mean, max(float(np.sqrt(weight @ (tried - mean) ** 2)), 1e-3)


def _spread_of(mean: float, deviation: float) -> Spread:
    """Return the scaled inverse chi-squared law of s^2 whose ln s has this mean and standard deviation.

    var(ln s) = psi'(nu / 2) / 4 and mean(ln s^2) = ln s_0^2 + ln(nu / 2) - psi(nu / 2).
    """
    from scipy.special import digamma, zeta  # a tenth of a second, not for --help

    variance = 4.0 * deviation**2
    half = 0.5 + 1.0 / variance
    for _ in range(_STEPS_OF_NEWTON):
        found = float(zeta(2.0, half))  # psi'; its slope is -2 zeta(3, x)
        half -= found * (1.0 - found / variance) / (2.0 * float(zeta(3.0, half)))
    freedom = min(2.0 * half, MOST_FREEDOM)
    return Spread(float(np.exp(mean - 0.5 * np.log(freedom / 2) + 0.5 * digamma(freedom / 2))), freedom)
