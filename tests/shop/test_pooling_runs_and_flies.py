"""Runs pooled to a fly and flies to a variant, worked out by hand.

The expected spreads are the product's own judgements, 1.5 % between runs and 4 % between flies; the arithmetic is that of
random effects with weights 1 / (u^2 + s^2), s^2 = s_0^2 / n where nothing scatters. Speeds are invented.
"""

from __future__ import annotations

import math

import pytest

from flybench.catalog.shelf.run_records import PooledFly, RunSpeed
from flybench.shop.speeds.pooling import pool_runs, pool_variant


def run(
    speed: float, uncertainty: float, shared: float, temperature: float = 291.15, drops: int = 4
) -> RunSpeed:
    return RunSpeed(speed, uncertainty, shared, temperature, drops)


def test_a_single_run_keeps_its_two_parts() -> None:
    """3, 4, 5: 0.005 whole of which 0.003 is shared leaves 0.004 of its own."""
    found = pool_runs([run(0.3, 0.005, 0.003)])
    assert (found.value, found.own, found.shared, found.spread) == pytest.approx((0.3, 0.004, 0.003, 0.0))
    assert found.uncertainty == pytest.approx(0.005)


@pytest.mark.parametrize("shared", [0.005, 0.006])
def test_a_run_of_which_all_is_shared_keeps_a_ten_thousandth_of_its_own(shared: float) -> None:
    found = pool_runs([run(0.3, 0.005, shared)])
    assert found.own == pytest.approx(0.3e-4)
    assert found.shared == shared


def test_two_runs_that_agree_have_the_expected_spread_of_runs() -> None:
    """s^2 = (0.015 x 0.3)^2 / 2, and u^2 = (0.004^2 + s^2) / 2; the shared 0.003 stays."""
    found = pool_runs([run(0.3, 0.005, 0.003), run(0.3, 0.005, 0.003)])
    spread = 0.015 * 0.3 / math.sqrt(2)
    assert found.spread == pytest.approx(spread)
    assert found.own == pytest.approx(math.sqrt((0.004**2 + spread**2) / 2))
    assert found.shared == pytest.approx(0.003)


def test_one_fly_stands_for_its_variant_with_the_expected_spread_of_flies() -> None:
    """u^2 = 0.004^2 + (0.04 x 0.3)^2 + 0.003^2; nobody knows how flies of it differ."""
    found = pool_variant([[run(0.3, 0.005, 0.003)]])
    assert found.speed == pytest.approx(0.3)
    assert found.uncertainty == pytest.approx(math.sqrt(0.004**2 + 0.012**2 + 0.003**2))
    assert found.between is None
    assert found.flies == [PooledFly(pytest.approx(0.3), pytest.approx(0.005), 291.15, 1, 4)]  # type: ignore[arg-type]


def test_two_flies_tell_how_they_differ() -> None:
    """0.04 apart and sharp: Paule and Mandel's s^2 = d^2 / 2 - u^2 is more than the expected spread, so it stands."""
    found = pool_variant([[run(0.30, 0.001, 0.0)], [run(0.34, 0.001, 0.0)]])
    assert found.speed == pytest.approx(0.32)
    assert found.between == pytest.approx(math.sqrt(0.04**2 / 2 - 0.001**2), rel=1e-6)
    assert found.uncertainty == pytest.approx(0.02, rel=1e-6)


def test_runs_drops_and_water_are_counted_and_averaged_over_runs() -> None:
    """The water of the variant is the mean over its three runs, not over its two flies."""
    flies = [
        [run(0.3, 0.005, 0.003, 290.0, 3), run(0.3, 0.005, 0.003, 292.0, 5)],
        [run(0.3, 0.005, 0.003, 294.0, 6)],
    ]
    found = pool_variant(flies)
    assert found.temperature == pytest.approx(292.0)
    assert [(one.temperature, one.runs, one.drops) for one in found.flies] == [(291.0, 2, 8), (294.0, 1, 6)]
