"""How a track scatters about the fall: reading noise plus a wander with a memory.

A fly is pushed about by its own wake, so successive residuals are alike and a fit that takes them as
independent states far too small an uncertainty. The scatter is described as white noise plus a wander,
either rough (first order Markov) or smooth (Matern 3/2: its speed is continuous, as that of a body pushed
about in water is), about the fall; or as white noise plus a push: the speed itself wanders about the
fall's (first order Markov), so that the place is carried off and never called back, as where the drag
fluctuates. Share and memory are unknown. Every choice on a grid is tried, weighted by its restricted
likelihood, and the fall's parameters are averaged over all of them. A rough wander alone would take a
slow, smooth one for far less than it does to the speed, and both of them a push.

Matern 3/2 as a filter: Hartikainen and Sarkka (2010), IEEE Workshop on Machine Learning for Signal
Processing. Restricted likelihood: Patterson and Thompson (1971), Biometrika 58, 545-554 (both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

SHARES = np.array([0.0, 0.05, 0.15, 0.3, 0.5, 0.7, 0.85, 0.95, 0.99, 0.998])
"""Tried shares of the wander in the total variance."""
MEMORIES = 10
"""Number of tried memories, from one frame to LONGEST falls."""
LONGEST = 2.0
"""Longest tried memory over the length of the fall [-]: a wander that keeps longer is as good as a straight drift, which
the fit takes for speed whatever it is called (judgement)."""
PUSHES = np.array([0.5, 0.9, 0.97, 0.99, 0.997, 0.999, 0.9997, 0.9999])
"""Tried shares of a push in the total variance at the end of the fall: 0.9999 is 5 mm beside readings to 0.05 mm."""
PUSH_MEMORIES = 5
"""Number of tried memories of a push."""
SHORTEST_PUSH, LONGEST_PUSH = 0.025, 0.4
"""Least and most memory of a push over the length of the fall [-]: six diameters of a fly are some 0.06 of a column of
300 mm; a shorter one is as good as a rough wander of long memory, a longer one as good as another fall (judgement)."""
WHITE_WEIGHT = 0.95
"""Prior weight of plain white noise against all wanders and pushes together (judgement): what truly wanders shows it by far
more than this, and what does not is then stated to within a fifth of the bound."""
PUSH_WEIGHT = 0.17
"""Prior weight of all pushes together against all wanders together, as many as are tried of each (judgement)."""


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
    pushed: NDArray[np.bool_]
    """True where its speed wanders and its place is the integral of that, from nought at the first frame; the share is
    that at the last frame, the memory that of the speed."""


def grid(times: Floats) -> NoiseGrid:
    """Return white noise and the wanders to try for these times."""
    gap = float(np.median(np.diff(times)))
    longest = max(LONGEST * float(times[-1] - times[0]), 3 * gap)
    memory = np.geomspace(gap, longest, MEMORIES)
    share, length, smooth = (a.ravel() for a in np.meshgrid(SHARES[1:], memory, [False, True], indexing="ij"))
    pushed = np.zeros(len(share) + 1, dtype=bool)
    return NoiseGrid(np.append(0.0, share), np.append(gap, length), np.append(False, smooth), pushed)


def pushes(times: Floats) -> NoiseGrid:
    """Return the pushes to try for these times."""
    length = float(times[-1] - times[0])
    memory = length * np.geomspace(SHORTEST_PUSH, LONGEST_PUSH, PUSH_MEMORIES)
    share, kept = (a.ravel() for a in np.meshgrid(PUSHES, memory, indexing="ij"))
    return NoiseGrid(share, kept, np.zeros(len(share), dtype=bool), np.ones(len(share), dtype=bool))


def both(first: NoiseGrid, second: NoiseGrid) -> NoiseGrid:
    """Return the noises of two grids as one."""
    parts = zip(vars(first).values(), vars(second).values(), strict=True)
    return NoiseGrid(*(np.concatenate(part) for part in parts))


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
) -> tuple[Floats, Floats, Floats]:
    """Return what the filter does whatever the readings: moves (n - 1, 2, 2, g) of place and rate from
    frame to frame, variances (n, g) of what is new in each reading, and gains (n, 2, g).

    The rate is the speed of the wander times its memory, so that both have one unit.
    """
    part, driven = np.array(share), np.array(pushed)
    a = np.diff(times)[:, None] / np.array(memory)
    rest = part.copy()
    rest[driven] /= _carried((times[-1] - times[0]) / np.array(memory)[driven])
    moves, noise = _moves(a, np.array(smooth), driven, rest)
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


def _moves(a: Floats, smooth: Mask, driven: Mask, rest: Floats) -> tuple[Floats, Floats]:
    """Return moves (n, 2, 2, g) over ``a`` (n, g) memories, and the covariance of place and rate that is new
    after each, (n, 3, g); ``rest`` (g,) is the lasting variance of place and rate, of a push that of its rate.
    """
    keep, speedy = np.exp(-a), smooth.astype(float)
    moves = keep * np.array([[1 + speedy * a, speedy * a], [-speedy * a, speedy * (1 - a)]])
    gone = -np.expm1(-a)
    moves = np.where(driven, np.array([[np.ones_like(a), gone], [np.zeros_like(a), keep]]), moves)
    kept = _predicted(moves, np.where(driven, 0.0, rest), 0.0 * rest, rest)
    noise = np.array([np.where(driven, 0.0, rest) - kept[0], -kept[1], rest - kept[2]])
    noise[0] = np.where(driven, rest * (_carried(a) - gone**2), noise[0])
    noise[1] = np.where(driven, rest * gone**2, noise[1])
    return moves.transpose(2, 0, 1, 3), noise.transpose(1, 0, 2)


def _predicted(move: Floats, place: Floats, joint: Floats, rate: Floats) -> Floats:
    """Return the covariance of place and rate after a move, M P M': its three different parts, (3, ...)."""
    (aa, ab), (ba, bb) = move
    first, second = aa * place + ab * joint, aa * joint + ab * rate
    third, fourth = ba * place + bb * joint, ba * joint + bb * rate
    return np.array([first * aa + second * ab, first * ba + second * bb, third * ba + fourth * bb])


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
    noises = both(grid(times), pushes(times))
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
    evidence[0] += np.log(WHITE_WEIGHT / (1.0 - WHITE_WEIGHT) * (len(share) - 1))
    among = PUSH_WEIGHT / (1.0 - PUSH_WEIGHT)
    evidence[noises.pushed] += np.log(among * (np.sum(~noises.pushed) - 1) / np.sum(noises.pushed))
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
