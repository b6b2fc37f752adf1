"""The fit of one fall where priors and limits decide: against scipy's most likely fall, and by hand.

The most likely fall is found by scipy from depths in closed form (Timmerman and van der Weele 1999) and the stated priors:
a response time about 2.2 V/g, known to exp(0.5); a start speed about V, known to V.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import least_squares

from flybench.bench.fit.fall import FallFit, fit_fall, left_out_share, response_to_depths

Floats = NDArray[np.float64]
G = 9.80665
"""Standard gravity [m/s2]."""


def depth(values: Floats, t: Floats) -> Floats:
    """Return y0 + V tau ln(cosh(t / tau) + v0 / V sinh(t / tau)) [m]."""
    v, log_tau, v0, y0 = values
    x = t / np.exp(log_tau)
    return np.asarray(y0 + v * np.exp(log_tau) * np.log(np.cosh(x) + v0 / v * np.sinh(x)))


def slopes(values: Floats, t: Floats) -> Floats:
    """Return d depth / d values by central differences."""
    steps = 1e-5 * np.eye(4)
    return np.column_stack([(depth(values + h, t) - depth(values - h, t)) / 2e-5 for h in steps])


@cache
def noise(count: int, seed: int) -> Floats:
    return np.random.default_rng(seed).normal(size=count)


@pytest.mark.parametrize(
    ("v", "tau", "v0", "sigma", "seed"),
    [(0.6, 0.2, 0.0, 2e-4, 2), (0.5, 0.1, 0.9, 2e-4, 5), (0.4, 0.1, 0.1, 2e-4, 8), (0.3, 0.1, 0.8, 4e-4, 8)],
)
def test_a_fall_cut_short_is_the_most_likely_one(
    v: float, tau: float, v0: float, sigma: float, seed: int
) -> None:
    """28 frames of a fall far from its speed leave it uncertain by 3 to 25 %: priors count, and their forms show."""
    t = np.arange(28) / 240.0
    y = depth(np.array([v, np.log(tau), v0, 0.0]), t) + sigma * noise(28, seed)
    fit = fit_fall(t, y, sigma)
    usual = np.log(2.2 * fit.terminal_speed / G)

    def misfits(values: Floats) -> Floats:
        apart = (values[2] - values[0]) / fit.terminal_speed
        return np.append((depth(values, t) - y) / sigma, [(values[1] - usual) / 0.5, apart])

    best = least_squares(misfits, fit.values, x_scale=(0.1, 1.0, 0.1, 0.01))
    doubt = np.sqrt(np.diag(np.linalg.inv(best.jac.T @ best.jac)))
    assert fit.used.all()
    assert np.abs((fit.values - best.x) / doubt).max() < 0.25
    stated = np.sqrt(np.diag(fit.covariance))
    assert stated[:3] == pytest.approx(doubt[:3], rel=0.3)
    assert 0.95 < stated[3] / doubt[3] < 1.6  # a push may have moved the start unseen


@cache
def settled() -> tuple[FallFit, Floats, Floats]:
    t = np.arange(60) / 60.0
    y = 0.02 + 0.31 * t + 5e-5 * noise(60, 3)
    return fit_fall(t, y, 5e-5), t, y


def test_of_a_settled_fly_the_response_time_is_the_usual_one() -> None:
    """Nothing was seen of an approach: the prior stays, 2.2 V/g and 0.5 in its logarithm."""
    fit, t, y = settled()
    assert fit.settled > 0.98
    assert fit.response_time == pytest.approx(2.2 * fit.terminal_speed / G, rel=2e-3)
    assert np.sqrt(fit.covariance[1, 1]) == pytest.approx(0.5, rel=5e-3)
    (slope, start), covariance = np.polyfit(t, y, 1, cov="unscaled")
    assert fit.values[[0, 2, 3]] == pytest.approx([slope, slope, start], rel=2e-4)
    shares = np.sqrt(np.diag(fit.covariance)[[0, 3]] / np.diag(covariance)) / fit.sigma
    assert ((shares > 0.95) & (shares < 2.0)).all()


@pytest.mark.parametrize(("off", "kept"), [(4.7, True), (5.3, False), (-4.7, True), (-5.3, False)])
def test_a_reading_is_misread_from_five_scaled_median_deviations_on(off: float, kept: bool) -> None:
    """1.4826 median deviations of a normal law are one standard deviation (from memory)."""
    scatter = 5e-5 * noise(101, 11)
    deviation = 1.4826 * np.median(np.abs(scatter - np.median(scatter)))
    scatter[50] = off * deviation
    t = np.arange(101) / 100.0
    fit = fit_fall(t, depth(np.array([0.3, np.log(0.06), 0.0, 0.0]), t) + scatter, 5e-5)
    assert bool(fit.used[50]) is kept
    assert np.delete(fit.used, 50).all()


@pytest.mark.parametrize(("off", "kept"), [(1.4e-4, True), (1.6e-4, False)])
def test_readings_without_scatter_may_be_off_by_one_and_a_half_of_the_noise(off: float, kept: bool) -> None:
    """Five times 0.3 of a noise of 0.1 mm."""
    t = np.arange(61) / 60.0
    y = depth(np.array([0.3, np.log(0.06), 0.0, 0.0]), t)
    y[30] += off
    assert bool(fit_fall(t, y, 1e-4).used[30]) is kept


@pytest.mark.parametrize(("misread", "left_out"), [(12, 12), (13, 0)])
def test_up_to_a_fifth_of_the_readings_is_left_out(misread: int, left_out: int) -> None:
    """Of 60 readings 12 are a fifth; every fifth is off by 4 mm, up and down in turn."""
    t = np.arange(60) / 60.0
    y = 0.31 * t + 5e-5 * noise(60, 3)
    rows = np.append(np.arange(0, 60, 5), 32)[:misread]
    y[rows] += 0.004 * (-1.0) ** np.arange(misread)
    assert np.sum(~fit_fall(t, y, 5e-5).used) == left_out


def made(log_tau: float, sigma: float = 1e-3, weight: float = 0.0) -> FallFit:
    """Return a fit as if it had been found: of 50 frames from rest, of which the sixth was left out."""
    t, used = np.arange(50) / 100.0, np.arange(50) != 5
    values = np.array([0.4, log_tau, 0.1, 0.0])
    return FallFit(t + 3.0, depth(values, t), used, values, np.eye(4), sigma, 0.0, 0.0, 0.0, weight)


@pytest.mark.parametrize("sigma", [1e-3, 1e-4, 1e-7])
def test_the_answer_to_depths_is_that_of_least_squares_with_the_prior(sigma: float) -> None:
    """First row of (J'J + P)^-1 J', P the readings' variance over that of the prior, 0.25; at least that of 1 micrometre."""
    fit = made(np.log(0.1), sigma)
    j = slopes(fit.values, fit.times[fit.used] - 3.0)
    prior = np.diag([0.0, max(sigma, 1e-6) ** 2 / 0.25, 0.0, 0.0])
    expected = np.linalg.solve(j.T @ j + prior, j.T)[0]
    np.testing.assert_allclose(response_to_depths(fit), expected, rtol=1e-4, atol=1e-4)


@pytest.mark.parametrize("factor", [0.7, 12.0])
def test_at_its_limits_the_response_time_does_not_answer(factor: float) -> None:
    """Then it is plain least squares of the three other values: numpy's pseudo-inverse."""
    for inside, held in ((0.0, True), (1e-4, False)):
        towards = inside if factor < 1 else -inside
        fit = made(np.log(factor * 0.4 / G) + towards)
        j = slopes(fit.values, fit.times[fit.used] - 3.0)
        expected = np.linalg.pinv(j[:, [0, 2, 3]])[0]
        assert np.allclose(response_to_depths(fit), expected, rtol=1e-3, atol=1e-3) is held


@pytest.mark.parametrize(("weight", "straight"), [(0.52, True), (0.5, False), (0.48, False)])
def test_the_likelier_of_two_models_answers(weight: float, straight: bool) -> None:
    """A straight line answers with (t - mean t) over its sum of squares."""
    fit = made(np.log(0.1), weight=weight)
    centred = fit.times[fit.used] - fit.times[fit.used].mean()
    assert np.allclose(response_to_depths(fit), centred / (centred @ centred)) is straight


@pytest.mark.parametrize(("tau", "share"), [(0.7, 0.01), (1.0, 0.01), (2.0, 0.04), (4.0, 0.055)])
def test_history_counts_by_what_water_makes_up_of_the_response(tau: float, share: float) -> None:
    """By hand: 0.01 + 0.06 (1 - V / (g tau)), the last part not below nought."""
    assert left_out_share(0.3, tau * 0.3 / G) == pytest.approx(share)
