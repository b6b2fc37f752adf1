"""Mixtures of normal laws: one mean and one covariance for several guesses, each as likely as its evidence makes it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from flybench.quantity import Floats


def mixed(evidence: ArrayLike, means: ArrayLike, covariances: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Return the weight of each guess (g) [-], and mean (n) and covariance (n, n) over all of them.

    Parameters: evidence, logarithms (g), but for a constant; means (g, n) and covariances (g, n, n), in one unit.
    Reference: laws of total expectation and total covariance (any textbook).

    >>> weights, mean, covariance = mixed([0.0, 0.0], [np.array([1.0]), np.array([3.0])], [np.eye(1), np.eye(1)])
    >>> weights.tolist(), mean.tolist(), covariance.tolist()
    ([0.5, 0.5], [2.0], [[2.0]])
    """
    logs = np.asarray(evidence, dtype=float)
    weights: Floats = np.exp(logs - logs.max())
    weights /= weights.sum()
    each = np.asarray(means, dtype=float)
    mean: Floats = weights @ each
    apart = each - mean
    within = np.tensordot(weights, np.asarray(covariances, dtype=float), 1)
    return weights, mean, within + (weights * apart.T) @ apart
