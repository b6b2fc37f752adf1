"""Spreads of unlike groups, against plain draws weighted by how likely they make what was seen, and against known truth."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from flybench.quantity import Floats
from flybench.statistics.spread import Group
from flybench.statistics.unlike import unlike_variances

APART = (0.1, 0.3, 0.6, 1.0, 1.5, 2.1)
"""The product's judgement of how unlike groups may be [-]."""


def groups(spreads: Floats, noise: float, seed: int) -> list[Group]:
    """Return pairs of values, one pair a spread, each value seen with a noise."""
    draw = np.random.default_rng(seed)
    size = np.hypot(spreads, noise)
    return [Group(one * draw.normal(size=2), np.full(2, noise)) for one in size]


def test_one_pair_of_values_by_weighted_draws() -> None:
    """Common size and unlikeness drawn from what is believed beforehand, weighted by the normal density of the difference."""
    draw = np.random.default_rng(1)
    common, apart = 0.64 * draw.normal(size=400_000), draw.choice(APART, size=400_000)
    seen, other = (0.04 * np.exp(common + apart * draw.normal(size=common.size)) for _ in range(2))
    weight = norm.pdf(0.01, scale=np.sqrt(2) * np.hypot(seen, 0.003))
    order = np.argsort(other)
    upto = np.cumsum(weight[order]) / weight.sum()
    told = np.sqrt(unlike_variances(0.04, [Group(np.array([0.0, 0.01]), np.full(2, 0.003))]))
    for place in (3, 11, 20):
        expected = other[order][np.searchsorted(upto, (place + 0.5) / 24)]
        assert np.log(told[place]) == pytest.approx(np.log(expected), abs=0.1)


def test_groups_that_are_alike_are_found_to_be() -> None:
    told = np.sqrt(unlike_variances(0.04, groups(np.full(150, 0.02), 0.004, 2)))
    assert np.median(told) == pytest.approx(0.02, rel=0.15)
    assert told[21] / told[2] < 2.5


def test_few_groups_that_differ_widely_are_not_taken_for_the_rule() -> None:
    """Three of four groups of 0.5 %, the rest of 10 %: one spread for all would be 5 %, which none has."""
    spreads = np.where(np.arange(120) % 4 == 0, 0.10, 0.005)
    told = np.sqrt(unlike_variances(0.04, groups(spreads, 0.003, 3)))
    assert 0.55 < np.mean(told < 0.02) < 0.9
    assert told.max() > 0.05


def test_nothing_seen_is_what_is_usual() -> None:
    told = unlike_variances(0.04, [Group(np.zeros(1), np.ones(1))])
    assert np.exp(np.mean(np.log(told))) ** 0.5 == pytest.approx(0.04, rel=0.05)
    assert np.all(np.diff(told) > 0)
