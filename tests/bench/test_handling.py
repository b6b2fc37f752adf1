"""What a hand did is no drop: ways down that end in mid-water and are followed by a rise, in paths made by hand."""

from __future__ import annotations

import numpy as np
import pytest
from followed import Seen, found

from flybench.bench.track.handling import LIFTED_AGAIN, lifted_again

FALL = Seen((0.0, 0.05, 1.0), (0.0, 0.005, 0.30))
"""A fall of 300 mm at 0.31 m/s that lands at the foot of the picture."""


def lifted(step: float, pause: float = 0.0, at: float = 0.15) -> Seen:
    """Return a fly lifted from 0.30 m, stepped down by ``step`` [m] at a depth, held for ``pause`` [s], and lifted on."""
    up = (0.30 - at) / 0.3
    down, on = 2.0 + up + step / 0.25, (at + step) / 0.3
    times = (2.0, 2.0 + up, down, down + pause + 0.001, down + pause + on)
    return Seen(times, (0.30, at, at + step, at + step, 0.0))


@pytest.mark.parametrize("pause", [0.0, 0.2, 0.8])
@pytest.mark.parametrize("step", [0.035, 0.043, 0.060])
def test_a_step_down_while_being_lifted_is_no_drop(step: float, pause: float) -> None:
    findings = found(FALL, lifted(step, pause))
    assert [round(float(drop.times[0]), 1) for drop in findings.drops] == [0.0]
    assert findings.left_out[LIFTED_AGAIN] == 1


def test_nor_where_no_fall_shows_how_deep_the_water_is() -> None:
    findings = found(lifted(0.05))
    assert findings.drops == []
    assert findings.left_out == {LIFTED_AGAIN: 1}


def test_every_step_of_a_fly_lifted_hand_over_hand_is_left_out() -> None:
    times = (2.0, 2.3, 2.5, 2.9, 3.1, 3.6)
    findings = found(FALL, Seen(times, (0.30, 0.20, 0.24, 0.10, 0.145, 0.0)))
    assert len(findings.drops) == 1


def test_a_fly_lifted_off_the_floor_did_fall() -> None:
    """It lies for a moment, or not at all; the lift itself is no matter."""
    for rest in (0.001, 0.3, 1.5):
        times = (0.0, 1.0, 1.0 + rest, 2.0 + rest)
        findings = found(Seen(times, (0.0, 0.30, 0.30, 0.0)))
        assert len(findings.drops) == 1
        assert findings.left_out == {}


def test_a_floor_that_rises_by_20_mm_is_still_the_floor() -> None:
    higher = Seen((2.0, 2.9, 3.2, 4.2), (0.0, 0.28, 0.28, 0.0), x=0.02)
    assert len(found(FALL, higher).drops) == 2


def test_a_fly_that_stays_in_mid_water_did_fall() -> None:
    """It hangs in a plant, or lies on a shelf of the tank; nobody lifts it while it is filmed."""
    hanging = Seen((2.0, 2.5, 4.0), (0.0, 0.15, 0.15), x=0.02)
    assert len(found(FALL, hanging).drops) == 2


def test_bubbles_from_below_the_floor_do_not_make_it_deeper() -> None:
    """They start 40 mm below the place where the fly lands, and only rise."""
    landed = Seen((0.0, 1.0, 1.3, 2.3), (0.0, 0.26, 0.26, 0.0))
    assert len(found(landed, Seen((0.0, 1.2), (0.30, 0.0), x=0.04, contrast=40.0)).drops) == 1


def test_a_fly_lowered_lifted_a_little_and_let_go_is_measured_from_there() -> None:
    times = (0.0, 0.5, 0.7, 0.9, 0.95, 1.9)
    drops = found(Seen(times, (0.0, 0.10, 0.085, 0.085, 0.09, 0.30))).drops
    assert len(drops) == 1
    assert drops[0].times[0] >= 0.85


@pytest.mark.parametrize(("before", "stopped"), [(0.10 / 0.30, True), (0.10 / 0.12, False)])
def test_a_stop_half_way_is_told_where_the_fly_fell_before_it(before: float, stopped: bool) -> None:
    """100 mm at 30 cm/s, as fast as afterwards, or lowered at 12 cm/s; 0.4 s of rest; 200 mm at 30 cm/s."""
    times = (0.0, before, before + 0.4, before + 0.4 + 0.20 / 0.30)
    drops = found(Seen(times, (0.0, 0.10, 0.10, 0.30))).drops
    assert [drop.stopped for drop in drops] == [stopped]
    assert drops[0].times[0] >= before + 0.35


def test_a_track_that_came_down_at_the_edge_alone_was_never_lifted_again() -> None:
    """Its ways down are all taken off, as hands touch the edge; nothing is left to ask about."""
    assert lifted_again([], np.linspace(0.0, 0.2, 30), 0.3) == set()
