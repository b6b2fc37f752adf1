"""The scatter of a track: the filter is the inverse of the noise's covariance, and the fit is generalised least squares."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from flybench.bench.fit.noise import (
    LONGEST,
    MEMORIES,
    SHARES,
    WHITE_WEIGHT,
    FitsByNoise,
    NoiseGrid,
    average,
    fit_under_all,
    grid,
    whitened,
)

Floats = NDArray[np.float64]
TIMES = np.cumsum(np.random.default_rng(3).uniform(0.008, 0.03, 24))
COLUMNS = np.random.default_rng(4).normal(size=(24, 3))


def covariance(share: float, memory: float, smooth: bool) -> Floats:
    """Return white noise plus a wander, of unit variance together: first-order Markov, or Matern 3/2."""
    apart = np.abs(TIMES[:, None] - TIMES[None, :]) / memory
    wander = np.exp(-apart) * (1.0 + apart if smooth else 1.0)
    return np.asarray((1.0 - share) * np.eye(len(TIMES)) + share * wander)


NOISES = [(0.0, 0.1, False), (0.3, 0.05, False), (0.95, 0.4, False), (0.3, 0.05, True), (0.95, 0.4, True)]


def noise_grid() -> NoiseGrid:
    share, memory, smooth = zip(*NOISES, strict=True)
    return NoiseGrid(np.array(share), np.array(memory), np.array(smooth))


def test_whitened_columns_are_weighed_by_the_inverse_covariance() -> None:
    """Linear algebra: X' C^-1 X, and log det C, from the covariance matrix itself."""
    white, log_det = whitened(COLUMNS, TIMES, noise_grid())
    for number, noise in enumerate(NOISES):
        matrix = covariance(*noise)
        assert np.allclose(
            white[number].T @ white[number], COLUMNS.T @ np.linalg.solve(matrix, COLUMNS), rtol=1e-9
        )
        assert log_det[number] == pytest.approx(np.linalg.slogdet(matrix)[1], abs=1e-9)


def test_grid_begins_with_white_noise_and_reaches_twice_the_fall() -> None:
    noises = grid(TIMES)
    gap, length = np.median(np.diff(TIMES)), TIMES[-1] - TIMES[0]
    assert (noises.share[0], noises.smooth[0]) == (0.0, False)
    assert len(noises.share) == len(noises.memory) == len(noises.smooth)
    assert len(noises.share) == 1 + 2 * MEMORIES * (len(SHARES) - 1)
    assert set(noises.share[1:]) == set(SHARES[1:])
    assert noises.memory.min() == pytest.approx(gap)
    assert noises.memory.max() == pytest.approx(LONGEST * length)
    assert noises.memory[0] == pytest.approx(gap)
    steps = np.diff(np.log(np.unique(noises.memory.round(12))))
    assert np.allclose(steps, steps[0])
    assert noises.smooth.sum() == MEMORIES * (len(SHARES) - 1)
    short = grid(np.array([0.0, 0.02]))
    assert short.memory.max() == pytest.approx(0.06)


def residual_and_slopes() -> tuple[Floats, Floats]:
    return 1e-4 * COLUMNS[:, 0], COLUMNS[:, 1:]


def by_matrices(
    pull: Floats, precision: Floats, log_prior: float
) -> list[tuple[Floats, Floats, float, float]]:
    """Return step, covariance, log evidence and variance for every noise of the grid, from covariance matrices.

    Generalised least squares with a prior, the variance found in three rounds; restricted likelihood after
    Patterson & Thompson (1971), its constants left out, and Student's variance (n - p) / (n - p - 2).
    """
    residual, slopes = residual_and_slopes()
    n, p = slopes.shape
    noises, found = grid(TIMES), []
    for share, memory, smooth in zip(noises.share, noises.memory, noises.smooth, strict=True):
        matrix = covariance(float(share), float(memory), bool(smooth))
        inverse = np.linalg.inv(matrix)
        variance = float(np.var(residual))
        for _ in range(3):
            whole = slopes.T @ inverse @ slopes + variance * precision
            step = np.linalg.solve(whole, slopes.T @ inverse @ residual + variance * precision @ pull)
            rest = residual - slopes @ step
            variance = float(rest @ inverse @ rest) / (n - p)
        off = pull - step
        evidence = log_prior - 0.5 * (
            (n - p) * np.log(variance)
            + np.linalg.slogdet(matrix)[1]
            + np.linalg.slogdet(whole)[1]
            + (n - p)
            + off @ precision @ off
        )
        spread = np.linalg.inv(whole) * variance * (n - p) / (n - p - 2)
        found.append((step, spread, float(evidence), variance))
    return found


@pytest.mark.parametrize("strength", [0.0, 1e8])
def test_fit_is_generalised_least_squares_under_every_noise(strength: float) -> None:
    residual, slopes = residual_and_slopes()
    pull, precision = np.array([2e-5, -1e-5]), strength * np.array([[2.0, 0.5], [0.5, 1.0]])
    got = fit_under_all(residual, slopes, TIMES, pull, precision, 0.7)
    white = np.log(WHITE_WEIGHT / (1 - WHITE_WEIGHT) * (len(got.share) - 1))
    for number, (step, spread, evidence, variance) in enumerate(by_matrices(pull, precision, 0.7)):
        assert np.allclose(got.step[number], step, rtol=1e-6, atol=1e-12)
        assert np.allclose(got.covariance[number], spread, rtol=1e-6, atol=0.0)
        assert got.log_evidence[number] - (white if number == 0 else 0.0) == pytest.approx(evidence, abs=1e-6)
        assert got.sigma2[number] == pytest.approx(variance, rel=1e-6)


def test_a_track_without_scatter_has_next_to_none_of_it_stated() -> None:
    _, slopes = residual_and_slopes()
    got = fit_under_all(np.zeros(24), slopes, TIMES, np.zeros(2), np.zeros((2, 2)))
    assert np.all(got.sigma2 == 1e-18)
    assert np.allclose(got.step, 0.0)


def test_as_many_values_as_readings_still_gives_a_finite_answer() -> None:
    slopes = np.array([[1.0, 0.0], [0.0, 1.0]])
    got = fit_under_all(np.array([1e-3, 2e-3]), slopes, np.array([0.0, 0.02]), np.zeros(2), np.eye(2))
    assert np.isfinite(got.covariance).all()


def one_noise(step: list[float], spread: float, evidence: float, share: float, memory: float) -> FitsByNoise:
    return FitsByNoise(
        np.array([step]),
        spread * np.eye(2)[None],
        np.array([evidence]),
        np.array([spread]),
        np.array([share]),
        np.array([memory]),
    )


def test_average_is_the_mixture() -> None:
    """Law of total variance: the mean of the variances plus the variance of the means; by hand for weights 1/4, 3/4."""
    found = average(
        [one_noise([1.0, 0.0], 4.0, 5.0, 0.4, 0.1), one_noise([3.0, 2.0], 8.0, 5.0 + np.log(3.0), 0.8, 0.3)]
    )
    assert np.allclose(found.step, [2.5, 1.5])
    assert np.allclose(found.covariance, 7.0 * np.eye(2) + 0.75 * np.ones((2, 2)))
    assert found.sigma == pytest.approx(np.sqrt(7.0))
    assert found.wander_share == pytest.approx(0.7)
    assert found.memory == pytest.approx((0.25 * 0.4 * 0.1 + 0.75 * 0.8 * 0.3) / 0.7)
    assert found.model_weights == pytest.approx((0.25, 0.75))


def test_without_wander_there_is_no_memory() -> None:
    found = average([one_noise([1.0, 0.0], 4.0, 5.0, 0.0, 0.1)])
    assert (found.wander_share, found.memory) == (0.0, 0.0)
