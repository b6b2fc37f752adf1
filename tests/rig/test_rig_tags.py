"""Droppers on their tags: off the knot by as much as weight and drag pull them, and where that counts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from rigging import NO_DRAG, STILL, Law, Stream, chain, upright, weightless

from flybench.quantity import Measured
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.simulate import simulate, steps
from flybench.rig.chain.state import ChainState, landed
from flybench.rig.chain.tags import LIMP, flies_at, flies_rest
from flybench.rig.chain.watchers import Recorder, Tally
from flybench.rig.odds.doubts import dropper_flags
from flybench.rig.odds.drift import drift
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Rig, Tackle
from flybench.rig.water.bed import bed_named
from flybench.rig.water.current import Current
from flybench.rig.water.level import FishLevel

FULL = 1 / (1 + LIMP)
"""How far out a tag is that a fly's whole weight pulls on [-]."""


def pair(stream: Stream = STILL, floor: float = 5.0, tag: float = 0.1) -> Batch:
    """Return two flies 0.5 m apart below an anchor at the surface: 1 mN that sinks at 0.2 m/s, and 3 mN at 0.3 m/s."""
    rigs = chain(
        [0.4, 0.5],
        [1, 2],
        weightless(Law(lambda u: 0 * u + 1e-3, lambda u: 0 * u + 1e-3)),
        stream,
        [1e-3 / 0.04, 3e-3 / 0.09],
        [1e-3, 3e-3],
        [2e-4, 4e-4],
        floor=floor,
    )
    return replace(rigs, tag=tag)


def hung(rigs: Batch) -> ChainState:
    state = upright(rigs, landed(rigs))
    state.velocity[:] = 0.0
    return state


def test_dropper_hangs_plumb_below_its_knot_in_still_water() -> None:
    rigs = pair()
    places = flies_at(rigs, hung(rigs))
    assert places[:, 0, 0] == pytest.approx([0.0, 0.4 + 0.1 * FULL])
    assert places[:, 1, 0] == pytest.approx([0.0, 0.9])


def test_dropper_streams_out_by_drag_over_weight() -> None:
    # Held still in water of its own sink speed, drag is as large as weight: the tag leans by 45 degrees.
    rigs = pair(Stream(lambda z: 0 * z + 0.2))
    places = flies_at(rigs, hung(rigs))
    root = 2**0.5
    assert places[:, 0, 0] == pytest.approx([0.1 / (root + LIMP), 0.4 + 0.1 / (root + LIMP)])


def test_dropper_that_is_drawn_down_faster_than_it_sinks_trails_above_its_knot() -> None:
    rigs = pair()
    state = hung(rigs)
    state.velocity[1] = 0.3  # drag is 2.25 times its weight
    places = flies_at(rigs, state)
    assert places[1, 0, 0] == pytest.approx(0.4 - 0.1 * 1.25 / (1.25 + LIMP))
    state.velocity[1] = 0.2  # as fast as it sinks: it pulls on nothing
    assert flies_at(rigs, state)[1, 0, 0] == pytest.approx(0.4, abs=1e-9)


def test_dropper_neither_leaves_the_water_nor_goes_into_the_bed() -> None:
    rigs = pair(floor=0.45)
    state = hung(rigs)
    state.place[1, 2] = 0.45
    places = flies_at(rigs, state)
    assert places[1, :, 0] == pytest.approx([0.45, 0.45])
    assert flies_rest(rigs, state, places)[:, 0].tolist() == [
        True,
        False,
    ]  # the knot of the point was not pressed down
    state.place[1, 1], state.velocity[1] = 0.0, 1.0
    assert flies_at(rigs, state)[1, 0, 0] == 0.0


def test_without_a_tag_flies_are_at_their_knots() -> None:
    rigs = pair(tag=0.0)
    state = hung(rigs)
    np.testing.assert_array_equal(flies_at(rigs, state), state.place[:, [1, 2]])


def test_watchers_look_at_the_fly_and_not_at_its_knot() -> None:
    rigs = replace(pair(floor=1.0), line=weightless(NO_DRAG))
    recorder = Recorder(rigs, np.array([0.0, 0.02]))
    tally = Tally(
        rigs, FishLevel(0.0, 0.2), 0.02, FishLevel(0.45, 0.55)
    )  # 0.45 to 0.55 m deep: below the knot

    def watch(time: float, dt: float, state: ChainState) -> bool:
        recorder(time, dt, state)
        return tally(time, dt, state)

    watch(0.02, 0.02, hung(rigs))
    assert recorder.depth[0, -1, 0] == pytest.approx(0.4 + 0.1 * FULL)
    assert tally.shares(np.zeros(1), np.full(1, 0.25))[2, 0] > 0


def test_a_longer_tag_lets_the_dropper_down_and_leaves_the_point_where_it_was() -> None:
    water = Current(Measured(1.2, 0.0), Measured(0.6, 0.0), 283.15, bed_named("cobble"))
    flies = tuple(
        RigFly(name, Measured(v, 0.0), Measured(w, 0.0))
        for name, v, w in (("d", 0.25, 1e-3), ("p", 0.3, 3e-3))
    )
    paths = []
    for tag in (0.0, 0.1, 0.2):
        found = drift(Rig(Tackle(0.15e-3, 2.4, (0.5,), tag=tag), flies), water, seconds=6.0, draws=0)
        paths.append([fly.depth[-1] for fly in found.flies])
    droppers, points = np.transpose(paths)
    assert (np.diff(droppers) > 0.02).all()
    assert points == pytest.approx(points[0])


@pytest.mark.parametrize(
    ("gaps", "tag", "long"),
    [
        ((0.5,), 0.1, False),
        ((0.5, 0.25), 0.25, False),
        ((0.5, 0.2), 0.25, True),  # 0.2 m from the lower dropper's knot to the point
        ((0.7, 0.5), 0.25, True),  # 0.2 m from knot to knot
        ((0.06,), 0.1, True),
        ((0.06,), 0.0, False),
        ((), 0.3, False),
    ],
)
def test_a_tag_that_reaches_past_the_next_fly_is_told(
    gaps: tuple[float, ...], tag: float, long: bool
) -> None:
    assert dropper_flags(Tackle(0.15e-3, 2.4, gaps, tag=tag)) == (("tag-long",) if long else ())


def test_tags_do_not_change_how_the_leader_moves() -> None:
    # A rig of two flies runs with tags as it does without: they only tell where the flies are.
    with_tag, without = pair(), pair(tag=0.0)
    ends = [simulate(one, steps(1.0), lambda time, dt, state: False).place for one in (with_tag, without)]
    np.testing.assert_array_equal(*ends)
