"""Entries between flat and straight down: what follows from the angle, and that steeper ones bring flies down sooner."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from flybench.errors import BadValueError
from flybench.quantity import Measured
from flybench.rig.chain.simulate import simulate, steps
from flybench.rig.chain.state import ChainState
from flybench.rig.odds.draws import best_estimate, rigs_of_draws
from flybench.rig.tackle.entry import STEEP, UPRIGHT, slack_at, slack_doubt_at, speed_at
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Entry, Hold, Tackle
from flybench.rig.water.bed import bed_named
from flybench.rig.water.current import Current

FLOATING = Tackle(0.15e-3, 2.4)
LED = replace(FLOATING, hold=Hold.LED, lead_speed=0.48)
TIGHT = Tackle(0.15e-3, 3.2, hold=Hold.TIGHT, lead_speed=0.48, tip_height=1.5)
WATER = Current(Measured(1.2, 0.0), Measured(0.6, 0.0), 283.15, bed_named("cobble"))


def test_leader_lies_loose_by_what_it_stood_up() -> None:
    # Half of a leader that comes in at 60 degrees reaches over the water: cos 60 = 0.5; at 90 none does.
    assert slack_at(math.radians(60)) == pytest.approx(0.5)
    assert (slack_at(0.0), slack_at(UPRIGHT)) == (0.0, pytest.approx(1.0))
    assert speed_at(math.radians(30)) / speed_at(UPRIGHT) == pytest.approx(0.5)
    assert math.degrees(STEEP) == pytest.approx(66.42, abs=0.005)


def test_words_are_two_of_the_angles() -> None:
    flat, steep = replace(FLOATING, entry=Entry.FLAT), replace(FLOATING, entry=Entry.STEEP)
    for word, angle in ((flat, 0.0), (steep, STEEP)):
        typed = replace(FLOATING, entry_angle=angle)
        assert (typed.usual_slack, typed.usual_entry_speed, typed.slack_doubt) == (
            word.usual_slack,
            word.usual_entry_speed,
            word.slack_doubt,
        )
    assert (steep.usual_slack, steep.usual_entry_speed, steep.slack_doubt) == (0.6, 2.0, 0.2)


def test_what_is_typed_beside_the_angle_holds_and_a_tight_line_has_little_slack() -> None:
    given = replace(FLOATING, entry_angle=math.radians(60), slack=0.1, entry_speed=3.0)
    assert (given.usual_slack, given.usual_entry_speed) == (0.1, 3.0)
    assert replace(FLOATING, entry_angle=UPRIGHT).usual_slack == 0.97  # some of a leader always lies straight
    assert TIGHT.usual_slack == pytest.approx(0.1)
    assert TIGHT.slack_doubt == pytest.approx(slack_doubt_at(STEEP) / 6)


@pytest.mark.parametrize("tackle", [FLOATING, LED, TIGHT], ids=["floating", "led", "tight"])
def test_steeper_entries_are_deeper_sooner(tackle: Tackle) -> None:
    fly = RigFly("fly", Measured(0.3, 0.0), Measured(2e-3, 0.0))
    times, depths = (1.0, 2.0, 4.0), []
    for angle in (0.0, 20.0, 40.0, 60.0, 80.0):
        rigs, _ = rigs_of_draws(
            WATER, replace(tackle, entry_angle=math.radians(angle)), [fly], [(0,)], best_estimate(1)
        )
        clock, deep = [], []

        def watch(
            time: float, dt: float, state: ChainState, clock: list[float] = clock, deep: list[float] = deep
        ) -> bool:
            clock.append(time)
            deep.append(float(state.place[1, -1, 0]))
            return False

        simulate(rigs, steps(4.0), watch)
        depths.append([np.interp(time, clock, deep) for time in times])
    # A tight line is hardly loose: from one of these angles to the next, less than the steps of time tell.
    least = -0.002 if tackle is TIGHT else 0.004
    assert (np.diff(depths, axis=0) > least).all()
    assert (np.subtract(depths[-1], depths[0]) > 0.05).all()


def test_an_entry_steeper_than_straight_down_is_refused() -> None:
    with pytest.raises(BadValueError) as refused:
        replace(FLOATING, entry_angle=2.0)
    assert str(refused.value) == (
        "entry angle: 2 is outside 0 to 1.5708 rad. Give 0 for flat, 1.57 for straight down."
    )
