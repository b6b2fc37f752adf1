"""How a track scatters about the fall: every kind of noise tried, and the fall's values averaged over all of them.

Which noise it is, how much of it and with what memory is not known. Every choice on a grid (``noise_kinds``) is tried,
weighted by its restricted likelihood, and the fall's parameters are averaged over all of them.

Restricted likelihood: Patterson and Thompson (1971), Biometrika 58, 545-554 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flybench.bench.fit.noise_kinds import prior_weights, tried
from flybench.bench.fit.whitening import whitened
from flybench.quantity import Floats
from flybench.statistics.mixture import mixed
from flybench.statistics.tails import half_width


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
    first: tuple[Floats, Floats, Floats]
    """Of each noise and model its weight, and of the first parameter how far it is off the mean, and its standard
    deviation."""

    @property
    def covering(self) -> Floats:
        """Return the covariance with the first parameter's standard deviation such that two of it hold as much of all that
        was averaged as they do of a normal distribution: 95.45 % (JCGM 101:2008, 5.3.2 and 7.7); correlations stay.

        What is unlikely but far off widens the standard deviation by much and that interval by little; of noises that are
        as likely as one another, the interval has to hold the widest nearly whole.
        """
        whole = float(self.covariance[0, 0])
        if not 0.0 < whole < np.inf:
            return self.covariance
        stretch = np.ones(len(self.step))
        stretch[0] = 0.5 * half_width(*self.first) / np.sqrt(whole)
        return np.asarray(self.covariance * np.outer(stretch, stretch))


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
    of models of different size comparable. With no more readings than parameters the covariance is what the prior alone
    allows, infinite without a proper one: nothing shows the scatter then.
    """
    n, p = jacobian.shape
    noises = tried(times)
    share, memory = noises.share, noises.memory
    white, log_det = whitened(np.column_stack([residual, jacobian]), times, noises)
    products = _products(white)
    squares, right, normal = products[:, 0, 0], products[:, 0, 1:], products[:, 1:, 1:]
    sigma2 = np.full(len(share), float(np.var(residual)))
    for _ in range(3):
        whole = normal + sigma2[:, None, None] * precision
        step = np.linalg.solve(whole, (right + sigma2[:, None] * (precision @ pull))[:, :, None])[:, :, 0]
        rest = squares + np.sum(((normal @ step[:, :, None])[:, :, 0] - 2.0 * right) * step, axis=1)
        sigma2 = np.maximum(rest / max(n - p, 1), 1e-18)
    off = pull - step
    cost = (n - p) + np.einsum("gp,pq,gq->g", off, precision, off)
    evidence = -0.5 * ((n - p) * np.log(sigma2) + log_det + np.linalg.slogdet(whole)[1] + cost) + log_prior
    evidence += np.log(prior_weights(noises))
    covariance = (
        np.linalg.inv(whole) * (_student(n - p) * sigma2)[:, None, None]
        if n > p
        else _untold(whole, precision)
    )
    return FitsByNoise(np.asarray(step, dtype=np.float64), covariance, evidence, sigma2, share, memory)


def _student(freedom: int) -> float:
    """Return the variance of Student's distribution over its scale squared [-]; it has none below three degrees of freedom,
    where the scale counts as often as there are."""
    return freedom / max(freedom - 2, 1)


def _untold(whole: Floats, precision: Floats) -> Floats:
    """Return the covariance (g, p, p) where no reading is left to show any scatter: what the prior
    alone allows, or infinite."""
    known = np.linalg.matrix_rank(precision) == len(precision)
    alone = np.linalg.inv(precision) if known else np.full(precision.shape, np.inf)
    return np.broadcast_to(alone, whole.shape).copy()


def _products(white: Floats) -> Floats:
    """Return the inner products of whitened columns (g, n, m) with each other, shape (g, m, m)."""
    g, _, m = white.shape
    products = np.empty((g, m, m))
    for a in range(m):
        for b in range(a + 1):
            products[:, a, b] = products[:, b, a] = np.einsum("gn,gn->g", white[:, :, a], white[:, :, b])
    return products


def average(models: list[FitsByNoise]) -> AveragedFit:
    """Average over models (parameters alike) and noises, each weighted by its evidence."""
    step, covariance, evidence, sigma2, share, memory = (
        np.concatenate([getattr(model, name) for model in models])
        for name in ("step", "covariance", "log_evidence", "sigma2", "share", "memory")
    )
    weight, mean, total = mixed(evidence, step, covariance)
    wander = float(weight @ share)
    usual = float(weight @ (share * memory) / wander) if wander > 0 else 0.0
    parts = np.split(weight, np.cumsum([len(model.sigma2) for model in models])[:-1])
    by_model = tuple(float(part.sum()) for part in parts)
    first = weight, step[:, 0] - mean[0], np.sqrt(covariance[:, 0, 0])
    return AveragedFit(mean, total, float(np.sqrt(weight @ sigma2)), wander, usual, by_model, first)
