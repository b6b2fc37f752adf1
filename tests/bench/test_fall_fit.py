"""The fit of one fall: it finds what falls were made from, keeps to the laws of scaling, and states what it leaves out.

Truth: falls integrated by scipy's ODE solver from m dv/dt = W - k v^2, which is not the closed form that is fitted.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from flybench.bench.fit.fall import FallFit, fit_fall, response_to_depths

Floats = NDArray[np.float64]
G = 9.80665
"""Standard gravity [m/s2]."""


@cache
def made(v: float, tau: float, v0: float, column: float, rate: float) -> tuple[Floats, Floats, Floats]:
    """Return times, depths and speeds of dv/dt = (v / tau) (1 - (u / v)^2) through a column."""

    def slope(_: float, state: Floats) -> list[float]:
        return [state[1], v / tau * (1.0 - (state[1] / v) ** 2)]

    t = np.arange(0.0, column / v + 4 * tau, 1.0 / rate)
    y, speed = solve_ivp(slope, (0.0, t[-1]), [0.0, v0], t_eval=t, rtol=1e-10, atol=1e-12).y
    inside = y < column
    return t[inside], y[inside], speed[inside]


def read(v: float, tau: float, v0: float, column: float = 0.3, seed: int = 1, noise: float = 5e-5) -> Floats:
    """Return the depths with reading noise."""
    depths = made(v, tau, v0, column, 120.0)[1]
    return depths + noise * np.random.default_rng(seed).normal(size=len(depths))


@cache
def fitted(v: float, tau: float, v0: float, column: float = 0.3, seed: int = 1) -> FallFit:
    return fit_fall(made(v, tau, v0, column, 120.0)[0], read(v, tau, v0, column, seed), 5e-5)


FALLS = [(0.3, 0.06, 0.0), (0.3, 0.06, 0.2), (0.2, 0.05, 0.5), (0.5, 0.12, 0.1), (0.4, 0.1, 0.9)]


@pytest.mark.parametrize(("v", "tau", "v0"), FALLS)
def test_a_fall_is_found_again(v: float, tau: float, v0: float) -> None:
    fit = fitted(v, tau, v0)
    t, y, speed = made(v, tau, v0, 0.3, 120.0)
    assert fit.terminal_speed == pytest.approx(v, rel=2e-3)
    assert abs(fit.terminal_speed - v) < 3 * fit.fit_uncertainty
    assert fit.response_time == pytest.approx(tau, rel=0.05)
    assert fit.start_speed == pytest.approx(v0, abs=0.01)
    assert np.abs(fit.depth_at(t) - y).max() < 5e-5
    assert np.abs(fit.speed_at(t) - speed).max() < 0.02 * v
    assert fit.used.all()
    assert fit.settled < 0.01
    assert fit.sigma == pytest.approx(5e-5, rel=0.35)
    assert np.allclose(fit.residuals, fit.depths - fit.depth_at(fit.times))


@pytest.mark.parametrize(("v", "tau", "v0"), FALLS)
def test_share_of_terminal_speed_at_the_end(v: float, tau: float, v0: float) -> None:
    """Of a fly that was plunged in it is terminal over speed, so that it is never above one."""
    last = made(v, tau, v0, 0.3, 120.0)[2][-1] / v
    assert fitted(v, tau, v0).terminal_share == pytest.approx(min(last, 1 / last), abs=2e-3)


def test_share_of_a_fall_that_is_cut_short() -> None:
    fit = fitted(0.6, 0.2, 0.0, 0.1)
    speed = made(0.6, 0.2, 0.0, 0.1, 120.0)[2][-1]
    assert fit.terminal_share == pytest.approx(speed / 0.6, abs=0.05)
    assert fit.terminal_share < 0.9


def test_stated_doubt_of_the_share_is_that_of_drawn_values() -> None:
    """Propagated to first order against a draw of 4000 from the same covariance."""
    fit = fitted(0.5, 0.12, 0.1)
    draws = np.random.default_rng(2).multivariate_normal(fit.values, fit.covariance, 4000)
    shares = [replace(fit, values=values).terminal_share for values in draws]
    assert fit.share_uncertainty == pytest.approx(np.std(shares), rel=0.1)


@pytest.mark.parametrize(("v", "tau", "v0"), FALLS[:2])
def test_where_and_when_it_starts_does_not_matter(v: float, tau: float, v0: float) -> None:
    fit, t = fitted(v, tau, v0), made(v, tau, v0, 0.3, 120.0)[0]
    moved = fit_fall(t + 7.3, read(v, tau, v0) + 0.12, 5e-5)
    assert moved.terminal_speed == pytest.approx(fit.terminal_speed, rel=1e-6)
    assert moved.fit_uncertainty == pytest.approx(fit.fit_uncertainty, rel=1e-3)
    assert np.allclose(moved.speed_at(t + 7.3), fit.speed_at(t), rtol=1e-5)


def test_falls_scale_with_gravity_held() -> None:
    """Froude's law: depths four times as large and times twice as long make speeds twice as large."""
    fit = fitted(0.3, 0.06, 0.2)
    t = made(0.3, 0.06, 0.2, 0.3, 120.0)[0]
    large = fit_fall(2 * t, 4 * read(0.3, 0.06, 0.2), 4 * 5e-5)
    assert large.terminal_speed == pytest.approx(2 * fit.terminal_speed, rel=1e-4)
    assert large.fit_uncertainty == pytest.approx(2 * fit.fit_uncertainty, rel=1e-2)
    assert large.response_time == pytest.approx(2 * fit.response_time, rel=1e-3)
    assert large.start_speed == pytest.approx(2 * fit.start_speed, rel=1e-3)
    assert large.terminal_share == pytest.approx(fit.terminal_share, rel=1e-4)


def test_half_the_noise_is_half_the_uncertainty() -> None:
    t = made(0.3, 0.06, 0.2, 0.3, 120.0)[0]
    full = fitted(0.3, 0.06, 0.2)
    half = fit_fall(t, read(0.3, 0.06, 0.2, noise=2.5e-5), 2.5e-5)
    assert half.fit_uncertainty == pytest.approx(full.fit_uncertainty / 2, rel=0.1)


@pytest.mark.parametrize("row", [5, 40, 100])
@pytest.mark.parametrize("off", [0.004, -0.004])
def test_one_misread_frame_is_left_out(row: int, off: float) -> None:
    depths = read(0.3, 0.06, 0.2)
    depths[row] += off
    fit = fit_fall(made(0.3, 0.06, 0.2, 0.3, 120.0)[0], depths, 5e-5)
    assert np.flatnonzero(~fit.used).tolist() == [row]
    assert fit.terminal_speed == pytest.approx(fitted(0.3, 0.06, 0.2).terminal_speed, rel=1e-3)


def test_a_reading_within_four_deviations_is_kept() -> None:
    depths = read(0.3, 0.06, 0.2)
    depths[60] = made(0.3, 0.06, 0.2, 0.3, 120.0)[1][60] + 3.5 * 5e-5
    assert fit_fall(made(0.3, 0.06, 0.2, 0.3, 120.0)[0], depths, 5e-5).used.all()


def test_where_a_quarter_disagrees_nothing_is_left_out() -> None:
    """It is no free fall then, and has to show."""
    depths = read(0.3, 0.06, 0.2)
    depths[::4] += 0.004
    fit = fit_fall(made(0.3, 0.06, 0.2, 0.3, 120.0)[0], depths, 5e-5)
    assert fit.used.all()
    assert fit.sigma > 1e-3


def history_share(v: float, tau: float) -> float:
    """Return the expected share by hand: 0.01, and 0.06 of what water makes up of the response time, 1 - V / (g tau)."""
    return 0.01 + 0.06 * (1.0 - v / (G * tau))


def test_left_out_history_is_a_share_of_the_mean_shortfall() -> None:
    """A fall from rest has v(t) = v tanh(t / tau); the mean of 1 - tanh by hand from the closed form."""
    fit, t = fitted(0.3, 0.06, 0.0), made(0.3, 0.06, 0.0, 0.3, 120.0)[0]
    expected = history_share(0.3, 0.06) * np.mean(1.0 - np.tanh(t / 0.06)) * 0.3
    assert fit.history_uncertainty == pytest.approx(expected, rel=0.03)


def test_history_of_a_plunged_fly_counts_as_well() -> None:
    fit = fitted(0.2, 0.05, 0.5)
    speed = made(0.2, 0.05, 0.5, 0.3, 120.0)[2]
    expected = history_share(0.2, 0.05) * np.mean(np.abs(speed / 0.2 - 1.0)) * 0.2
    assert fit.history_uncertainty == pytest.approx(expected, rel=0.05)


def test_a_dense_body_has_little_history() -> None:
    """At a response time of V / g, where only the body's own mass is moved, it is a hundredth of the shortfall."""
    fit, t = fitted(0.6, 0.6 / G, 0.0), made(0.6, 0.6 / G, 0.0, 0.3, 120.0)[0]
    assert fit.history_uncertainty == pytest.approx(
        0.01 * np.mean(1.0 - np.tanh(t * G / 0.6)) * 0.6, rel=0.05
    )


def settled_fall() -> tuple[Floats, Floats]:
    t = np.arange(120) / 120.0
    return t, 0.02 + 0.31 * t + 5e-5 * np.random.default_rng(3).normal(size=120)


def test_a_fly_at_its_speed_from_the_first_frame_is_a_straight_line() -> None:
    """Slope and its standard error of least squares, from numpy.polyfit."""
    t, y = settled_fall()
    fit = fit_fall(t, y, 5e-5)
    (slope, _), spread = np.polyfit(t, y, 1, cov="unscaled")
    assert fit.settled > 0.5
    assert fit.terminal_speed == pytest.approx(slope, rel=3e-4)
    assert 0.9 < fit.fit_uncertainty / (5e-5 * np.sqrt(spread[0, 0])) < 3.0
    assert fit.terminal_share == pytest.approx(1.0, abs=1e-3)
    answer = response_to_depths(fit)
    assert answer @ y == pytest.approx(slope, rel=1e-9)
    assert answer @ np.ones(len(t)) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("v", "tau", "v0"), FALLS)
def test_the_answer_to_depths_is_how_the_speed_answers_to_a_scale(v: float, tau: float, v0: float) -> None:
    """Every depth and every speed of a fall grow alike with the scale; a shift changes no speed."""
    fit = fitted(v, tau, v0)
    answer = response_to_depths(fit)
    assert len(answer) == fit.used.sum()
    assert answer @ np.ones(len(answer)) == pytest.approx(0.0, abs=1e-6)
    assert answer @ fit.depth_at(fit.times[fit.used]) == pytest.approx(fit.terminal_speed, rel=5e-3)


def test_the_answer_is_that_of_a_new_fit() -> None:
    fit, t = fitted(0.3, 0.06, 0.2), made(0.3, 0.06, 0.2, 0.3, 120.0)[0]
    bend = 5e-5 * np.sin(3 * t / t[-1])  # small against the readings, so that it is taken for no push
    other = fit_fall(t, read(0.3, 0.06, 0.2) + bend, 5e-5)
    assert other.terminal_speed - fit.terminal_speed == pytest.approx(
        response_to_depths(fit) @ bend, rel=0.05
    )


@pytest.mark.parametrize(("bow", "factor"), [(4e-3, 12.0), (-4e-3, 12.0)])
def test_a_bow_in_the_track_is_no_slow_approach(bow: float, factor: float) -> None:
    """No body has a response time above twelve speeds over g: (s + Ca) / (s - 1) at s = 1.15."""
    t = np.arange(120) / 120.0
    fit = fit_fall(t, 0.31 * t + bow * (t - t**2), 5e-5)
    assert fit.response_time <= factor * fit.terminal_speed / G * 1.02
    assert fit.terminal_speed == pytest.approx(0.31, rel=0.1)


def test_a_response_time_that_no_body_has_is_held_at_its_limit() -> None:
    """Held at the limit, the answer no longer trades speed for response time: a scale still is a scale."""
    times, depths, _ = made(0.31, 1.0, 0.0, 0.31, 120.0)
    fit = fit_fall(times, depths, 5e-5)
    low, high = 0.7 * fit.terminal_speed / G, 12.0 * fit.terminal_speed / G
    assert low * 0.98 <= fit.response_time <= high * 1.02
    assert response_to_depths(fit) @ np.ones(int(fit.used.sum())) == pytest.approx(0.0, abs=1e-5)


def test_few_frames_still_give_a_finite_answer() -> None:
    t, y, _ = made(0.3, 0.06, 0.2, 0.3, 120.0)
    fit = fit_fall(t[::10], y[::10], 5e-5)
    assert np.isfinite(fit.fit_uncertainty)
    assert fit.terminal_speed == pytest.approx(0.3, rel=0.02)
