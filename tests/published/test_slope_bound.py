"""The least scatter a line's slope can have in white noise: 12 sigma^2 / [dt^2 N (N^2 - 1)].

The Cramér-Rao bound for a line with free offset (Kay 1993, Fundamentals of Statistical Signal
Processing: Estimation Theory, from memory). Least squares attains it, and the law of propagation
gives it; correlated tracking errors make the truth worse.
"""

import math

import numpy as np
import pytest
from rows import Row, rows

from flybench.statistics.budget import propagate


def bound(count: int, step: float, noise: float) -> float:
    return math.sqrt(12 * noise**2 / (step**2 * count * (count**2 - 1)))


@pytest.mark.parametrize("row", rows("slope_bound.csv"), ids=str)
def test_bound_is_as_worked_apart(row: Row) -> None:
    row.check(bound(int(row["n"]), 1 / row["rate"], row["mm"]))


@pytest.mark.parametrize("row", rows("slope_bound.csv"), ids=str)
def test_least_squares_attains_the_bound(row: Row) -> None:
    times = np.arange(row["n"]) / row["rate"]
    noise = np.full(len(times), row["mm"] ** 2)
    _, covariance = propagate(lambda places: np.polyfit(times, places, 1)[0], 300 * times, noise)
    row.check(math.sqrt(covariance[0, 0]))


def test_repeated_noisy_falls_scatter_as_the_bound_says() -> None:
    rng = np.random.default_rng(20)
    times = np.arange(60) / 60
    places = rng.normal(0.3 * times[:, None], 1e-3, (60, 4000))
    slopes = np.polyfit(times, places, 1)[0]
    # 4000 falls fix a standard deviation to 1.1 %; allowed are three times that.
    assert slopes.std(ddof=1) == pytest.approx(bound(60, 1 / 60, 1e-3), rel=0.034)


def test_correlated_errors_scatter_more_than_the_bound() -> None:
    times = np.arange(60) / 60
    lag = np.abs(np.subtract.outer(np.arange(60), np.arange(60)))
    _, covariance = propagate(lambda places: np.polyfit(times, places, 1)[0], 0.3 * times, 0.8**lag)
    assert math.sqrt(covariance[0, 0]) > 1.5 * bound(60, 1 / 60, 1.0)
