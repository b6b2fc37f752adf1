"""How likely curves are under wanders: beside whole covariance matrices, and falls that wander as slowly as an approach.

Correlations: exp(-a) of a first order Markov process, (1 + a) exp(-a) of Matern 3/2 (textbook); restricted likelihood of a
linear model (Patterson and Thompson 1971, from memory). Falls by an equation of motion integrated here, with a drag exponent
of 1.71 and a wander that is smoother than any that is tried (squared exponential), none of which is the program's.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from flybench.bench.clip.clock import CLOCK_UNCERTAINTY, Clock, Source
from flybench.bench.fit.noise_kinds import WHITE_WEIGHT
from flybench.bench.fit.response_number import response_profile
from flybench.bench.fit.wander_likelihood import MEMORIES, SHARES, wander_likelihoods
from flybench.bench.verdict.time_base import judged
from flybench.quantity import Floats, Measured

LEAST = 3.6e-5
"""A tenth of a pixel [m]."""


def correlations(times: Floats) -> list[tuple[float, Floats]]:
    """Return share of the wander and correlation of readings, of white noise and of all wanders in turn."""
    apart = np.abs(times[:, None] - times)
    found = [(0.0, np.eye(len(times)))]
    for share in SHARES:
        for memory in np.geomspace(times[1] - times[0], 2 * times[-1], MEMORIES):
            a = apart / memory
            for wander in (np.exp(-a), (1 + a) * np.exp(-a)):
                found.append((float(share), (1 - share) * np.eye(len(times)) + share * wander))
    return found


def by_matrices(off: Floats, slopes: Floats, times: Floats) -> float:
    """Return the averaged log likelihood of one curve (n + 1,) by inverting whole matrices."""
    told, first = [], 0.0
    kinds = correlations(times)
    for share, correlation in kinds:
        whole = np.zeros((len(off), len(off)))
        whole[:-1, :-1], whole[-1, -1] = correlation, 1 - share
        inverse = np.linalg.inv(whole)
        normal = slopes.T @ inverse @ slopes
        left = off - slopes @ np.linalg.solve(normal, slopes.T @ inverse @ off)
        freedom = len(off) - slopes.shape[1]
        rest = float(left @ inverse @ left)
        variance = max(rest / freedom, LEAST**2 / (1 - share))
        own = float(np.linalg.slogdet(normal)[1])
        first = own if share == 0 else first
        weight = WHITE_WEIGHT if share == 0 else (1 - WHITE_WEIGHT) / (len(kinds) - 1)
        log_det = float(np.linalg.slogdet(correlation)[1])
        log = -0.5 * (freedom * np.log(variance) + rest / variance + log_det + own - first)
        told.append(weight * np.exp(log - 200.0))
    return float(np.log(sum(told)) + 200.0)


def test_likelihoods_are_those_of_whole_covariance_matrices() -> None:
    times = np.linspace(0, 1.0, 25)
    rng = np.random.default_rng(3)
    off = rng.normal(0, 1e-4, (2, 26))
    off[1, :-1] += 2e-4 * np.sin(5 * times)
    slopes = np.zeros((2, 26, 3))
    slopes[:, :-1] = np.column_stack([np.ones(25), times, (times - 0.5) ** 2])
    slopes[1, :-1, 1] = np.exp(-4 * times)
    slopes[:, -1, 2] = 0.3
    found = wander_likelihoods(off, slopes, times, LEAST)
    wanted = [by_matrices(off[one], slopes[one], times) for one in range(2)]
    assert found == pytest.approx(wanted, abs=1e-5)


def wandering(seed: int, start: float = 1.05, stretch: float = 1.0) -> tuple[Floats, Floats]:
    """Return times and depths of 1.3 s of a fall at 0.257 m/s, response time 33 ms, that wanders by 0.1 mm along its path in
    some 0.15 s, filmed at 60 Hz times the stretch and played at 60."""
    speed, tau, rng = 0.257, 0.033, np.random.default_rng(seed)

    def rate(_: float, state: Floats) -> list[float]:
        return [state[1], speed / tau * (1 - (abs(state[1]) / speed) ** 1.71)]

    real = np.arange(0, 1.3, 1 / 60 / stretch)
    found = solve_ivp(rate, (0, 1.3), [0.0, start * speed], t_eval=real, rtol=1e-8, atol=1e-11)
    alike = np.exp(-0.5 * ((real[:, None] - real) / 0.15) ** 2) + 1e-9 * np.eye(len(real))
    wander = np.linalg.cholesky(alike) @ rng.normal(0, 1e-4, len(real))
    return real * stretch, found.y[0] + wander + rng.normal(0, 1e-5, len(real))


def flag_of(seed: int, **changes: float) -> str | None:
    """Return what is said of a stated rate of 60 Hz by one fall of a fly of 9.4 times the water's density."""
    clock = Clock(1.0, 60.0, 0.0, 0, CLOCK_UNCERTAINTY, False, Source.TYPED)
    profile = response_profile(*wandering(seed, **changes), LEAST)
    return judged(clock, [profile], 0.257 / changes.get("stretch", 1.0), Measured(9.4, 1.2), None).flag


@pytest.mark.parametrize("seed", [5, 63, 67, 1, 2])
def test_a_slow_wander_is_no_approach(seed: int) -> None:
    """The first three of a hundred draws look most like a fly that comes to its speed in seconds."""
    assert flag_of(seed) is None


@pytest.mark.parametrize("stretch", [2.0, 4.0])
def test_slow_motion_shows_through_such_a_wander(stretch: float) -> None:
    for seed in (5, 63, 67):
        assert flag_of(seed, start=0.2, stretch=stretch) == "rate-contradicted"
