"""A least-squares fit that single wild readings do not pull: soft weights, limits on each value, few values.

Least squares weighted anew at every step, on the soft_l1 cost sum 2 (sqrt(1 + f^2) - 1): its parabola with
the weights 1 / sqrt(1 + f^2) lies above the cost everywhere, so that a step far off does no harm. Damped
after Levenberg and Marquardt; a value at a limit that it would leave is held there.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from flybench.quantity import Floats

_MOST_STEPS = 200
"""Most steps tried [-]; a fall takes some ten."""
_CLOSE, _SAME = 1e-8, 1e-13
"""Step over the size of each value, and change of the cost over itself, at which the search ends [-]: far below what any
reading tells, and some hundred last digits of a sum."""
_EASED, _DAMPED, _FIRST = 0.2, 5.0, 1e-3
"""Change of the damping after a step that helped and one that did not, and its first value, over the curvature [-]
(common practice, no source)."""
_LEAST = 1e-12
"""Least damping, over the curvature [-]: keeps slopes that are as good as alike apart."""

Model = Callable[[Floats], tuple[Floats, Floats]]


def soft_fit(model: Model, guess: Floats, low: Floats, high: Floats, scales: Floats) -> tuple[Floats, float]:
    """Return the values (p,) that make the misfits of ``model`` least in the soft sense, and their cost [-].

    ``model`` gives misfits (n,) over their noise [-] and their slopes (n, p); ``scales`` (p,) are the sizes
    of the values, in their units, as are the limits ``low`` and ``high``.
    """
    values, damping = np.clip(guess, low, high), _FIRST
    misfit, slopes = model(values)
    cost = _cost(misfit)
    for _ in range(_MOST_STEPS):
        moved = np.clip(values + _step(misfit, slopes, values, (low, high), damping), low, high)
        there, slopes_there = model(moved)
        better = _cost(there)
        done = bool(np.all(np.abs(moved - values) <= _CLOSE * scales)) or abs(better - cost) <= _SAME * cost
        if better <= cost:
            values, cost, misfit, slopes = moved, better, there, slopes_there
            damping = max(_EASED * damping, _LEAST)
        else:
            damping *= _DAMPED
        if done:
            break
    return values, cost


def _cost(misfit: Floats) -> float:
    return float(2.0 * np.sum(np.sqrt(1.0 + misfit**2) - 1.0))


def _step(
    misfit: Floats, slopes: Floats, values: Floats, limits: tuple[Floats, Floats], damping: float
) -> Floats:
    """Return the damped step; a value at a limit that it would leave is not moved."""
    soft = 1.0 + misfit**2
    uphill = slopes.T @ (misfit / np.sqrt(soft))
    free = ~(((values <= limits[0]) & (uphill > 0)) | ((values >= limits[1]) & (uphill < 0)))
    curved = (slopes.T * soft**-0.5) @ slopes
    curved = curved + np.diag(damping * np.diag(curved) + np.finfo(float).tiny)
    step = np.zeros(len(values))
    step[free] = -np.linalg.solve(curved[np.ix_(free, free)], uphill[free])
    return step
