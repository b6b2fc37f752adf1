"""How a track scatters about the fall: reading noise plus a wander with a memory.

A fly is pushed about by its own wake, so successive residuals are alike and a fit that takes them as
independent states far too small an uncertainty. The scatter is described as white noise plus an
exponentially correlated wander (first order Markov), its share and memory unknown. Every pair on a grid
is tried, weighted by its restricted likelihood, and the fall's parameters are averaged over all of them.

Restricted likelihood: Patterson and Thompson (1971), Biometrika 58, 545-554 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SHARES = np.array([0.0, 0.05, 0.15, 0.3, 0.5, 0.7, 0.85, 0.95, 0.99])
"""Tried shares of the wander in the total variance."""
MEMORIES = 10
"""Number of tried memories, from one frame to LONGEST falls."""
LONGEST = 2.0
WHITE_WEIGHT = 0.5
"""Prior weight of plain white noise against all wanders together (judgement)."""


@dataclass(frozen=True)
class Averaged:
    """A linear fit averaged over the noise grid."""

    step: Floats
    """Change of the parameters, shape (p,)."""
    covariance: Floats
    sigma: float
    """Total standard deviation of the scatter [m]."""
    wander_share: float
    memory: float
    """Usual memory of the wander [s]."""


def grid(times: Floats) -> tuple[Floats, Floats]:
    """Return the tried shares and memories [s] as flat arrays of one length."""
    gap = float(np.median(np.diff(times)))
    longest = max(LONGEST * float(times[-1] - times[0]), 3 * gap)
    memory = np.geomspace(gap, longest, MEMORIES)
    share, length = np.meshgrid(SHARES[1:], memory, indexing="ij")
    return np.concatenate([[0.0], share.ravel()]), np.concatenate([[gap], length.ravel()])


def whitened(columns: Floats, times: Floats, share: Floats, memory: Floats) -> tuple[Floats, Floats]:
    """Make columns (n, m) independent under each noise of the grid (g,): returns (g, n, m) and log det (g,).

    A Kalman filter for the wander, run over all grid points at once; uneven frames are no special case.
    """
    n, m = columns.shape
    keep = np.exp(-np.diff(times)[:, None] / memory[None, :])
    mean = np.zeros((len(share), m))
    var = share.copy()
    out = np.empty((len(share), n, m))
    log_det = np.zeros(len(share))
    for i in range(n):
        if i:
            mean *= keep[i - 1][:, None]
            var = share + keep[i - 1] ** 2 * (var - share)
        total = var + 1.0 - share
        innovation = columns[i] - mean
        out[:, i] = innovation / np.sqrt(total)[:, None]
        log_det += np.log(total)
        gain = var / total
        mean += gain[:, None] * innovation
        var = var * (1.0 - gain)
    return out, log_det


@dataclass(frozen=True)
class Tried:
    """One model of the fall fitted under every noise of the grid (g,)."""

    step: Floats
    """Change of the parameters, shape (g, p)."""
    covariance: Floats
    """Shape (g, p, p)."""
    log_evidence: Floats
    sigma2: Floats
    share: Floats
    memory: Floats


def fit_under_all(
    residual: Floats, jacobian: Floats, times: Floats, pull: Floats, precision: Floats, log_prior: float = 0.0
) -> Tried:
    """Solve residual (n,) ~ jacobian (n, p) step under every noise of the grid.

    ``precision`` (p, p) is the prior's inverse covariance, ``pull`` (p,) its mean less the present value and
    ``log_prior`` half the logarithm of the determinant of the prior's proper part, which makes the evidence
    of models of different size comparable.
    """
    n, p = jacobian.shape
    share, memory = grid(times)
    white, log_det = whitened(np.column_stack([residual, jacobian]), times, share, memory)
    r, J = white[:, :, 0], white[:, :, 1:]
    normal = np.einsum("gnp,gnq->gpq", J, J)
    right = np.einsum("gnp,gn->gp", J, r)
    sigma2 = np.full(len(share), float(np.var(residual)))
    for _ in range(3):
        whole = normal + sigma2[:, None, None] * precision
        step = np.linalg.solve(whole, (right + sigma2[:, None] * (precision @ pull))[:, :, None])[:, :, 0]
        rest = r - np.einsum("gnp,gp->gn", J, step)
        sigma2 = np.maximum(np.sum(rest**2, axis=1) / max(n - p, 1), 1e-18)
    off = pull - step
    cost = (n - p) + np.einsum("gp,pq,gq->g", off, precision, off)
    evidence = -0.5 * ((n - p) * np.log(sigma2) + log_det + np.linalg.slogdet(whole)[1] + cost) + log_prior
    evidence[0] += np.log(WHITE_WEIGHT / (1.0 - WHITE_WEIGHT) * (len(share) - 1))
    student = (n - p) / max(n - p - 2, 1)
    covariance = np.linalg.inv(whole) * (student * sigma2)[:, None, None]
    return Tried(step, covariance, evidence, sigma2, share, memory)


def average(models: list[Tried]) -> Averaged:
    """Average over models (parameters alike) and noises, each weighted by its evidence."""
    step, covariance, evidence, sigma2, share, memory = (
        np.concatenate([getattr(model, name) for model in models])
        for name in ("step", "covariance", "log_evidence", "sigma2", "share", "memory")
    )
    weight = np.exp(evidence - evidence.max())
    weight /= weight.sum()
    mean = weight @ step
    off = step - mean
    total = np.einsum("g,gpq->pq", weight, covariance) + np.einsum("g,gp,gq->pq", weight, off, off)
    wander = float(weight @ share)
    usual = float(weight @ (share * memory) / wander) if wander > 0 else 0.0
    return Averaged(mean, total, float(np.sqrt(weight @ sigma2)), wander, usual)
