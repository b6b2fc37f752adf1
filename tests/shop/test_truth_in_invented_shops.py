"""Numbers of invented shops against their truth; ``benchmarks/truth.py`` is the long version.

The shops obey laws that are not the model's (``shop_worlds``). 95.45 % is what k = 2 promises; the limits leave three
standard deviations of what so few shops show.
"""

from __future__ import annotations

import numpy as np
import pytest
from measured_worlds import held, twins_told_apart
from shop_worlds import World, shop_of_world


@pytest.mark.slow
@pytest.mark.parametrize(("spread", "law"), [(0.015, "drifting"), (0.03, "skewed"), (0.05, "t-tailed")])
def test_a_fly_s_interval_holds_the_truth_however_much_runs_differ(spread: float, law: str) -> None:
    found = [one for seed in range(6) for one in held(shop_of_world(World(spread, law), seed))]
    once = [inside for runs, inside in found if runs == 1]
    assert np.mean(once) >= 0.80  # of 24; a single run was right in 33 to 88 %
    assert 0.91 <= np.mean([inside for _, inside in found]) <= 0.995


@pytest.mark.slow
def test_equal_flies_are_seldom_told_apart() -> None:
    apart: list[bool] = []
    for seed in range(12):
        world = World(0.03, "lognormal", runs=(1, 1, 1, 1, 2, 2), twins=True)
        apart += twins_told_apart(shop_of_world(world, seed))
    assert (
        np.mean(apart) <= 0.15
    )  # of 144; 5 % are promised, and shops differ by 12 %, so that 12 of them tell it to 3 %
