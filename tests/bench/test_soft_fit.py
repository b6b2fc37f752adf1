"""The first, robust fit against scipy's, and the slopes of the fall against differences of its depths."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import least_squares

from flybench.bench.fit.fall_model import depth_of, jacobian
from flybench.bench.fit.robust import soft_fit
from flybench.hydraulics.falling_body import depth

Floats = NDArray[np.float64]
T = np.arange(80) / 100.0
FREE = np.full(2, np.inf)


def line(values: Floats) -> tuple[Floats, Floats]:
    """Return misfits and slopes of a straight line beside readings of which three are wild."""
    read = 0.4 + 3.0 * T + 0.05 * np.random.default_rng(1).normal(size=80)
    read[[5, 40, 70]] += 8.0
    return (values[0] + values[1] * T - read) / 0.05, np.column_stack([np.ones(80), T]) / 0.05


@pytest.mark.parametrize("start", [(0.0, 0.0), (50.0, -20.0)])
@pytest.mark.parametrize(
    ("low", "high"), [(-FREE, FREE), (np.array([0.5, -np.inf]), FREE), (-FREE, np.array([9.0, 2.5]))]
)
def test_the_softest_line_is_that_of_scipy(start: tuple[float, float], low: Floats, high: Floats) -> None:
    """scipy.optimize.least_squares with loss soft_l1; with a limit that binds its search ends close to it, not on it."""
    inside = np.clip(np.array(start), low + 1e-3, high - 1e-3)
    best = least_squares(
        lambda v: line(v)[0], inside, bounds=(low, high), loss="soft_l1", xtol=1e-12, ftol=1e-14
    )
    values, cost = soft_fit(line, np.array(start), low, high, np.ones(2))
    assert np.allclose(values, best.x, rtol=2e-5, atol=2e-5)
    assert cost == pytest.approx(2.0 * best.cost, rel=1e-6)
    assert np.all((values >= low) & (values <= high))


@pytest.mark.parametrize("start", [0.0, 0.1, 0.3, 1.2, -0.2])
@pytest.mark.parametrize("tau", [0.004, 0.06, 0.5])
def test_depths_and_slopes_are_those_of_the_law(start: float, tau: float) -> None:
    """hydraulics.falling_body, which has tests of its own, and its differences, eight digits apart."""
    values = np.array([0.3, np.log(tau), start, 0.02])
    assert np.allclose(depth_of(values, T), 0.02 + depth(T, 0.3, tau, start), rtol=0.0, atol=1e-13)
    slopes = jacobian(values, T)
    for column, step in enumerate((1e-6, 1e-6, 1e-6, 1e-6)):
        shift = step * np.eye(4)[column]
        ahead, behind = (v[3] + depth(T, v[0], np.exp(v[1]), v[2]) for v in (values + shift, values - shift))
        assert np.allclose(slopes[:, column], (ahead - behind) / (2 * step), rtol=1e-6, atol=1e-8)
