"""What a rig is to do: the useful part of a drift, by hand, and what cannot be wanted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from rigging import STILL, chain, weightless

from flybench.errors import BadValueError
from flybench.quantity import Floats, Measured
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.watchers import Tally
from flybench.rig.odds.goal import Goal, Outcomes, outcomes_of
from flybench.rig.tackle.leader import Hold, Tackle
from flybench.rig.water.current import Current
from flybench.rig.water.level import FishLevel

WATER = Current(Measured(1.2, 0.1), Measured(0.5, 0.05), 283.15)
TACKLE = Tackle(0.15e-3, 2.0)


def rigs(count: int) -> Batch:
    """Return rigs of one fly on a line that goes at 0.5 m/s."""
    one = chain([1.0], [1], weightless(), STILL, [0.02], [1e-3], [3e-4], floor=1.0, lead=0.5, upstream=True)
    return replace(one, floor=np.ones(count), slack=np.zeros(count), lead=np.full(count, 0.5))


def came(reached: Floats, goal: Goal, seconds: float = 10.0, sets: int = 1) -> Outcomes:
    """Return the outcomes of points that came down after these times [s], 1 m a second, and touched a second later."""
    tally = Tally(rigs(len(reached)), goal.level, seconds)
    tally.reached, tally.way, tally.touched = reached, reached * 1.0, reached + 1.0
    return outcomes_of(tally, rigs(len(reached)), goal, seconds, sets)


def test_flies_are_landed_so_that_four_of_five_are_down_and_fished_along_the_stretch() -> None:
    """By hand: of 1 to 5 s, four have come after 4 s and 4 m; 2 m at 0.5 m/s take 4 s, until 8 s; all touch by 6 s."""
    found = came(np.arange(1.0, 6.0), Goal())
    assert (found.landing[0], found.begin[0]) == (4.0, 4.0)
    assert found.down[0].tolist() == [1, 1, 1, 1, 0]
    assert found.touched[0].tolist() == [1, 1, 1, 1, 1]
    assert came(np.arange(1.0, 6.0), Goal(stretch=0.2)).touched[0].tolist() == [1, 1, 1, 1, 0]


def test_what_is_not_down_in_time_has_no_landing_and_is_fished_at_the_last() -> None:
    """By hand: of 10 s the last 4 s are kept for the stretch, and two of five are down before."""
    found = came(np.array([1.0, 5.0, 7.0, 8.0, np.inf]), Goal())
    assert (found.landing[0], found.begin[0]) == (np.inf, 6.0)
    assert found.down[0].tolist() == [1, 1, 0, 0, 0]
    assert found.touched[0].tolist() == [1, 1, 1, 1, 0]


def test_a_drift_of_given_time_is_fished_to_its_end() -> None:
    """By hand: of 8 s at least a quarter is looked at; the second set is down after 2 s."""
    found = came(np.array([7.0, 7.0, 2.0, 2.0]), Goal(seconds=8.0), seconds=8.0, sets=2)
    assert found.begin.tolist() == [6.0, 2.0]
    assert found.touched.tolist() == [[1, 1], [1, 1]]
    assert found.landing.tolist() == [np.inf, 2.0]


@pytest.mark.parametrize(
    ("goal", "tackle", "seconds"),
    [
        (Goal(), TACKLE, 10.0 + 4.0),  # 5 m at 0.5 m/s, then 2 m at 0.5 m/s
        (Goal(farthest=4.0), TACKLE, 8.0 + 4.0),  # 4 m at 0.5 m/s
        (
            Goal(farthest=20.0),
            replace(TACKLE, hold=Hold.STILL),
            15.0,
        ),  # 20 s and 8 s, but never more than 15 s
        (Goal(farthest=1.0), replace(TACKLE, hold=Hold.LED, lead_speed=0.25), 4.0 + 8.0),
        (Goal(seconds=6.0), TACKLE, 6.0),
    ],
)
def test_how_long_is_looked_at_follows_from_the_water(goal: Goal, tackle: Tackle, seconds: float) -> None:
    assert goal.longest(WATER, tackle) == pytest.approx(seconds)


def test_how_far_upstream_is_looked_is_what_slow_water_leaves() -> None:
    """By hand: in the 15 s that are waited for flies, a line at 0.25 m/s goes 3.75 m."""
    assert Goal().farthest_looked(WATER, TACKLE) == pytest.approx(5.0)
    slow = replace(TACKLE, hold=Hold.LED, lead_speed=0.25)
    assert Goal().farthest_looked(WATER, slow) == pytest.approx(3.75)
    assert Goal().farthest_looked(WATER, replace(TACKLE, hold=Hold.STILL)) == 0.0


def test_a_light_fly_in_slow_thin_water_is_waited_for() -> None:
    """By hand: at 0.05 to 0.08 m/s, as a fly of 8 cm/s sinks on its leader, 0.4 m take 5 to 8 s; then 2 m at 0.3 m/s."""
    thin = replace(WATER, depth=Measured(0.4, 0.04), surface_speed=Measured(0.3, 0.03))
    assert 5.0 + 6.7 < Goal().longest(thin, TACKLE) < 8.0 + 6.7


def test_the_stretch_takes_one_to_eight_seconds() -> None:
    passing = Goal(stretch=2.0).passing(np.array([0.0, 0.1, 0.5, 3.0]))
    assert passing.tolist() == [8.0, 8.0, 4.0, 1.0]


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (
            lambda: Goal(touches=1.1),
            "touches: 1.1 is outside 0 to 1. Give a share of the drifts, such as 0.3.",
        ),
        (
            lambda: Goal(down=-0.1),
            "down: -0.1 is outside 0 to 1. Give a share, such as 0.8 for four drifts of five.",
        ),
        (
            lambda: Goal(stretch=0.1),
            "stretch: 0.1 is outside 0.2 to 20 m. Give the way along which fish lie.",
        ),
        (
            lambda: Goal(farthest=31.0),
            "farthest: 31 is outside 0.5 to 30 m. Give how far upstream of the fish you can cast.",
        ),
        (
            lambda: Goal(bed_cost=-1.0),
            "bed cost: -1 is outside 0 to 10. Give 1 to 2, more where the bed holds snags.",
        ),
        (
            lambda: Goal(point_worth=11.0),
            "point worth: 11 is outside 0 to 10. Give 1, or 0 if it is only a weight.",
        ),
        (
            lambda: Goal(dropper_worth=11.0),
            "dropper worth: 11 is outside 0 to 10. Give 1 to count it as the point.",
        ),
        (
            lambda: Goal(seconds=0.4),
            "seconds: 0.4 is outside 0.5 to 60 s. Give the length of a drift, such as 8 s.",
        ),
    ],
)
def test_a_goal_that_cannot_be_is_refused(make: object, message: str) -> None:
    with pytest.raises(BadValueError) as refused:
        make()  # type: ignore[operator]
    assert str(refused.value) == message


def test_the_ends_of_what_may_be_wanted_are_taken() -> None:
    Goal(
        touches=1.0,
        down=0.0,
        stretch=0.2,
        farthest=30.0,
        bed_cost=10.0,
        point_worth=0.0,
        dropper_worth=10.0,
        seconds=60.0,
    )
    usual = Goal()
    assert (usual.touches, usual.down, usual.stretch, usual.farthest) == (0.3, 0.8, 2.0, 5.0)
    assert (usual.bed_cost, usual.point_worth, usual.dropper_worth) == (1.0, 1.0, 0.5)
    assert usual.level == FishLevel(0.0, 0.2)
