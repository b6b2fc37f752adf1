"""The scatter of a track: the filter is the inverse of the noise's covariance, and the fit is generalised least squares."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import norm

from flybench.bench.fit.noise import FitsByNoise, average, fit_under_all
from flybench.bench.fit.noise_kinds import (
    BEATS,
    MEMORIES,
    PUSH_MEMORIES,
    PUSH_WEIGHT,
    PUSHES,
    ROCKING_DAMPING,
    ROCKING_WEIGHT,
    ROCKINGS,
    SHARES,
    NoiseGrid,
    grid,
    joined,
    prior_weights,
    pushes,
    rockings,
    tried,
)
from flybench.bench.fit.whitening import whitened

Floats = NDArray[np.float64]
TIMES = np.cumsum(np.random.default_rng(3).uniform(0.008, 0.03, 24))
COLUMNS = np.random.default_rng(4).normal(size=(24, 3))


def covariance(share: float, memory: float, smooth: bool, pushed: bool, rocking: bool) -> Floats:
    """Return white noise plus a wander, of unit variance together: first-order Markov, or Matern 3/2; or white noise
    plus a push, of unit variance together at the last frame; or white noise plus a rocking, of unit variance together."""
    if rocking:
        return np.asarray((1.0 - share) * np.eye(len(TIMES)) + share * swung(memory))
    if pushed:
        return np.asarray((1.0 - share) * np.eye(len(TIMES)) + share * carried(memory))
    apart = np.abs(TIMES[:, None] - TIMES[None, :]) / memory
    wander = np.exp(-apart) * (1.0 + apart if smooth else 1.0)
    return np.asarray((1.0 - share) * np.eye(len(TIMES)) + share * wander)


def carried(memory: float) -> Floats:
    """Return the covariance of the integral of a first-order Markov speed from the first frame on, its last value one.

    By hand, the double integral of exp(-|s - r|) from 0 to a and from 0 to b:
    2 min(a, b) - 1 + exp(-a) + exp(-b) - exp(-|a - b|).
    """
    a = (TIMES - TIMES[0]) / memory
    first, second = a[:, None], a[None, :]
    whole = (
        2 * np.minimum(first, second) - 1 + np.exp(-first) + np.exp(-second) - np.exp(-np.abs(first - second))
    )
    return np.asarray(whole / whole[-1, -1])


def swung(memory: float) -> Floats:
    """Return the correlation of an oscillator that white noise keeps up.

    exp(-z w t) (cos d t + z w / d sin d t), d = w (1 - z^2)^0.5, z w = 1 / memory (textbooks of vibration, from memory).
    """
    apart = np.abs(TIMES[:, None] - TIMES[None, :])
    whole = 1.0 / (ROCKING_DAMPING * memory)
    slower = whole * np.sqrt(1.0 - ROCKING_DAMPING**2)
    swing = np.cos(slower * apart) + ROCKING_DAMPING * whole / slower * np.sin(slower * apart)
    return np.asarray(np.exp(-apart / memory) * swing)


NOISES = [
    (0.0, 0.1, False, False, False),
    (0.3, 0.05, False, False, False),
    (0.95, 0.4, False, False, False),
    (0.3, 0.05, True, False, False),
    (0.95, 0.4, True, False, False),
    (0.5, 0.02, False, True, False),
    (0.97, 0.2, False, True, False),
    (0.999, 0.05, False, True, False),
    (0.5, 0.6, False, False, True),
    (0.98, 2.0, False, False, True),
]


def noise_grid() -> NoiseGrid:
    return NoiseGrid(*(np.array(part) for part in zip(*NOISES, strict=True)))


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
    """Ten memories from one frame to two falls, nine shares of a wander, rough and smooth (the product's judgement)."""
    noises = grid(TIMES)
    gap, length = np.median(np.diff(TIMES)), TIMES[-1] - TIMES[0]
    assert (noises.share[0], noises.smooth[0]) == (0.0, False)
    assert len(noises.share) == len(noises.memory) == len(noises.smooth)
    assert len(noises.share) == 1 + 2 * 10 * 9
    assert set(noises.share[1:]) == set(SHARES[1:])
    assert noises.memory.min() == pytest.approx(gap)
    assert noises.memory.max() == pytest.approx(2.0 * length)
    assert noises.memory[0] == pytest.approx(gap)
    steps = np.diff(np.log(np.unique(noises.memory.round(12))))
    assert np.allclose(steps, steps[0])
    assert noises.smooth.sum() == MEMORIES * (len(SHARES) - 1)
    assert not noises.pushed.any()
    short = grid(np.array([0.0, 0.02]))
    assert short.memory.max() == pytest.approx(0.06)


def test_pushes_are_a_grid_of_their_own() -> None:
    noises, length = pushes(TIMES), TIMES[-1] - TIMES[0]
    assert len(noises.share) == len(PUSHES) * PUSH_MEMORIES
    assert set(noises.share) == set(PUSHES)
    assert (noises.memory.min(), noises.memory.max()) == pytest.approx((0.025 * length, 0.4 * length))
    assert noises.pushed.all()
    assert not noises.smooth.any()
    whole = joined(grid(TIMES), noises)
    assert len(whole.share) == len(grid(TIMES).share) + len(noises.share)
    assert (whole.share[0], whole.share[-1]) == (0.0, PUSHES[-1])


def test_rockings_have_two_to_twelve_beats_in_a_fall_and_four_frames_each() -> None:
    """Period = 2 pi damping times the memory (algebra), as damped as it is."""
    fine = np.linspace(0.0, 1.0, 121)
    for times, shortest in ((fine, 1.0 / 12.0), (fine[::5], 4.0 / 24.0)):
        noises = rockings(times)
        periods = 2.0 * np.pi * ROCKING_DAMPING * noises.memory
        assert (periods.min(), periods.max()) == pytest.approx((shortest, 0.5))
        assert len(noises.share) == len(ROCKINGS) * BEATS
        assert noises.rocking.all()
        assert not (noises.pushed | noises.smooth).any()


def test_kinds_have_their_weights_however_many_are_tried() -> None:
    """Nine times all others together plain white (the product's judgement)."""
    noises = tried(TIMES)
    weights = prior_weights(noises)
    assert weights.sum() == pytest.approx(1.0)
    assert weights[0] / weights[1:].sum() == pytest.approx(9.0)
    assert weights[noises.pushed].sum() == pytest.approx(0.1 * PUSH_WEIGHT)
    assert weights[noises.rocking].sum() == pytest.approx(0.1 * ROCKING_WEIGHT)
    assert len(np.unique(weights.round(12))) == 4


def test_a_kind_that_is_not_tried_leaves_its_weight_to_the_others() -> None:
    for noises in (grid(TIMES), joined(grid(TIMES), rockings(TIMES))):
        weights = prior_weights(noises)
        assert (weights[0], weights.sum()) == pytest.approx((0.9, 1.0))
        rocking = 0.1 * ROCKING_WEIGHT / (1 - PUSH_WEIGHT) if noises.rocking.any() else 0.0
        assert weights[noises.rocking].sum() == pytest.approx(rocking)


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
    noises, found = tried(TIMES), []
    for share, memory, *kind in zip(*vars(noises).values(), strict=True):
        matrix = covariance(float(share), float(memory), *map(bool, kind))
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
    favoured = np.log(prior_weights(tried(TIMES)))
    for number, (step, spread, evidence, variance) in enumerate(by_matrices(pull, precision, 0.7)):
        assert np.allclose(got.step[number], step, rtol=1e-6, atol=1e-12)
        assert np.allclose(got.covariance[number], spread, rtol=1e-6, atol=0.0)
        assert got.log_evidence[number] - favoured[number] == pytest.approx(evidence, abs=1e-6)
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
    assert np.allclose(got.covariance, np.eye(2)), (
        "no reading is left to show the scatter: the prior alone is known"
    )


@pytest.mark.parametrize("precision", [np.zeros((2, 2)), np.diag([1.0, 0.0])])
def test_as_many_values_as_readings_without_a_prior_tell_nothing(precision: Floats) -> None:
    got = fit_under_all(np.array([1e-3, 2e-3]), np.eye(2), np.array([0.0, 0.02]), np.zeros(2), precision)
    assert np.isposinf(got.covariance).all()


def one_noise(step: list[float], spread: float, evidence: float, share: float, memory: float) -> FitsByNoise:
    return FitsByNoise(
        np.array([step]),
        np.where(np.eye(2) > 0, spread, 0.0)[None],
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


def test_two_deviations_hold_as_much_of_the_mixture_as_of_a_normal_law() -> None:
    """Against scipy's normal law, for a mixture with a wide and seldom part: far less than two of its deviations."""
    found = average(
        [
            one_noise([1.0, 0.0], 1.0, np.log(0.97), 0.0, 0.1),
            one_noise([2.0, 0.0], 400.0, np.log(0.03), 0.8, 0.3),
        ]
    )
    mean, reach = 0.97 * 1.0 + 0.03 * 2.0, 2.0 * np.sqrt(found.covering[0, 0])
    ends = np.array([mean + reach, mean - reach])
    inside = 0.97 * np.diff(norm.cdf(ends[::-1], 1.0, 1.0)) + 0.03 * np.diff(norm.cdf(ends[::-1], 2.0, 20.0))
    assert inside[0] == pytest.approx(1.0 - 2.0 * norm.sf(2.0), abs=1e-9)
    assert found.covering[0, 0] < 0.2 * found.covariance[0, 0]
    assert found.covering[1, 1] == pytest.approx(found.covariance[1, 1])
    share = np.sqrt(found.covering[0, 0] / found.covariance[0, 0])
    assert found.covering[0, 1] == pytest.approx(share * found.covariance[0, 1])


def test_the_interval_of_one_normal_law_is_its_own() -> None:
    found = average([one_noise([1.0, 0.0], 4.0, 0.0, 0.0, 0.1)])
    assert np.allclose(found.covering, 4.0 * np.eye(2), rtol=1e-9)


def test_what_is_not_told_stays_infinite() -> None:
    found = average([one_noise([1.0, 0.0], np.inf, 0.0, 0.0, 0.1)])
    assert np.isposinf(found.covering[0, 0])


def test_without_wander_there_is_no_memory() -> None:
    found = average([one_noise([1.0, 0.0], 4.0, 5.0, 0.0, 0.1)])
    assert (found.wander_share, found.memory) == (0.0, 0.0)


def test_shares_are_even_about_one_half_and_then_leave_less_and_less_of_the_white() -> None:
    """A wander and its white rest are tried alike, a twentieth to nineteen twentieths; then a hundredth, a five hundredth."""
    assert SHARES[0] == 0.0
    assert SHARES[1:8] + SHARES[7:0:-1] == pytest.approx(np.ones(7), rel=1e-12)
    assert 1.0 / (1.0 - SHARES[7:]) == pytest.approx([20.0, 100.0, 500.0])
    odds = np.log(SHARES[1:8] / (1.0 - SHARES[1:8]))
    assert np.diff(odds).max() < 1.25  # no gap wider than a factor of 3.5 in the odds
    assert np.diff(odds).min() > 0.8


@pytest.mark.parametrize(("count", "student"), [(3, 1.0), (4, 2.0), (5, 3.0), (7, 5 / 3)])
def test_few_readings_are_least_squares_with_the_wider_tails_of_student(count: int, student: float) -> None:
    """White noise, no prior: numpy's least squares, its residual variance over n - p, times (n - p) / (n - p - 2).

    Where that has no variance (n - p up to 2) one degree is counted, so n - p times.
    """
    rng = np.random.default_rng(11)
    slopes, residual = rng.normal(size=(count, 2)), rng.normal(size=count)
    step, [squares], *_ = np.linalg.lstsq(slopes, residual, rcond=None)
    got = fit_under_all(residual, slopes, 0.02 * np.arange(count), np.zeros(2), np.zeros((2, 2)))
    assert got.step[0] == pytest.approx(step)
    assert got.sigma2[0] == pytest.approx(squares / (count - 2))
    expected = np.linalg.inv(slopes.T @ slopes) * squares / (count - 2) * student
    assert np.allclose(got.covariance[0], expected, rtol=1e-9)


def test_weights_hang_on_differences_of_evidence_alone() -> None:
    """However large: e^2000 is no float, and yet the weights are 1/4 and 3/4."""
    found = average(
        [
            one_noise([1.0, 0.0], 4.0, 2000.0, 0.4, 0.1),
            one_noise([3.0, 2.0], 8.0, 2000.0 + np.log(3.0), 0.8, 0.3),
        ]
    )
    assert found.model_weights == pytest.approx((0.25, 0.75))
    assert np.allclose(found.step, [2.5, 1.5])


def test_three_models_share_as_their_evidence_and_one_alone_has_all() -> None:
    """By hand: evidences of 1, 2 and 1 are shares of 1/4, 2/4 and 1/4; a model of two noises counts with both."""
    one, two = (one_noise([1.0, 0.0], 4.0, np.log(size), 0.4, 0.1) for size in (1.0, 2.0))
    both = FitsByNoise(
        *(
            np.concatenate([getattr(model, name) for model in (two, two)])
            for name in ("step", "covariance", "log_evidence", "sigma2", "share", "memory")
        )
    )
    assert average([one, two, one]).model_weights == pytest.approx((0.25, 0.5, 0.25))
    assert average([one, both, one, two]).model_weights == pytest.approx((1 / 8, 4 / 8, 1 / 8, 2 / 8))
    assert average([both]).model_weights == pytest.approx((1.0,))


def test_without_a_prior_nothing_is_added_to_the_evidence() -> None:
    residual, slopes = residual_and_slopes()
    nothing = np.zeros(2), np.zeros((2, 2))
    default = fit_under_all(residual, slopes, TIMES, *nothing).log_evidence
    assert default == pytest.approx(fit_under_all(residual, slopes, TIMES, *nothing, 0.0).log_evidence)
    more = fit_under_all(residual, slopes, TIMES, *nothing, 0.7).log_evidence
    assert more - default == pytest.approx(np.full(len(default), 0.7))
