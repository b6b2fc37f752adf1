"""Groups that scatter unlike one another: each has a spread of its own, and how much these differ is learned from all.

The spread s of a group is lognormal about what is common to all groups: ln s ~ N(ln s_0, t^2). Neither s_0 nor t is known;
all that they may be are tried, each as likely as the groups seen make it. What is told is how likely each spread is for
another group of the kind, of which nothing was seen yet.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from flybench.quantity import Floats
from flybench.statistics.spread import Group

_APART = np.array([0.1, 0.3, 0.6, 1.0, 1.5, 2.1])
"""Standard deviations of ln s from group to group that are tried, alike likely before anything is seen [-]: from groups that
are all but one to such as differ sixtyfold (judgement)."""
_DOUBT = 0.64
"""Standard deviation of ln s_0 before anything is seen [-]: that of a spread of two degrees of freedom, as is expected of
flies (root of psi'(1) / 4)."""
_WIDEST, _STEPS, _SIZES = 4.0, 81, 41
"""How far from what is usual, in ln s, spreads and common sizes are tried, and how many of either [-] (judgement: a spread 55
times as large or as small as usual is none)."""
_GUESSES = 24
"""Spreads told, each as likely [-], as ``student`` has them."""


def unlike_variances(usual: float, groups: Sequence[Group]) -> Floats:
    """Return equally likely variances (24) of another group's values about their mean, in the squared unit of the values.

    Parameters: usual, the spread expected before anything is seen, in the unit of the values, above zero; groups, of which
    those of one value show nothing. Range: nothing is checked here.
    Reference: Gelman et al., Bayesian Data Analysis, 3rd edition, ch. 5, for hierarchical models (from memory); the
    restricted likelihood of a group as ``spread.seen`` has it.

    >>> told = unlike_variances(0.04, [])
    >>> len(told), 0.01 < float(np.median(told)) ** 0.5 < 0.05
    (24, True)
    """
    logs = np.linspace(-_WIDEST, _WIDEST, _STEPS)
    common = np.linspace(-_WIDEST, _WIDEST, _SIZES)
    away = (logs - common[:, None, None]) / _APART[:, None]
    likely = np.exp(-0.5 * away**2).reshape(-1, _STEPS)
    likely /= likely.sum(axis=1, keepdims=True)
    weight = np.repeat(-0.5 * (common / _DOUBT) ** 2, len(_APART))
    for group in groups:
        if len(group.values) > 1:
            weight = weight + np.log(likely @ _likelihood(group, usual * np.exp(logs)))
    weight = np.exp(weight - weight.max())
    upto = np.cumsum(weight @ likely)
    places = (np.arange(_GUESSES) + 0.5) / _GUESSES * upto[-1]
    found: Floats = (usual * np.exp(np.interp(places, upto, logs))) ** 2
    return found


def _likelihood(group: Group, spreads: Floats) -> Floats:
    """Return how likely the values of a group are for each spread, over the likeliest."""
    weight = 1.0 / (group.uncertainties**2 + spreads[:, None] ** 2)
    total = weight.sum(axis=1)
    mean = (weight @ group.values) / total
    misfit = (weight * (group.values - mean[:, None]) ** 2).sum(axis=1)
    log = 0.5 * (np.log(weight).sum(axis=1) - np.log(total) - misfit)
    found: Floats = np.exp(log - log.max()) + 1e-300
    return found
