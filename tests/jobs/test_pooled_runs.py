"""Runs and flies pooled: published values, what is shared does not average out, intervals hold the truth."""

from __future__ import annotations

import math

import numpy as np
import pytest
from measured_clips import CLIPS, measured

from flybench.bench.saved.refitting import saved_bytes
from flybench.catalog.shelf.run_records import RunSpeed
from flybench.jobs.shelf.record_of_result import OWN_SOURCES, record_of
from flybench.shop.speeds.pooling import FLY_SPREAD, pool_runs, pool_variant
from flybench.statistics.pooling import OwnAndShared, paule_mandel, pooled


def test_spread_between_groups_as_published() -> None:
    # Kacker (2004), Metrologia 41, 132-136, table 1, first row: s_PM = 0.8399 from nine values and variances,
    # as given in the tests of statsmodels 0.14 (stats/tests/test_meta.py); mean 62.4076199113286 and standard
    # error 0.338030602684471 of the same data by R metafor, method PM (results/results_meta.py there).
    values = np.array([61.00, 61.40, 62.21, 62.30, 62.34, 62.60, 62.70, 62.84, 65.90])
    variances = np.array([0.2025, 1.2100, 0.0900, 0.2025, 0.3844, 0.5625, 0.0676, 0.0225, 1.8225])
    spread = paule_mandel(values, np.sqrt(variances))
    assert f"{spread:.4f}" == "0.8399"
    assert spread**2 == pytest.approx(0.705395309224248, abs=1e-8)
    parts = [
        OwnAndShared(value, variance**0.5, 0.0, 0.0)
        for value, variance in zip(values, variances, strict=True)
    ]
    found = pooled(parts, spread / float(np.median(values)))  # what is expected is what is found
    assert found.value == pytest.approx(62.4076199113286, abs=1e-8)
    assert found.own == pytest.approx(0.338030602684471, abs=1e-8)


def test_no_spread_where_the_uncertainties_explain_the_scatter() -> None:
    # By definition: the weighted squares must exceed n - 1 for the spread to be above zero.
    assert paule_mandel(np.array([1.0, 1.1]), np.array([0.1, 0.1])) == 0.0
    assert paule_mandel(np.array([1.0]), np.array([0.1])) == 0.0
    # Two values with no uncertainty to speak of: their own variance, (a - b)^2 / 2.
    assert paule_mandel(np.array([1.0, 1.2]), np.array([1e-6, 1e-6])) == pytest.approx(0.2 / math.sqrt(2))


def test_one_run_stands_as_it_is() -> None:
    fly = pool_variant([[RunSpeed(0.3, 0.004, 0.002, 291.0, 4)]]).flies[0]
    assert (fly.speed, fly.uncertainty, fly.runs, fly.drops) == (0.3, pytest.approx(0.004), 1, 4)


def test_what_runs_share_does_not_average_down() -> None:
    run = RunSpeed(0.3, math.hypot(0.003, 0.002), 0.002, 291.0, 4)
    many = pool_runs([run] * 400)
    assert many.shared == pytest.approx(0.002)
    assert many.own < 0.0005
    assert many.uncertainty > 0.002
    flies = pool_variant([[run]] * 400)
    assert flies.uncertainty > 0.002


def test_more_runs_and_flies_never_know_less() -> None:
    run = RunSpeed(0.3, 0.003, 0.001, 291.0, 4)
    doubts = [pool_runs([run] * number).uncertainty for number in (2, 3, 5, 9)]
    assert doubts == sorted(doubts, reverse=True)
    flies = [pool_variant([[run]] * number).uncertainty for number in (1, 2, 3, 5, 9)]
    assert flies == sorted(flies, reverse=True)


def test_a_variant_known_by_one_fly_says_so() -> None:
    one = pool_variant([[RunSpeed(0.3, 0.003, 0.001, 291.0, 4)]])
    assert one.between is None
    assert one.uncertainty > FLY_SPREAD * 0.3
    two = pool_variant([[RunSpeed(speed, 0.003, 0.001, 291.0, 4)] for speed in (0.28, 0.32)])
    assert two.between == pytest.approx(0.04 / math.sqrt(2), rel=0.35)
    assert two.speed == pytest.approx(0.30, abs=0.0001)


@pytest.mark.parametrize("flies", [2, 3, 6])
def test_pooled_intervals_hold_the_truth(flies: int) -> None:
    """Two standard uncertainties must hold it about 95 times in a hundred, with flies that differ by 3 %."""
    random, truth, held = np.random.default_rng(flies), 0.3, 0
    for _ in range(600):
        common = 0.004 * random.normal()
        speeds = truth * (1 + 0.03 * random.normal(size=flies) + common + 0.006 * random.normal(size=flies))
        doubt = truth * math.hypot(0.006, 0.004)
        found = pool_variant([[RunSpeed(speed, doubt, 0.004 * truth, 291.0, 3)] for speed in speeds])
        held += abs(found.speed - truth) <= 2 * found.uncertainty
    assert held / 600 > 0.92


@pytest.mark.parametrize("name", CLIPS)
def test_the_shared_part_is_all_but_reading_and_repeating(name: str) -> None:
    run, tables = measured(name)
    told = record_of(run.result, tables, saved_bytes(run))
    assert set(OWN_SOURCES) <= {line.source for line in run.result.budget}
    assert told.shared_uncertainty_m_s is not None and told.free_uncertainty_m_s is not None
    assert 0 < told.shared_uncertainty_m_s < told.free_uncertainty_m_s
