"""How likely a fall's curve is where the body may have wandered about it, by a little or by much, for long or for short.

A body that wanders slowly draws a curve that a slow approach to its speed would draw as well. A likelihood that takes the
readings as independent, or judges them by what one fit leaves over, takes the one for the other: the fit has swallowed the
wander by then. Here every wander on a coarse grid (``noise_kinds``) is tried for every curve, the curve's values fitted anew
under each, and the likelihoods are averaged.

Restricted likelihood: Patterson and Thompson (1971), Biometrika 58, 545-554 (from memory).
"""

from __future__ import annotations

import numpy as np

from flybench.bench.fit.noise_kinds import NoiseGrid, grid, prior_weights
from flybench.bench.fit.whitening import whitened
from flybench.quantity import Floats

SHARES = np.array([0.15, 0.5, 0.85, 0.97, 0.995])
"""Tried shares of the wander in the total variance [-]: steps by which a likelihood hardly changes (judgement)."""
MEMORIES = 5
"""Number of tried memories of the wander [-], from one gap to two falls (judgement)."""
_ALIKE = 1e-10
"""What is added to the diagonal of normal equations, relative [-]: values that cannot be told apart stay where they are."""


def wander_likelihoods(off: Floats, slopes: Floats, times: Floats, least_noise: float) -> Floats:
    """Return the log likelihood of each of m curves (m,), averaged over all wanders; differences alone have a meaning.

    Of each wander: L = -(nu ln S + R / S + ln det C + ln (det N / det N_white)) / 2, where C is the correlation of the
    readings under it, R what the curve leaves over in C's terms with its p values fitted, N their normal matrix, S the
    total variance: R / nu with nu = n + 1 - p, but no less than that of which least_noise is the white part.

    Parameters: off (m, n + 1), what the curves leave over [m], and slopes (m, n + 1, p) by their values; the last row is
    no reading: what is known of a value beforehand, as if read with the readings' own white scatter; times (n,) [s],
    ascending; least_noise, white scatter of one reading that is always borne [m].
    Range: more readings than values; a value whose slopes are all nought stays where it is.
    """
    noises = grid(times, SHARES, MEMORIES)
    products, log_det = _products(np.concatenate([off[:, :, None], slopes], axis=2), times, noises)
    left, log_normal = _solved(products)
    freedom = off.shape[1] - slopes.shape[2]
    least = least_noise**2 / (1.0 - noises.share)[:, None]
    variance = np.maximum(left / freedom, least)
    told = -0.5 * (
        freedom * np.log(variance) + left / variance + log_det[:, None] + log_normal - log_normal[0]
    )
    told += np.log(prior_weights(noises))[:, None]
    top = np.max(told, axis=0)
    return np.asarray(top + np.log(np.sum(np.exp(told - top), axis=0)))


def _products(columns: Floats, times: Floats, noises: NoiseGrid) -> tuple[Floats, Floats]:
    """Return the inner products of columns (m, n + 1, p + 1) in the terms of each noise, (g, m, p + 1, p + 1), and
    log det (g,) of the readings' correlation.

    The correlation is turned over once for all columns, as there are many more of them than readings.
    """
    curves, rows, wide = columns.shape
    white, log_det = whitened(np.eye(rows - 1), times, noises)
    turned_over = white.transpose(0, 2, 1) @ white
    beside = np.ascontiguousarray(columns[:, :-1].transpose(0, 2, 1))
    weighed = (beside.reshape(-1, rows - 1) @ turned_over).reshape(-1, curves, wide, rows - 1)
    last = columns[:, -1]
    own = last[:, :, None] * last[:, None, :] / (1.0 - noises.share)[:, None, None, None]
    return weighed @ np.ascontiguousarray(columns[:, :-1]) + own, log_det


def _solved(products: Floats) -> tuple[Floats, Floats]:
    """Return what is left over with the values fitted (g, m), and log det of their normal matrix (g, m)."""
    normal, right = products[:, :, 1:, 1:], products[:, :, 1:, 0]
    size = np.sqrt(np.einsum("gmpp->gmp", normal)) + 1e-300
    alike = normal / size[..., :, None] / size[..., None, :] + _ALIKE * np.eye(size.shape[2])
    step = np.linalg.solve(alike, (right / size)[..., None])[..., 0]
    left = products[:, :, 0, 0] - np.sum(step * right / size, axis=2)
    log_det = np.linalg.slogdet(alike)[1] + 2.0 * np.sum(np.log(size), axis=2)
    return np.maximum(left, 1e-300), log_det
