"""What is counted while rigs drift, on paths made by hand: time at the fish's level, on the bed, way and time down to it."""

from __future__ import annotations

import numpy as np
import pytest
from rigging import STILL, chain, weightless

from flybench.rig.chain.batch import Batch
from flybench.rig.chain.state import landed
from flybench.rig.chain.watchers import Recorder, Tally
from flybench.rig.water.level import FishLevel

LEVEL = FishLevel(0.0, 0.2)


def rig() -> Batch:
    """Return a rig of 1 m with a dropper half way, over stones 1 m deep."""
    flies = ([0.02, 0.03], [1e-3, 2e-3], [3e-4, 3e-4])
    return chain([0.5, 0.5], [1, 2], weightless(), STILL, *flies, floor=1.0, lead=0.5, upstream=True)


def counted(
    path: list[tuple[float, float, bool]], dropper: FishLevel | None = None, level: FishLevel = LEVEL
) -> Tally:
    """Return the tally of a point that is at (x, depth, on the bed) after each second; the dropper lies 0.3 m above."""
    rigs = rig()
    tally = Tally(rigs, level, 10.0, dropper)
    state = landed(rigs)
    for second, (x, depth, on_bed) in enumerate(path, 1):
        state.place[:, -1, 0] = x, depth
        state.place[:, 1, 0] = x, depth - 0.3
        state.bed[-1, 0] = on_bed
        tally(float(second), 1.0, state)
    return tally


def shares(tally: Tally, begin: float = 0.0, end: float = 10.0) -> list[float]:
    """Return the shares of the point at the level and on the bed, and of the dropper."""
    return [float(one) for one in tally.shares(np.array([begin]), np.array([end]))[:, 0]]


def test_time_on_the_bed_is_not_time_at_the_fish_s_level() -> None:
    tally = counted([(0.0, 0.5, False), (0.1, 0.9, False), (0.2, 1.0, True), (0.3, 1.0, True)])
    assert shares(tally) == pytest.approx([0.1, 0.2, 0.0, 0.0])
    assert tally.touched[0] == 3.0


def test_only_the_time_asked_about_counts() -> None:
    """By hand: at the level in the second second, on the bed in the third and fourth, of which the last is left out."""
    tally = counted([(0.0, 0.5, False), (0.1, 0.9, False), (0.2, 1.0, True), (0.3, 1.0, True)])
    assert shares(tally, 1.0, 3.0) == pytest.approx([0.5, 0.5, 0.0, 0.0])
    assert shares(tally, 4.0, 6.0) == pytest.approx([0.0] * 4)


def test_the_level_ends_at_its_edges() -> None:
    # In eighths of a metre, so that heights are exact.
    deep = [(0.0, depth, False) for depth in (0.375, 0.5, 0.75, 0.875)]
    assert shares(counted(deep, level=FishLevel(0.25, 0.5)))[0] == pytest.approx(0.2)


def test_the_point_comes_down_between_two_looks() -> None:
    # It lands 1 m upstream of the line's entry; it passes 0.8 m between 0.6 m and 1.0 m, half way in the second second.
    tally = counted([(-0.6, 0.6, False), (-0.2, 1.0, True), (0.0, 1.0, True)])
    assert tally.reached[0] == pytest.approx(1.5)
    assert tally.way[0] == pytest.approx(0.6)
    assert tally.deepest[0] == 1.0
    never = counted([(-0.6, 0.6, False)])
    assert (never.reached[0], never.way[0], never.touched[0]) == (np.inf, np.inf, np.inf)


def test_droppers_count_at_their_own_level_or_the_point_s() -> None:
    # The dropper lies 0.2 and 0.7 m deep: 0.8 and 0.3 m above the stones.
    above = counted([(0.0, 0.5, False), (0.0, 1.0, True)], dropper=FishLevel(0.2, 0.4))
    assert shares(above)[2] == pytest.approx(0.1)
    assert shares(counted([(0.0, 0.5, False), (0.0, 1.0, True)]))[2] == 0.0
    assert shares(counted([(0.0, 1.0, True)], level=FishLevel(0.2, 0.4)))[2] == pytest.approx(0.1)


def test_a_dropper_on_the_bed_touches_too() -> None:
    rigs = rig()
    tally = Tally(rigs, LEVEL, 10.0)
    state = landed(rigs)
    state.place[1, 1, 0], state.bed[1, 0] = 1.0, True
    tally(1.0, 1.0, state)
    assert tally.touched[0] == 1.0
    assert tally.deepest[0] == 1.0
    assert shares(tally) == pytest.approx([0.0, 0.0, 0.0, 0.1])


def test_a_tally_is_over_with_its_time() -> None:
    tally = Tally(rig(), LEVEL, 2.0)
    state = landed(rig())
    assert [tally(time, 1.0, state) for time in (1.0, 2.0)] == [False, True]


def test_paths_are_written_on_an_even_clock() -> None:
    rigs = rig()
    recorder = Recorder(rigs, np.array([0.0, 0.5, 1.0, 1.5]))
    state = landed(rigs)
    state.place[:, -1, 0] = 0.0, 0.4
    state.place[:, 1, 0] = -0.3, 0.4
    state.tension[0, 0] = 2e-3
    assert recorder(1.0, 1.0, state) is False
    state.place[:, -1, 0] = 0.2, 0.8
    assert recorder(2.0, 1.0, state) is True
    np.testing.assert_allclose(recorder.depth[1, :, 0], [0.0, 0.2, 0.4, 0.6])
    np.testing.assert_allclose(recorder.x[1, :, 0], [-1.0, -0.5, 0.0, 0.1])
    assert recorder.tension[1, 0] == 2e-3
    assert recorder.angle[1, 0] == pytest.approx(np.arctan2(0.3, 0.4))
