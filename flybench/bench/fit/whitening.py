"""Whitening: columns of readings made independent of one another under many noises at once, by a Kalman filter.

Matern 3/2 as a filter: Hartikainen and Sarkka (2010), IEEE Workshop on Machine Learning for Signal Processing (from memory).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from flybench.bench.fit.noise_kinds import ROCKING_DAMPING, NoiseGrid
from flybench.quantity import Floats

Mask = NDArray[np.bool_]


def whitened(columns: Floats, times: Floats, noises: NoiseGrid) -> tuple[Floats, Floats]:
    """Make columns (n, m) independent under each noise of the grid (g,): returns (g, n, m) and log det (g,).

    A Kalman filter for the wander and its speed, run over all grid points at once; uneven frames are no
    special case.
    """
    moves, totals, gains = _filter(tuple(times), *(tuple(part) for part in vars(noises).values()))
    shape = columns.shape[1], len(noises.share)
    place, rate = np.zeros(shape), np.zeros(shape)
    part, other = np.empty(shape), np.empty(shape)
    out = np.empty((len(columns), *shape))
    for i, ((aa, ab), (ba, bb)) in enumerate(moves):
        new = np.subtract(columns[i, :, None], place, out=out[i])
        place += np.multiply(gains[i, 0], new, out=part)
        rate += np.multiply(gains[i, 1], new, out=part)
        np.multiply(ba, place, out=part)
        place *= aa
        place += np.multiply(ab, rate, out=other)
        rate *= bb
        rate += part
    np.subtract(columns[-1, :, None], place, out=out[-1])
    out /= np.sqrt(totals)[:, None, :]
    return out.transpose(2, 0, 1), np.log(totals).sum(axis=0)


@lru_cache(maxsize=2)
def _filter(
    times: tuple[float, ...],
    share: tuple[float, ...],
    memory: tuple[float, ...],
    smooth: tuple[bool, ...],
    pushed: tuple[bool, ...],
    rocking: tuple[bool, ...],
) -> tuple[Floats, Floats, Floats]:
    """Return what the filter does whatever the readings: moves (n - 1, 2, 2, g) of place and rate from
    frame to frame, variances (n, g) of what is new in each reading, and gains (n, 2, g).

    The rate is the speed of the wander times its memory, so that both have one unit.
    """
    part, driven = np.array(share), np.array(pushed)
    a = np.diff(times)[:, None] / np.array(memory)
    rest = part.copy()
    rest[driven] /= _carried((times[-1] - times[0]) / np.array(memory)[driven])
    moves, noise = _moves(a, np.array(smooth), driven, np.array(rocking), rest)
    n = len(times)
    totals, gains = np.empty((n, len(part))), np.empty((n, 2, len(part)))
    place, joint, rate = np.where(driven, 0.0, rest), 0.0 * rest, rest
    for i in range(n):
        if i:
            place, joint, rate = _predicted(moves[i - 1], place, joint, rate) + noise[i - 1]
        totals[i] = place + 1.0 - part
        gains[i] = place / totals[i], joint / totals[i]
        rate = rate - gains[i, 1] * joint
        place, joint = place - gains[i, 0] * place, joint - gains[i, 0] * joint
    return moves, totals, gains


def _carried(a: Floats) -> Floats:
    """Return the variance of a push's place after ``a`` memories, over that of its rate [-]: 2 (a - 1 + exp(-a))."""
    return 2.0 * (a + np.expm1(-a))


def _moves(a: Floats, smooth: Mask, driven: Mask, rocking: Mask, rest: Floats) -> tuple[Floats, Floats]:
    """Return moves (n, 2, 2, g) over ``a`` (n, g) memories, and the covariance of place and rate that is new
    after each, (n, 3, g); ``rest`` (g,) is the lasting variance of place and rate, of a push that of its rate.
    """
    keep, speedy = np.exp(-a), smooth.astype(float)
    moves = keep * np.array([[1 + speedy * a, speedy * a], [-speedy * a, speedy * (1 - a)]])
    moves = np.where(rocking, keep * _swung(a), moves)
    gone = -np.expm1(-a)
    moves = np.where(driven, np.array([[np.ones_like(a), gone], [np.zeros_like(a), keep]]), moves)
    kept = _predicted(moves, np.where(driven, 0.0, rest), 0.0 * rest, rest)
    noise = np.array([np.where(driven, 0.0, rest) - kept[0], -kept[1], rest - kept[2]])
    noise[0] = np.where(driven, rest * (_carried(a) - gone**2), noise[0])
    noise[1] = np.where(driven, rest * gone**2, noise[1])
    return moves.transpose(2, 0, 1, 3), noise.transpose(1, 0, 2)


def _swung(a: Floats) -> Floats:
    """Return what ``a`` memories make of place and rate of a rocking, its fading left out, (2, 2, ...): the rate is the speed
    over the angular frequency of the undamped swing."""
    slower = np.sqrt(1.0 - ROCKING_DAMPING**2)
    angle = a * slower / ROCKING_DAMPING
    along, across = np.cos(angle), np.sin(angle) / slower
    damped = ROCKING_DAMPING * across
    return np.array([[along + damped, across], [-across, along - damped]])


def _predicted(move: Floats, place: Floats, joint: Floats, rate: Floats) -> Floats:
    """Return the covariance of place and rate after a move, M P M': its three different parts, (3, ...)."""
    (aa, ab), (ba, bb) = move
    first, second = aa * place + ab * joint, aa * joint + ab * rate
    third, fourth = ba * place + bb * joint, ba * joint + bb * rate
    return np.array([first * aa + second * ab, first * ba + second * bb, third * ba + fourth * bb])
