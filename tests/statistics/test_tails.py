"""Shares of normal and Student's distributions against scipy's, which the product does not load for them."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr, stdtr

from flybench.statistics.tails import half_width, normal_below, student_beyond


def test_normal_shares_are_scipys() -> None:
    values = np.linspace(-9.0, 9.0, 181)
    assert np.allclose(normal_below(values), ndtr(values), rtol=0.0, atol=1e-15)


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 8, 13, 40])
def test_students_tails_are_scipys(freedom: int) -> None:
    for value in (-6.0, -1.5, 0.0, 0.3, 2.0, 12.0):
        assert student_beyond(value, freedom) == pytest.approx(2.0 * stdtr(freedom, -abs(value)), abs=1e-14)


def test_half_the_interval_of_two_laws() -> None:
    """One alone: two deviations. Two alike, far apart, so that what lies outside is their outer tails: by scipy."""
    assert half_width(np.array([1.0]), np.array([0.0]), np.array([3.0])) == pytest.approx(6.0, rel=1e-8)
    found = half_width(np.array([0.5, 0.5]), np.array([-5.0, 5.0]), np.array([1.0, 1.0]))
    assert ndtr(found - 5.0) - ndtr(-found - 5.0) == pytest.approx(1.0 - 2.0 * ndtr(-2.0), abs=1e-9)
    assert half_width(np.array([1.0, 1e-12]), np.array([0.0, 50.0]), np.array([3.0, 100.0])) == pytest.approx(
        6.0, rel=1e-8
    )
