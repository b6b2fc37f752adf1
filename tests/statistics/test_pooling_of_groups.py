"""Pooling values that scatter: against the formulas of random effects worked out otherwise.

Two values far apart against their own doubts: Paule and Mandel's spread follows in closed form. Numbers are invented.
"""

from __future__ import annotations

import numpy as np
import pytest

from flybench.statistics.pooling import paule_mandel, pool


def test_two_values_have_their_spread_in_closed_form() -> None:
    """Equal doubts u, d apart: (d^2 / 2) / (u^2 + s^2) = 1, so s^2 = d^2 / 2 - u^2."""
    found = paule_mandel(np.array([0.30, 0.34]), np.array([0.01, 0.01]))
    assert found == pytest.approx((0.04**2 / 2 - 0.01**2) ** 0.5, rel=1e-9)


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
