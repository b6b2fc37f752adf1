"""Mixtures of normal laws: one mean and one covariance for several guesses, each as likely as its evidence makes it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from flybench.quantity import Floats


def mixed(
    evidence: Sequence[float], means: Sequence[Floats], covariances: Sequence[Floats]
) -> tuple[Floats, Floats, Floats]:
    """Return the weight of each guess (g) [-], and mean (n) and covariance (n, n) over all of them.

    Parameters: evidence, logarithms (g), but for a constant; means (g, n) and covariances (g, n, n), in one unit.
    Reference: laws of total expectation and total covariance (any textbook).

    >>> weights, mean, covariance = mixed([0.0, 0.0], [np.array([1.0]), np.array([3.0])], [np.eye(1), np.eye(1)])
    >>> weights.tolist(), mean.tolist(), covariance.tolist()
    ([0.5, 0.5], [2.0], [[2.0]])
    """
    logs = np.array(evidence)
    weights: Floats = np.exp(logs - logs.max())
    weights /= weights.sum()
    each = np.array(means)
    mean: Floats = weights @ each
    apart = each - mean
    return weights, mean, np.tensordot(weights, np.array(covariances), 1) + (weights * apart.T) @ apart
