"""Rules that a prediction must beat: a straight line through logarithms, the nearest neighbour, a plain Gaussian process.

Each learns from the same flies, sees the same of them (weight by parts, bead, hook, dressing, style), and gives log
densities of ln(true speed). Textbook forms: least squares with Student's predictive law, Gaussian process with a constant
mean and its hyperparameters by the greatest likelihood (Rasmussen & Williams 2006, ch. 2 and 5).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from fly_worlds import Case
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import minimize
from scipy.stats import norm, t

from flybench.quantity import Floats

FEWEST_FREE = 2
"""Degrees of freedom that a line leaves at the least."""


def places(cases: Sequence[Case]) -> Floats:
    """Return what a rule sees of each fly: ln weight first, then ln bead, ln gape, turns, ln(1 + loose / 5 mg)."""
    rows = []
    for one in cases:
        build = one.measured.build
        bead = build.bead_diameter or build.hook_gape
        rows.append(
            [
                np.log(one.parts.weight.value),
                np.log(bead),
                np.log(build.hook_gape),
                build.hackle_turns / 3,
                np.log1p(build.loose_mass / 5e-6),
            ]
        )
    return np.array(rows)


def line(known: Sequence[Case], asked: Sequence[Case]) -> Floats:
    """Return the log densities by least squares of ln speed on as many columns as a third of the flies can bear."""
    columns = int(np.clip(len(known) // 3, 1, 5))
    columns = min(columns, len(known) - 1 - FEWEST_FREE) if len(known) > FEWEST_FREE + 1 else 0
    x, y = _with_one(places(known)[:, :columns]), _speeds(known)
    inverse = np.linalg.pinv(x.T @ x)
    slopes = inverse @ x.T @ y
    free = len(y) - np.linalg.matrix_rank(x)
    spread = max(float(np.sum((y - x @ slopes) ** 2)) / free, 1e-4)
    new = _with_one(places(asked)[:, :columns])
    scale = np.sqrt(spread * (1 + np.einsum("ij,jk,ik->i", new, inverse, new)))
    found: Floats = t.logpdf(_truth(asked), free, new @ slopes, scale)
    return found


def nearest(known: Sequence[Case], asked: Sequence[Case]) -> Floats:
    """Return the log densities by the nearest fly, its speed with the spread of nearest flies about each other."""
    x, y = places(known), _speeds(known)
    size = np.maximum(x.std(0), 0.1)
    between = _distances(x / size, x / size) + np.diag(np.full(len(y), np.inf))
    off = y - y[between.argmin(1)]
    found: Floats = t.logpdf(
        _truth(asked),
        len(y),
        y[_distances(places(asked) / size, x / size).argmin(1)],
        max(float(np.sqrt(np.mean(off**2))), 0.02),
    )
    return found


def process(known: Sequence[Case], asked: Sequence[Case]) -> Floats:
    """Return the log densities by a Gaussian process on ln speed: one length, one size, one noise."""
    x, y = places(known), _speeds(known)
    size = np.maximum(x.std(0), 0.1)
    x, new, mean = x / size, places(asked) / size, float(y.mean())
    squares = _distances(x, x)

    def minus_log_likelihood(theta: Floats) -> float:
        length, height, noise = np.exp(theta)
        kernel = height**2 * np.exp(-squares / 2 / length**2) + noise**2 * np.eye(len(y))
        factor = cho_factor(kernel, lower=True)
        fit = 0.5 * (y - mean) @ cho_solve(factor, y - mean)
        weak = 0.5 * np.sum(((theta - np.log([2.0, 0.3, 0.08])) / 1.0) ** 2)
        return float(fit + np.log(np.diag(factor[0])).sum() + weak)

    best = minimize(minus_log_likelihood, np.log([2.0, 0.3, 0.08]), method="Nelder-Mead").x
    length, height, noise = np.exp(best)
    kernel = height**2 * np.exp(-squares / 2 / length**2) + noise**2 * np.eye(len(y))
    across = height**2 * np.exp(-_distances(new, x) / 2 / length**2)
    expected = mean + across @ np.linalg.solve(kernel, y - mean)
    left = (
        height**2
        + noise**2
        + height**2 / len(y)
        - np.sum(across * np.linalg.solve(kernel, across.T).T, axis=1)
    )
    found: Floats = norm.logpdf(_truth(asked), expected, np.sqrt(np.maximum(left, 1e-6)))
    return found


RULES = {"line": line, "nearest": nearest, "process": process}


def _with_one(columns: Floats) -> Floats:
    return np.column_stack([np.ones(len(columns)), columns])


def _distances(one: Floats, other: Floats) -> Floats:
    found: Floats = ((one[:, None, :] - other[None, :, :]) ** 2).sum(-1)
    return found


def _speeds(cases: Sequence[Case]) -> Floats:
    return np.log([one.measured.speed for one in cases])


def _truth(cases: Sequence[Case]) -> Floats:
    return np.log([one.speed for one in cases])
