"""Spreads learned from groups: against the conjugate law in closed form, and against integration.

Without doubts of the values' own the answer is in every textbook of Bayesian statistics: s^2 is (nu s_0^2 + SS) / chi^2 with
nu + sum (n - 1) degrees of freedom. With them, the moments are integrated here by scipy.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import polygamma

from flybench.statistics.spread import Group, Spread, least_spread, own_spread, seen


@pytest.mark.parametrize(
    "sizes", [(2,), (3, 2), (2,) * 40, (6, 1, 1)], ids=["pair", "two groups", "many pairs", "lone ones"]
)
def test_exact_values_follow_the_conjugate_law(sizes: tuple[int, ...]) -> None:
    random = np.random.default_rng(len(sizes))
    groups = [Group(random.normal(5.0, 0.03, size), np.zeros(size)) for size in sizes]
    squares = sum(float(np.sum((one.values - one.values.mean()) ** 2)) for one in groups)
    freedom = 2.0 + sum(size - 1 for size in sizes)
    found = seen(Spread(0.015, 2.0), groups)
    assert found.freedom == pytest.approx(freedom, rel=0.02)
    assert found.size == pytest.approx(((2.0 * 0.015**2 + squares) / freedom) ** 0.5, rel=0.01)


def test_doubts_of_the_values_own_are_taken_out_as_integration_has_it() -> None:
    values, own = np.array([0.0, 0.03, 0.01]), np.array([0.01, 0.012, 0.02])

    def density(log: float) -> float:
        variance = own**2 + np.exp(2 * log)
        mean = np.sum(values / variance) / np.sum(1 / variance)
        likelihood = np.prod(variance**-0.5) * np.sum(1 / variance) ** -0.5
        misfit = np.exp(-0.5 * np.sum((values - mean) ** 2 / variance))
        prior = np.exp(-4.0 * log - 2.0 * (0.015 / np.exp(log)) ** 2)
        return float(likelihood * misfit * prior * 1e-12)

    low, high = np.log(0.0005), np.log(0.5)
    whole = quad(density, low, high, limit=200)[0]
    mean = quad(lambda log: log * density(log), low, high, limit=200)[0] / whole
    variance = quad(lambda log: (log - mean) ** 2 * density(log), low, high, limit=200)[0] / whole
    found = seen(Spread(0.015, 4.0), [Group(values, own)])
    assert polygamma(1, found.freedom / 2) / 4 == pytest.approx(variance, rel=0.01)


def test_values_of_their_own_doubt_alone_teach_next_to_nothing() -> None:
    found = seen(Spread(0.015, 2.0), [Group(np.zeros(2), np.full(2, 0.5))])
    assert found.size == pytest.approx(0.015, rel=0.05)
    assert found.freedom == pytest.approx(2.0, abs=0.3)
    assert seen(Spread(0.015, 2.0), []) == Spread(0.015, 2.0)
    assert seen(Spread(0.015, 2.0), [Group(np.array([0.3]), np.array([0.01]))]) == Spread(0.015, 2.0)


def test_values_that_agree_lessen_the_spread_and_make_it_surer() -> None:
    expected = Spread(0.015, 2.0)
    for count in (2, 3, 6):
        found = seen(expected, [Group(np.zeros(count), np.full(count, 0.003))])
        assert found.size < expected.size
        assert found.freedom > expected.freedom
        expected_next = found
    assert expected_next.freedom == pytest.approx(7.0, abs=0.4)


def test_what_a_fly_shows_itself_is_never_less_than_its_scatter() -> None:
    """Two exact values d apart scatter by d / sqrt 2, however sure others make it that such values agree."""
    group = Group(np.array([0.0, 0.14]), np.full(2, 1e-6))
    assert seen(Spread(0.001, 10.0), [group]).size < 0.05
    for spread in (own_spread, least_spread):
        assert spread(Spread(0.001, 10.0), group).size == pytest.approx(0.14 / 2**0.5)


def test_scatter_that_chance_brings_about_is_no_reason_to_leave_what_is_expected() -> None:
    """By hand: believed up to twice, by itself from three times on, and half way between at two and a half."""
    expected = Spread(0.01, 10.0)
    found = [expected.beside(scatter).size for scatter in (0.0, 0.02, 0.025, 0.03, 0.08)]
    assert found == pytest.approx([0.01, 0.01, 0.02, 0.03, 0.08])
    assert {expected.beside(scatter).freedom for scatter in (0.0, 0.08)} == {10.0}


def test_one_of_many_is_known_no_better_than_the_many_are_alike() -> None:
    """By hand, 1 / nu' = 1 / nu + (1 - 2 / nu) / 10: nothing learned leaves 2; 10 are 1 / 0.18; endlessly many leave 10."""
    found = [Spread(0.02, freedom).of_one(10.0, 2.0).freedom for freedom in (2.0, 10.0, 1e9)]
    assert found == pytest.approx([2.0, 1 / 0.18, 10.0])
