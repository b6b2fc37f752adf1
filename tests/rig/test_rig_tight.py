"""A tight line in a river: what must hold of any, what is said where it does not fish, and lines that leave the water."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from rigging import GRAVITY, Law, Stream, chain, line, settled

from flybench.quantity import Floats, Measured
from flybench.rig.chain.simulate import STEP, simulate, steps
from flybench.rig.chain.state import ChainState, landed
from flybench.rig.chain.wetted import fly_buoyancy, fly_in_two, line_weight, wet_shares
from flybench.rig.odds.doubts import airborne_flags, dropper_flags, leader_flags, rig_flags, skating_flags
from flybench.rig.odds.draws import best_estimate, rigs_of_draws
from flybench.rig.odds.drift import drift
from flybench.rig.odds.goal import Goal
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Entry, Hold, Rig, Tackle
from flybench.rig.water.bed import bed_named
from flybench.rig.water.current import Current
from flybench.rig.water.level import NEAR_BOTTOM

TIGHT = Tackle(0.15e-3, 3.2, hold=Hold.TIGHT, lead_speed=0.48, tip_height=1.5)
LED = Tackle(0.15e-3, 2.5, hold=Hold.LED, lead_speed=0.48)


def water(depth: float = 1.2, speed: float = 0.6) -> Current:
    return Current(Measured(depth, 0.0), Measured(speed, 0.0), 283.15, bed_named("cobble"))


def fly(speed: float = 0.3, weight: float = 2e-3) -> RigFly:
    return RigFly("fly", Measured(speed, 0.0), Measured(weight, 0.0))


def depth_after(tackle: Tackle, one: RigFly, current: Current, seconds: float = 8.0) -> float:
    """Return how deep a single fly is in level water where no bed stops it [m]."""
    rigs, _ = rigs_of_draws(current, tackle, [one], [(0,)], best_estimate(1))
    rigs = replace(rigs, floor=np.array([50.0]))
    return float(simulate(rigs, steps(seconds), lambda time, dt, state: False).place[1, -1, 0])


def rising(values: list[float], least: float = 0.003) -> bool:
    return all(np.diff(values) > least)


@pytest.mark.slow
@pytest.mark.parametrize("seconds", [8.0, 15.0])
def test_flies_run_deeper_with_a_lower_tip_a_thinner_line_and_a_heavier_fly(seconds: float) -> None:
    # The flies land below the tip: on a straight line, a lower tip also lands them farther upstream, which takes time.
    below = replace(TIGHT, slack=0.9, lead_speed=0.4, length=3.4)

    def deep(tackle: Tackle, one: RigFly) -> float:
        return depth_after(tackle, one, water(), seconds)

    assert rising([deep(replace(below, tip_height=high), fly()) for high in (2.2, 1.7, 1.2, 0.7)])
    assert rising([deep(replace(below, diameter=d), fly()) for d in (0.30e-3, 0.20e-3, 0.15e-3, 0.10e-3)])
    assert rising([deep(TIGHT, fly(v, w)) for v, w in ((0.2, 1e-3), (0.3, 2e-3), (0.4, 4e-3))])
    assert rising([deep(TIGHT, fly(0.3, w)) for w in (1e-3, 2e-3, 4e-3)])


@pytest.mark.parametrize("seconds", [1.0, 2.0, 4.0])
def test_steep_entry_is_deeper_sooner_on_a_tight_line_too(seconds: float) -> None:
    steep, flat = (
        depth_after(replace(TIGHT, entry=one), fly(), water(), seconds) for one in (Entry.STEEP, Entry.FLAT)
    )
    assert steep > flat + 0.02


ORDINARY = [
    (1.2, 0.6, 0.30, 2e-3, 0.15e-3),
    (1.2, 0.6, 0.35, 3e-3, 0.15e-3),
    (0.9, 0.6, 0.25, 1.5e-3, 0.15e-3),
    (1.5, 0.7, 0.40, 4e-3, 0.15e-3),
    (1.2, 0.9, 0.40, 4e-3, 0.18e-3),
    (1.0, 0.4, 0.20, 1e-3, 0.13e-3),
    (1.5, 0.9, 0.35, 3e-3, 0.13e-3),
]
"""Depth [m], speed of the surface [m/s], sink speed [m/s] and weight [N] of the fly, diameter of the line [m]."""


@pytest.mark.slow
@pytest.mark.parametrize(("depth", "speed", "sinks", "weight", "thick"), ORDINARY)
def test_tight_line_keeps_flies_shallower_than_one_led_at_the_surface(
    depth: float, speed: float, sinks: float, weight: float, thick: float
) -> None:
    # By 10 to 30 cm after 8 s (an angler's complaint about advice that was too light), where the bed ends it at 1.2 m.
    current, lead = water(depth, speed), 0.8 * speed
    led = replace(LED, diameter=thick, lead_speed=lead)
    tight = replace(TIGHT, diameter=thick, lead_speed=lead, length=round(1.15 * (1.5 + depth), 1))
    deep = [min(depth_after(one, fly(sinks, weight), current), depth) for one in (led, tight)]
    assert 0.08 < deep[0] - deep[1] < 0.30


def test_a_fly_that_the_line_lifts_skates_and_that_is_said() -> None:
    held = replace(TIGHT, lead_speed=0.0, diameter=0.3e-3)
    light = Rig(held, (fly(0.15, 0.5e-3),))
    found = drift(light, water(), seconds=20.0, draws=0)
    assert found.flies[-1].depth.max() > 0.3
    assert found.flies[-1].depth[-1] < 0.05
    assert "skates" in found.flags
    assert "skates" not in drift(Rig(TIGHT, (fly(),)), water(), seconds=8.0, draws=0).flags


def test_many_tight_rigs_come_out_as_one_by_one() -> None:
    rig = Rig(TIGHT, (fly(),))
    many, one = drift(rig, water(), seconds=3.0, draws=300), drift(rig, water(), seconds=3.0, draws=0)
    assert np.isfinite(many.flies[-1].depth_high).all()
    assert many.flies[-1].depth[-1] == pytest.approx(one.flies[-1].depth[-1], abs=0.03)


@pytest.mark.parametrize("seconds", [2.0, 4.0])
def test_usual_steps_are_short_enough_for_a_line_in_the_air(seconds: float) -> None:
    rigs, _ = rigs_of_draws(water(), TIGHT, [fly()], [(0,)], best_estimate(1))
    usual, fine = (
        simulate(rigs, steps(seconds, step), lambda time, dt, state: False).place[1, -1, 0]
        for step in (STEP, 0.02)
    )
    assert usual == pytest.approx(fine, abs=0.015)


def test_a_fly_that_is_on_its_way_down_does_not_skate() -> None:
    assert skating_flags(np.array([0.0, 0.01, 0.03])) == ()
    assert skating_flags(np.array([0.0, 0.2, 0.3])) == ()
    assert skating_flags(np.array([0.0, 0.3, 0.1])) == ()
    assert skating_flags(np.array([0.0, 0.3, 0.03])) == ("skates",)
    assert skating_flags(np.array([0.0, 0.03, 0.02])) == ("skates",)


@pytest.mark.parametrize(("gap", "dry"), [(1.9, True), (0.5, False)])
def test_a_dropper_that_hangs_in_the_air_is_told(gap: float, dry: bool) -> None:
    # 3.2 m of line from a tip 1.5 m high: 1.7 m hang in the water at the most, and 0.1 m of tag below the knot.
    rig = Rig(replace(TIGHT, gaps=(gap,)), (fly(0.2, 1e-3), fly(0.3, 3e-3)))
    assert ("dropper-in-air" in rig_flags(rig, water(), Goal())) is dry
    found = drift(rig, water(), seconds=8.0, draws=0)
    assert bool(found.flies[0].depth[-1] < 0) is dry
    assert found.flags.count("dropper-in-air") == dry


def test_a_dropper_that_the_current_lifts_out_is_told() -> None:
    # The line would let it 0.1 m down, and the tag some more, if it hung straight.
    rig = Rig(replace(TIGHT, gaps=(1.6,), lead_speed=0.2), (fly(0.2, 1e-3), fly(0.3, 2e-3)))
    assert "dropper-in-air" not in rig_flags(rig, water(), Goal())
    found = drift(rig, water(), seconds=8.0, draws=0)
    assert found.flies[0].depth[-1] < 0
    assert "dropper-in-air" in found.flags


def test_a_dropper_that_is_on_its_way_down_is_not_in_the_air() -> None:
    assert airborne_flags(np.array([-0.5, -0.3, -0.1])) == ()
    assert airborne_flags(np.array([-0.5, -0.1, -0.1])) == ("dropper-in-air",)
    assert airborne_flags(np.array([-0.5, 0.1, -0.1])) == ("dropper-in-air",)
    assert airborne_flags(np.array([0.0, 0.0, 0.0])) == ()


@pytest.mark.parametrize("gap", [1.69, 1.79, 1.81])
def test_a_dropper_is_dry_where_knot_and_tag_are_above_the_surface(gap: float) -> None:
    assert ("dropper-in-air" in dropper_flags(replace(TIGHT, gaps=(gap,)))) is (gap > 1.7 + 0.1)


def test_a_tight_line_too_short_for_the_fish_is_flagged_by_what_hangs_in_the_water() -> None:
    # 1.2 m of water with its tops 2.2 cm up, fish 0.2 m above them: 0.978 m of line must reach down.
    assert leader_flags(replace(TIGHT, length=2.4), water(), NEAR_BOTTOM) == ("leader-short",)
    assert leader_flags(replace(TIGHT, length=2.5), water(), NEAR_BOTTOM) == ()


def test_line_lands_straight_from_the_tip_to_where_the_point_meets_the_water() -> None:
    rigs, _ = rigs_of_draws(water(), replace(TIGHT, slack=0.1), [fly()], [(0,)], best_estimate(1))
    place = landed(rigs).place[:, :, 0]
    assert place[:, 0] == pytest.approx([0.0, -1.5])
    assert place[:, -1] == pytest.approx([-((2.88**2 - 1.5**2) ** 0.5), 0.0])
    slope = np.diff(place, axis=1)
    np.testing.assert_allclose(slope[1] / slope[0], slope[1, 0] / slope[0, 0])
    below = replace(
        rigs, slack=np.array([0.7])
    )  # not enough line is straight: the fly comes in right below the tip
    assert landed(below).place[:, -1, 0] == pytest.approx([0.0, 0.0])


def crossing(places: list[float]) -> tuple[ChainState, Floats, Floats]:
    """Return a state whose nodes are so deep [m], with the shares of its pieces."""
    lengths = [0.5] * (len(places) - 1)
    rigs = chain(lengths, [len(lengths)], line(0.2e-3, 1140.0, None), None, [0.02], [3e-3], [5e-4], tip=1.0)
    state = ChainState(*(np.zeros((2, len(places), 1)),) * 2, *(np.zeros(1),) * 6)  # type: ignore[arg-type]
    state.place[1, :, 0] = places
    wet, lean = wet_shares(state)
    upper, lower, mass = line_weight(rigs, wet, lean)
    area = np.pi * 0.2e-3**2 / 4
    lengths_wet = 0.5 * wet[:, 0]
    in_air = 1140.0 * GRAVITY * area * 0.5
    np.testing.assert_allclose((upper + lower)[:, 0], in_air - 1000.0 * GRAVITY * area * lengths_wet)
    np.testing.assert_allclose(2 * mass[:, 0], 1140.0 * area * 0.5 + 1000.0 * area * lengths_wet)
    return state, wet[:, 0], lean[:, 0]


def test_piece_that_crosses_the_surface_is_wet_from_there_down() -> None:
    _, wet, lean = crossing([-0.4, -0.1, 0.3, 0.6, 0.2, -0.2])
    np.testing.assert_allclose(wet, [0.0, 0.75, 1.0, 1.0, 0.5])
    # The wet part's middle is 0.375 of the piece from its lower end: 0.625 of what acts there is the lower end's.
    np.testing.assert_allclose(lean, [1.0, 0.25, 0.0, 0.0, -0.5])
    _, level, _ = crossing([0.0, 0.0, 0.01, 0.01])
    np.testing.assert_allclose(level, [0.0, 1.0, 1.0])


def test_fly_in_the_surface_is_half_wet_and_heavier_above() -> None:
    # 3 mN in water and 5e-4 kg with added mass: dry m = (5e-4 + 3e-3/(2g)) / 1.5.
    dry = (5e-4 + 3e-3 / (2 * GRAVITY)) / 1.5
    rigs = chain([0.5], [1], line(0.2e-3, 1140.0, None), None, [0.02], [3e-3], [5e-4], tip=1.0)
    state = landed(replace(rigs, profile=Stream(lambda z: 0 * z)))
    for depth, share in ((-0.1, 0.0), (0.0, 0.5), (0.0025, 0.75), (0.1, 1.0)):
        state.place[1, 1] = depth
        wet, weight, mass = fly_in_two(rigs, state, 0)
        assert wet[0] == pytest.approx(share)
        assert weight[0] == pytest.approx(dry * GRAVITY + share * (3e-3 - dry * GRAVITY))
        assert mass[0] == pytest.approx(dry + share * (5e-4 - dry))
        per_metre = (dry * GRAVITY - 3e-3) / 0.01 if abs(depth) < 0.005 else 0.0
        assert fly_buoyancy(rigs, state, 0)[0] == pytest.approx(per_metre)


def test_line_hangs_plumb_from_the_tip_in_still_water_and_pulls_with_all_that_hangs_there() -> None:
    d, still = 0.2e-3, Stream(lambda z: 0 * z)
    tied = line(d, 1140.0, Law(lambda u: 0 * u + 0.05, lambda u: 0 * u + 0.05))
    rigs = chain([0.2] * 10, [10], tied, still, [0.02], [3e-3], [5e-4], tip=0.9, slack=0.6)
    state = settled(rigs, 40, 0.05)
    assert state.place[:, -1, 0] == pytest.approx([0.0, 1.1], abs=2e-3)
    pull = 3e-3 + 1.1 * tied.weight + 0.8 * (tied.weight + tied.lift)
    assert state.tension[0, 0] == pytest.approx(pull, rel=1e-3)
