"""Pooling values that scatter: against the formulas of random effects worked out otherwise.

Two values far apart against their own doubts: Paule and Mandel's spread follows in closed form. Numbers are invented.
"""

from __future__ import annotations

import numpy as np
import pytest

from flybench.statistics.pooling import OwnAndShared, paule_mandel, pool, pooled


def test_two_values_have_their_spread_in_closed_form() -> None:
    """Equal doubts u, d apart: (d^2 / 2) / (u^2 + s^2) = 1, so s^2 = d^2 / 2 - u^2."""
    found = paule_mandel(np.array([0.30, 0.34]), np.array([0.01, 0.01]))
    assert found == pytest.approx((0.04**2 / 2 - 0.01**2) ** 0.5, rel=1e-9)


def test_an_expected_spread_counts_as_one_degree_of_freedom() -> None:
    """By hand, three values that agree: s_PM = 0, so s^2 = s_0^2 / 3; with u: 1 / total = (u^2 + s^2) / 3."""
    found = pooled([OwnAndShared(0.3, 0.004, 0.003, 0.0)] * 3, 0.02)
    spread = 0.02 * 0.3 / 3**0.5
    assert found.spread == pytest.approx(spread)
    assert found.own == pytest.approx(((0.004**2 + spread**2) / 3) ** 0.5)
    assert (found.value, found.shared) == (pytest.approx(0.3), pytest.approx(0.003))
    assert found.uncertainty == pytest.approx(np.hypot(found.own, 0.003))


def test_what_is_found_is_never_blended_down() -> None:
    """By hand, two values 0.04 apart and exact to 0.001: s_PM^2 = 8e-4 - 1e-6, more than half of it and of s_0^2."""
    found = pooled([OwnAndShared(value, 0.001, 0.0, 0.0) for value in (0.30, 0.34)], 0.01)
    assert found.spread == pytest.approx((8e-4 - 1e-6) ** 0.5, rel=1e-6)


def test_weights_are_those_of_own_part_and_spread_and_shares_go_with_them() -> None:
    """By hand: u^2 + s^2 of the one is a third of the other's, so it counts three quarters."""
    spread = 0.02 * 0.3 / 2**0.5
    wide = (3 * (0.002**2 + spread**2) - spread**2) ** 0.5
    found = pooled([OwnAndShared(0.3, 0.002, 0.004, 0.0), OwnAndShared(0.3, wide, 0.008, 0.0)], 0.02)
    assert found.shared == pytest.approx(0.75 * 0.004 + 0.25 * 0.008)


@pytest.mark.parametrize("values", [[0.30], [0.30, 0.31], [0.28, 0.30, 0.33, 0.31]])
def test_averaging_over_the_spread_is_what_integration_gives(values: list[float]) -> None:
    """Mean and interval of the mixture over s, half Student's t, drawn: 400 000 spreads from the prior, weighted by their
    likelihood, in place of a sum of 241."""
    y, u, scale = np.array(values), np.full(len(values), 0.004), 0.015 * float(np.median(values))
    rng = np.random.default_rng(len(values))
    s = scale * np.abs(rng.standard_t(2, 400_000))
    width = np.sqrt((0.004**2 + s**2) / len(y))
    likelihood = np.exp(-0.5 * np.sum((y - y.mean()) ** 2) / (0.004**2 + s**2)) * width ** (1 - len(y))
    centre = float(y.mean())
    drawn = np.sort(
        np.abs(rng.choice(width, 400_000, p=likelihood / likelihood.sum()) * rng.normal(size=400_000))
    )
    half = float(drawn[int(0.954499736 * len(drawn))])
    found = pool(y, u, 0.015)
    assert found.value == pytest.approx(centre, rel=1e-4)
    assert found.standard_uncertainty == pytest.approx(half / 2, rel=1e-2)
    assert found.within == pytest.approx(0.004 / len(values) ** 0.5)
    assert found.between == pytest.approx((half**2 / 4 - found.within**2) ** 0.5, rel=2e-2)
    assert found.degrees_of_freedom == max(len(values) - 1, 1)


def test_very_many_very_sure_values_do_not_overflow() -> None:
    """A hundred values known to a millionth: their likelihood is e^1300, more than a float holds; the mean is theirs."""
    found = pool(np.full(100, 0.3), np.full(100, 1e-6), 0.015)
    assert found.value == pytest.approx(0.3)
    assert found.within == pytest.approx(1e-7)
    assert found.standard_uncertainty < 1e-4
