"""Pooling against published examples, closed forms and sums done apart."""

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import ndtr

from flybench.statistics.pooling import Pooled, paule_mandel, pool, weights

# Kacker (2004), Metrologia 41, 132-136, table 1: nine values and variances, as given in the tests of statsmodels 0.14
# (stats/tests/test_meta.py).
VALUES = np.array([61.00, 61.40, 62.21, 62.30, 62.34, 62.60, 62.70, 62.84, 65.90])
VARIANCES = np.array([0.2025, 1.2100, 0.0900, 0.2025, 0.3844, 0.5625, 0.0676, 0.0225, 1.8225])


def test_spread_between_groups_as_published() -> None:
    """Kacker: s_PM = 0.8399; R metafor, method PM (results/results_meta.py there): mean, standard error."""
    spread = paule_mandel(VALUES, np.sqrt(VARIANCES))
    assert f"{spread:.4f}" == "0.8399"
    assert spread**2 == pytest.approx(0.705395309224248, abs=1e-8)
    shares = weights(np.sqrt(VARIANCES), spread)
    assert shares @ VALUES == pytest.approx(62.4076199113286, abs=1e-8)
    assert np.sqrt(shares**2 @ (VARIANCES + spread**2)) == pytest.approx(0.338030602684471, abs=1e-8)


def test_no_spread_where_the_uncertainties_explain_the_scatter() -> None:
    # By definition: the weighted squares must exceed n - 1 for the spread to be above zero.
    assert paule_mandel(np.array([1.0, 1.1]), np.array([0.1, 0.1])) == 0.0
    assert paule_mandel(np.array([1.0]), np.array([0.1])) == 0.0
    # Two values with no uncertainty to speak of: their own variance, (a - b)^2 / 2.
    assert paule_mandel(np.array([1.0, 1.2]), np.array([1e-6, 1e-6])) == pytest.approx(0.2 / math.sqrt(2))


def test_two_equal_doubts_leave_the_rest_of_the_variance() -> None:
    """By hand: sum of squares / (u^2 + s^2) = n - 1, so s^2 is the sample variance less u^2."""
    values = np.array([1.0, 1.3, 1.7, 2.4])
    found = paule_mandel(values, np.full(4, 0.2))
    assert found**2 == pytest.approx(np.var(values, ddof=1) - 0.04, rel=1e-9)


def _by_quadrature(values: np.ndarray, doubts: np.ndarray, scale: float) -> tuple[float, float, float]:  # type: ignore[type-arg]
    """Return mean of mu, half the half-width about it that holds what two deviations of a normal law hold, and mean of
    s, by adaptive quadrature over s (scipy's quad) and scipy's root finder; Student's t of two degrees of freedom goes
    as (2 + x^2)^-1.5."""

    def given(s: float) -> tuple[float, float, float]:
        weight = 1 / (doubts**2 + s**2)
        centre = float(weight @ values / weight.sum())
        misfit = float(weight @ (values - centre) ** 2)
        likelihood = math.exp(-0.5 * misfit) * math.sqrt(float(np.prod(weight)) / float(weight.sum()))
        return likelihood * (2 + (s / scale) ** 2) ** -1.5, centre, float(weight.sum()) ** -0.5

    def over(what) -> float:  # type: ignore[no-untyped-def]
        parts = [0.0, 0.3 * scale, 3.0 * scale, 30.0 * scale, 200.0 * scale]
        ranges = pairwise(parts)
        return sum(float(quad(what, *ends, epsabs=0, epsrel=1e-9, limit=400)[0]) for ends in ranges)

    total = over(lambda s: given(s)[0])
    mean = over(lambda s: given(s)[0] * given(s)[1]) / total

    def outside(half: float) -> float:
        def within(s: float) -> float:
            weight, centre, width = given(s)
            return weight * float(ndtr((mean + half - centre) / width) - ndtr((mean - half - centre) / width))

        return over(within) / total - (1 - 2 * ndtr(-2.0))

    half = brentq(outside, 1e-6, 1.0, xtol=1e-7)
    return mean, half / 2, over(lambda s: s * given(s)[0]) / total


@pytest.mark.parametrize(
    ("values", "doubts"),
    [
        ([0.300, 0.310], [0.002, 0.003]),
        ([0.300, 0.301, 0.299, 0.304], [0.001, 0.002, 0.004, 0.002]),
        ([0.31], [0.001]),
        ([0.30, 0.36, 0.33], [0.004, 0.002, 0.003]),
        ([0.300, 0.315], [0.0008, 0.006]),  # the spread decides which counts
    ],
)
def test_averaging_over_the_spread_is_the_integral(values: list[float], doubts: list[float]) -> None:
    """The model's integral (DerSimonian & Laird 1986; half-t prior, Gelman 2006) by another quadrature."""
    given, own = np.array(values), np.array(doubts)
    found = pool(given, own, 0.015)
    mean, deviation, spread = _by_quadrature(given, own, 0.015 * float(np.median(given)))
    assert found.value == pytest.approx(mean, rel=2e-4)
    assert found.standard_uncertainty == pytest.approx(deviation, rel=0.01)
    assert found.spread == pytest.approx(spread, rel=0.02)


def test_what_is_within_and_what_is_between_make_the_whole() -> None:
    """Within: 1 / sqrt(sum 1 / u^2), as if there were no spread; the rest of the variance is between (by hand)."""
    own = np.array([0.003, 0.004])
    found = pool(np.array([0.30, 0.31]), own, 0.015)
    assert found.within == pytest.approx(0.003 * 0.004 / 0.005)
    assert found.between > found.within
    assert found.standard_uncertainty == pytest.approx(math.hypot(found.within, found.between))
    assert found.count == 2


def test_values_that_agree_and_are_well_known_leave_little_between() -> None:
    few = pool(np.array([0.300, 0.300]), np.array([3e-5, 3e-5]), 0.015)
    many = pool(np.full(12, 0.300), np.full(12, 3e-5), 0.015)
    assert many.between < few.between / 3
    assert few.between > 1e-4  # two that agree by luck do not pass for certainty


def test_values_that_contradict_each_other_clearly_are_pooled_all_the_same() -> None:
    """Two drops a fifth apart, known to 1 in 30 000: the likelihood of no spread is e^-9 000 000, and no number breaks."""
    found = pool(np.array([0.30, 0.36]), np.array([1e-5, 1e-5]), 0.015)
    assert found.value == pytest.approx(0.33)
    assert 0.01 < found.between < 0.06


@pytest.mark.parametrize(("count", "freedom"), [(1, 1.0), (2, 1.0), (3, 2.0), (9, 8.0)])
def test_degrees_of_freedom_of_a_spread(count: int, freedom: float) -> None:
    """One less than values (any textbook); a single one has that of its prior (judgement)."""
    assert Pooled(1.0, 0.1, 0.1, 0.1, count).degrees_of_freedom == freedom


def test_between_grows_as_values_differ() -> None:
    own = np.array([0.001, 0.001, 0.001])
    doubts = [
        pool(np.array([0.30 - off, 0.30, 0.30 + off]), own, 0.015).between for off in (0.0, 0.005, 0.02)
    ]
    assert doubts == sorted(doubts)
    assert doubts[2] > 2 * doubts[0]
    # Three values 0.02 apart, hardly in doubt: at most their standard error, 0.02 / sqrt(3), times half of Student's
    # factor for two degrees of freedom (JCGM 100:2008, table G.2: 4.53 for 95.45 %), at least half that error.
    assert 0.5 * 0.02 / math.sqrt(3) < doubts[2] < 4.53 / 2 * 0.02 / math.sqrt(3)
