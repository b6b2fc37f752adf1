"""How a track scatters about the fall: reading noise plus a wander with a memory.

A fly is pushed about by its own wake, so successive residuals are alike and a fit that takes them as
independent states far too small an uncertainty. The scatter is described as white noise plus a wander,
either rough (first order Markov) or smooth (Matern 3/2: its speed is continuous, as that of a body pushed
about in water is); its share and memory are unknown. Every choice on a grid is tried, weighted by its
restricted likelihood, and the fall's parameters are averaged over all of them. A rough wander alone would
take a slow, smooth one for far less than it does to the speed.

Matern 3/2 as a filter: Hartikainen and Sarkka (2010), IEEE Workshop on Machine Learning for Signal
Processing. Restricted likelihood: Patterson and Thompson (1971), Biometrika 58, 545-554 (both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SHARES = np.array([0.0, 0.05, 0.15, 0.3, 0.5, 0.7, 0.85, 0.95, 0.99, 0.998])
"""Tried shares of the wander in the total variance."""
MEMORIES = 10
"""Number of tried memories, from one frame to LONGEST falls."""
LONGEST = 2.0
"""Longest tried memory over the length of the fall [-]: a wander that keeps longer is as good as a straight drift, which
the fit takes for speed whatever it is called (judgement)."""
WHITE_WEIGHT = 0.8
"""Prior weight of plain white noise against all wanders together (judgement)."""


@dataclass(frozen=True)
class AveragedFit:
    """A linear fit averaged over the noise grid."""

    step: Floats
    """Change of the parameters, shape (p,)."""
    covariance: Floats
    sigma: float
    """Total standard deviation of the scatter [m]."""
    wander_share: float
    memory: float
    """Usual memory of the wander [s]."""
    model_weights: tuple[float, ...]
    """Share of each model, in the order given."""


@dataclass(frozen=True)
class NoiseGrid:
    """The tried noises as flat arrays (g,); the first is plain white noise."""

    share: Floats
    """Share of the wander in the total variance."""
    memory: Floats
    """Memory of the wander [s]."""
    smooth: NDArray[np.bool_]
    """True where its speed is continuous."""


def grid(times: Floats) -> NoiseGrid:
    """Return the noises to try for these times."""
    gap = float(np.median(np.diff(times)))
    longest = max(LONGEST * float(times[-1] - times[0]), 3 * gap)
    memory = np.geomspace(gap, longest, MEMORIES)
    share, length, smooth = (a.ravel() for a in np.meshgrid(SHARES[1:], memory, [False, True], indexing="ij"))
    return NoiseGrid(np.append(0.0, share), np.append(gap, length), np.append(False, smooth))


def whitened(columns: Floats, times: Floats, noises: NoiseGrid) -> tuple[Floats, Floats]:
    """Make columns (n, m) independent under each noise of the grid (g,): returns (g, n, m) and log det (g,).

    A Kalman filter for the wander and its speed, run over all grid points at once; uneven frames are no
    special case.
    """
    n, m = columns.shape
    moves, totals, gains = _filter(
        tuple(times), tuple(noises.share), tuple(noises.memory), tuple(noises.smooth)
    )
    place, rate = np.zeros((len(noises.share), m)), np.zeros((len(noises.share), m))
    out = np.empty((len(noises.share), n, m))
    for i in range(n):
        if i:
            (aa, ab), (ba, bb) = moves[i - 1]
            place, rate = aa * place + ab * rate, ba * place + bb * rate
        innovation = columns[i] - place
        out[:, i] = innovation / np.sqrt(totals[i])
        place += gains[i, 0] * innovation
        rate += gains[i, 1] * innovation
    return out, np.log(totals).sum(axis=(0, 2))


@lru_cache(maxsize=2)
def _filter(
    times: tuple[float, ...], share: tuple[float, ...], memory: tuple[float, ...], smooth: tuple[bool, ...]
) -> tuple[Floats, Floats, Floats]:
    """Return what the filter does whatever the readings: moves (n - 1, 2, 2, g, 1) of place and rate from
    frame to frame, variances (n, g, 1) of what is new in each reading, and gains (n, 2, g, 1).

    The rate is the wander's speed times its memory, so that both have the same variance.
    """
    part = np.array(share)
    a = np.diff(times)[:, None] / np.array(memory)
    keep, speedy = np.exp(-a), np.array(smooth, dtype=float)
    moves = keep * np.array([[1 + speedy * a, speedy * a], [-speedy * a, speedy * (1 - a)]])
    moves = moves.transpose(2, 0, 1, 3)
    rest = np.array([[part, 0 * part], [0 * part, part]])
    var, totals, gains = rest.copy(), [], []
    for i in range(len(times)):
        if i:
            move = moves[i - 1]
            var = rest + np.einsum("ijg,jkg,lkg->ilg", move, var - rest, move)
        total = var[0, 0] + 1.0 - part
        gain = var[0] / total
        var = var - gain[:, None] * var[0][None, :]
        totals.append(total)
        gains.append(gain)
    return moves[..., None], np.array(totals)[..., None], np.array(gains)[..., None]


@dataclass(frozen=True)
class FitsByNoise:
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
) -> FitsByNoise:
    """Solve residual (n,) ~ jacobian (n, p) step under every noise of the grid.

    ``precision`` (p, p) is the prior's inverse covariance, ``pull`` (p,) its mean less the present value and
    ``log_prior`` half the logarithm of the determinant of the prior's proper part, which makes the evidence
    of models of different size comparable.
    """
    n, p = jacobian.shape
    noises = grid(times)
    share, memory = noises.share, noises.memory
    white, log_det = whitened(np.column_stack([residual, jacobian]), times, noises)
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
    return FitsByNoise(step, covariance, evidence, sigma2, share, memory)


def average(models: list[FitsByNoise]) -> AveragedFit:
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
    parts = np.split(weight, np.cumsum([len(model.sigma2) for model in models])[:-1])
    by_model = tuple(float(part.sum()) for part in parts)
    return AveragedFit(mean, total, float(np.sqrt(weight @ sigma2)), wander, usual, by_model)
