"""Inside the fit of one fall: its first fit against scipy's, two models weighed by integration, its share of speed by hand.

Depths in closed form: y0 + V tau ln(cosh(t / tau) + v0 / V sinh(t / tau)) (Timmerman and van der Weele 1999).
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import least_squares

from flybench.bench.fit.fall import FallFit, _robust, fit_fall

Floats = NDArray[np.float64]
G = 9.80665
"""Standard gravity [m/s2]."""


def shape(t: Floats, tau: float, start: Floats | float) -> Floats:
    """Return depth over terminal speed [s], for start speeds over terminal speed."""
    x = t / tau
    return np.asarray(tau * np.log(np.cosh(x) + np.multiply.outer(start, np.sinh(x))))


def depth(values: Floats, t: Floats) -> Floats:
    v, log_tau, v0, y0 = values
    return y0 + v * shape(t, float(np.exp(log_tau)), v0 / v)


CUT_SHORT = [
    (0.6, 0.2, 0.0, 2e-4, 2),
    (0.5, 0.1, 0.9, 2e-4, 5),
    (0.4, 0.1, 0.1, 2e-4, 8),
    (0.3, 0.1, 0.8, 4e-4, 8),
]


@pytest.mark.parametrize(("v", "tau", "v0", "sigma", "seed"), CUT_SHORT)
def test_the_first_fit_is_scipys_softest(v: float, tau: float, v0: float, sigma: float, seed: int) -> None:
    """Loss soft_l1 of misfits over three noises and of the response time about 2.2 V/g; two of 28 readings are wild."""
    t = np.arange(28) / 240.0
    y = depth(np.array([v, np.log(tau), v0, 0.0]), t) + sigma * np.random.default_rng(seed).normal(size=28)
    y[[4, 20]] += 5e-3

    def misfits(values: Floats) -> Floats:
        usual = np.log(2.2 * values[0] / G)
        return np.append((depth(values, t) - y) / (3 * sigma), (values[1] - usual) / 0.5)

    limits = ([0.004, -9.0, -1e-12, -np.inf], [20.0, 3.0, 10.0, np.inf])
    tight = {"xtol": 1e-14, "ftol": 1e-14, "gtol": 1e-14}
    begin = [v, np.log(tau), v0, 0.0]
    best = least_squares(
        misfits, begin, loss="soft_l1", x_scale=(0.1, 1.0, 0.1, 0.01), bounds=limits, **tight
    )
    values, usual = _robust(t, y, sigma)
    np.testing.assert_allclose(values, best.x, rtol=1e-4, atol=2e-6)
    assert usual == pytest.approx(np.log(2.2 * best.x[0] / G), abs=1e-4)


def log_likelihood(shapes: Floats, y: Floats) -> Floats:
    """Return ln p(y) for depths y0 + V shape, V and y0 flat, white noise of unknown size (Jeffreys), but for a constant."""
    n = len(y)
    off, apart = shapes - shapes.mean(axis=-1, keepdims=True), y - y.mean()
    square = np.sum(off**2, axis=-1)
    rest = apart @ apart - (off @ apart) ** 2 / square
    return np.asarray(-0.5 * (n - 2) * np.log(rest) - 0.5 * np.log(square))


@pytest.mark.parametrize(
    ("count", "rate", "start", "sigma", "seed"), [(60, 60, 1.0, 5e-5, 3), (30, 240, 0.9, 2e-4, 6)]
)
def test_a_settled_fly_is_as_likely_as_the_integral_over_all_approaches_says(
    count: int, rate: int, start: float, sigma: float, seed: int
) -> None:
    """Odds of a straight line against all falls: ln tau about ln(2.2 V/g) by 0.5, v0/V about 1 by 1; within a factor of two,
    as the fit takes the fall as linear and the noise as perhaps not white."""
    t = np.arange(count) / rate
    y = depth(np.array([0.31, np.log(0.07), 0.31 * start, 0.02]), t)
    y = y + sigma * np.random.default_rng(seed).normal(size=count)
    fit = fit_fall(t, y, sigma)
    starts, normal = np.linspace(0.002, 3.0, 1500), np.linspace(-4.0, 4.0, 21)
    usual, straight = 2.2 * fit.terminal_speed / G, log_likelihood(t, y)
    over_starts = [
        np.sum(
            np.exp(
                log_likelihood(shape(t, usual * np.exp(0.5 * z), starts), y)
                - straight
                - (starts - 1) ** 2 / 2
            )
        )
        for z in normal
    ]
    weight = np.exp(-(normal**2) / 2) / np.exp(-(normal**2) / 2).sum()
    odds = np.sqrt(2 * np.pi) / (weight @ over_starts * (starts[1] - starts[0]))
    assert 0.5 < fit.settled / (1 - fit.settled) / odds < 2.0


def made(v0: float, last: float, first: float = 3.0) -> FallFit:
    """Return a fit as if it had been found: V = 0.4 m/s, tau = 0.1 s, from 3 s on the clip's clock."""
    t = first + np.linspace(0.0, last, 5)
    values = np.array([0.4, np.log(0.1), v0, 0.02])
    return FallFit(t, 0.0 * t, np.ones(5, dtype=bool), values, np.eye(4), 1e-4, 0.0, 0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("v0", "last", "share"),
    [
        (0.0, 0.1, np.tanh(1.0)),
        (0.2, 0.05, (0.5 + np.tanh(0.5)) / (1 + 0.5 * np.tanh(0.5))),
        (0.8, 0.05, (1 + 2 * np.tanh(0.5)) / (2 + np.tanh(0.5))),
        (0.0, 0.0, 0.0),
        (-0.4, 0.05, 0.0),
    ],
    ids=["from rest", "slower", "plunged", "not yet moved", "still rising"],
)
def test_the_share_of_terminal_speed_in_closed_form(v0: float, last: float, share: float) -> None:
    """v/V = (u + T) / (1 + u T), T = tanh(t / tau), u = v0/V, its inverse where it is above one; whenever it began."""
    assert made(v0, last).terminal_share == pytest.approx(share, abs=1e-12)


def test_depths_are_counted_from_the_first_frame() -> None:
    fit = made(0.2, 0.2)
    np.testing.assert_allclose(fit.depth_at(fit.times), depth(fit.values, fit.times - 3.0), atol=1e-12)
    np.testing.assert_allclose(fit.residuals, -depth(fit.values, fit.times - 3.0), atol=1e-12)


@pytest.mark.parametrize("v0", [0.0, 0.9])
def test_the_doubt_of_the_share_is_propagated_by_its_slopes(v0: float) -> None:
    """JCGM 100:2008, 5.2.2, with slopes of (u + T) / (1 + u T) by differences of its closed form."""
    t = np.arange(28) / 240.0
    y = depth(np.array([0.5, np.log(0.1), v0, 0.0]), t) + 2e-4 * np.random.default_rng(5).normal(size=28)
    fit = fit_fall(t, y, 2e-4)

    def share(values: Floats) -> float:
        u, now = values[2] / values[0], np.tanh(t[-1] / np.exp(values[1]))
        ratio = (u + now) / (1 + u * now)
        return float(min(ratio, 1 / ratio))

    steps = 1e-6 * np.eye(4)
    slopes = np.array([(share(fit.values + h) - share(fit.values - h)) / 2e-6 for h in steps])
    assert fit.share_uncertainty == pytest.approx(np.sqrt(slopes @ fit.covariance @ slopes), rel=1e-4)
    assert fit.share_uncertainty > 0.005


@pytest.mark.parametrize("factor", [0.2, 0.6])
def test_a_response_time_held_at_its_least_stays_there(factor: float) -> None:
    """No body has less than 0.7 V/g, (s + Ca) / (s - 1) of the densest: the speed is then uncertain by what that misses."""
    t = np.arange(60) / 240.0
    noise = 5e-5 * np.random.default_rng(1).normal(size=60)
    y = depth(np.array([0.6, np.log(factor * 0.6 / G), 0.0, 0.0]), t) + noise
    fit = fit_fall(t, y, 5e-5)
    assert fit.response_time == pytest.approx(0.7 * fit.terminal_speed / G, rel=0.015)
    assert abs(fit.terminal_speed - 0.6) < 2 * fit.fit_uncertainty < 0.08
    assert 0.0 < fit.start_speed < 0.3
