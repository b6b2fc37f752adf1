"""The chain's own accuracy, what it stands, and that it does what anglers see."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from rigging import chain, line
from springs import spring_depth

from flybench.quantity import Floats, Measured
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.line_drag import ThinLine
from flybench.rig.chain.simulate import simulate, steps
from flybench.rig.chain.state import ChainState
from flybench.rig.chain.watchers import Tally
from flybench.rig.odds.draws import best_estimate, rigs_of_draws
from flybench.rig.odds.drift import Drift, drift
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Entry, Hold, LeaderMaterial, Rig, Tackle
from flybench.rig.water.bed import bed_named
from flybench.rig.water.current import Current
from flybench.rig.water.level import FishLevel
from flybench.rig.water.profile import LogProfile

PAIR = (
    RigFly("dropper", Measured(0.2, 0.0), Measured(1e-3, 0.0)),
    RigFly("point", Measured(0.3, 0.0), Measured(2e-3, 0.0)),
)
RIVER = Current(Measured(1.0, 0.0), Measured(0.6, 0.0), 283.15, bed_named("cobble"))


def time_down(tackle: Tackle, pieces: int = 12, step: float = 0.04, depth: float = 0.8) -> float:
    """Return the time the point takes to a depth [s]."""
    rigs, _ = rigs_of_draws(RIVER, tackle, PAIR, [(0, 1)], best_estimate(2))
    rigs = replace(rigs, layout=tackle.layout(pieces))
    tally = Tally(rigs, FishLevel(0.0, float(rigs.floor[0]) - depth), 20.0)
    simulate(rigs, steps(20.0, step), tally)
    return float(tally.reached[0])


SLACK = Tackle(0.15e-3, 2.0, (0.5,))
TAUT = Tackle(0.15e-3, 2.0, (0.5,), hold=Hold.LED, lead_speed=0.42, entry=Entry.FLAT)


@pytest.mark.slow
@pytest.mark.parametrize("tackle", [SLACK, TAUT], ids=["slack", "taut"])
def test_twelve_pieces_are_within_a_percent_of_many(tackle: Tackle) -> None:
    many = time_down(tackle, pieces=48, step=0.01)
    assert time_down(tackle) == pytest.approx(many, rel=0.01)
    assert abs(time_down(tackle, pieces=24) - many) < abs(time_down(tackle, pieces=6) - many) + 0.005


@pytest.mark.slow
@pytest.mark.parametrize("tackle", [SLACK, TAUT], ids=["slack", "taut"])
def test_the_step_hardly_matters(tackle: Tackle) -> None:
    assert time_down(tackle, step=0.04) == pytest.approx(time_down(tackle, step=0.005), rel=0.005)


@pytest.mark.slow
@pytest.mark.parametrize("tackle", [SLACK, TAUT], ids=["slack", "taut"])
def test_stiff_springs_in_another_solver_come_as_deep(tackle: Tackle) -> None:
    # scipy's LSODA; drag at the nodes makes springs slow by their own piece, so two numbers of pieces lead to the limit.
    rigs, _ = rigs_of_draws(RIVER, tackle, PAIR, [(0, 1)], best_estimate(2))
    rigs = replace(rigs, floor=np.array([50.0]))
    ours = simulate(rigs, steps(3.0), lambda time, dt, state: False).place[1, -1, 0]
    coarse, fine = (spring_depth(replace(rigs, layout=tackle.layout(pieces)), 3.0) for pieces in (20, 40))
    assert ours == pytest.approx(2 * fine - coarse, rel=0.012)


def extreme(count: int, seed: int) -> tuple[Batch, Floats]:
    """Return extreme random rigs of one thickness and hold, and their noise."""
    draw = np.random.default_rng(seed)
    diameter, density = draw.uniform(0.08e-3, 0.35e-3), draw.choice([950.0, 1140.0, 1780.0])
    gaps = [(0.5,), (0.9, 0.4), (0.06,)][seed % 3]
    tackle = Tackle(diameter, draw.uniform(1.0, 3.5), gaps, density=float(density))
    flies = len(gaps) + 1
    speed = draw.uniform(0.05, 1.0, (flies, count))
    weight = np.exp(draw.uniform(np.log(5e-5), np.log(2e-2), (flies, count)))
    surface, depth = draw.uniform(0.1, 1.5, count), draw.uniform(0.3, 3.0, count)
    roughness = np.exp(draw.uniform(np.log(1e-4), np.log(0.03), count))
    hold = [surface, surface * draw.uniform(0, 1.3, count), 0 * surface, None][seed % 4]
    ones = np.ones(count)
    rigs = Batch(
        tackle.layout(),
        line(diameter, float(density), ThinLine(diameter, 999.7, 1.3e-3)),
        LogProfile(surface, depth, roughness),
        depth - 2 * roughness,
        weight / speed**2,
        weight,
        1.3 * weight / 9.80665,
        hold,
        draw.uniform(0, 0.97, count),
        draw.uniform(0, 5, count),
        draw.uniform(0.5, 2, count),
        draw.uniform(0.5, 2, count),
        0.1 * surface,
        ones,
        upstream=seed % 2 == 0,
    )
    return rigs, draw.standard_normal((600, count))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(12))
def test_extreme_rigs_stay_whole(seed: int) -> None:
    rigs, noise = extreme(250, seed)
    lengths = rigs.layout.lengths[:, None]

    def watch(time: float, dt: float, state: ChainState) -> bool:
        assert np.isfinite(state.place).all()
        assert np.isfinite(state.velocity).all()
        assert (state.place[1] <= rigs.floor).all()
        assert (state.place[1] >= 0).all()
        assert (state.tension >= 0).all()
        long = np.hypot(*(state.place[:, 1:] - state.place[:, :-1]))
        assert (long <= lengths * 1.01).all()
        return False

    simulate(rigs, steps(8.0), watch, noise)


@pytest.mark.slow
def test_a_column_does_not_feel_its_neighbours() -> None:
    rigs, noise = extreme(60, 1)
    together = simulate(rigs, steps(4.0), lambda time, dt, state: False, noise)
    alone = simulate(rigs.part(slice(7, 8)), steps(4.0), lambda time, dt, state: False, noise[:, 7:8])
    np.testing.assert_allclose(together.place[:, :, 7:8], alone.place, rtol=0, atol=1e-9)


@pytest.mark.slow
def test_what_lies_on_the_bed_stays_there() -> None:
    one = np.ones(1)
    thin = line(0.15e-3, 1140.0, ThinLine(0.15e-3, 1000.0, 1e-3))
    rig = chain(
        [0.25] * 8, [8], thin, LogProfile(0.3 * one, one, 0.01 * one), [0.1], [2e-2], [3e-3], lead=0.0
    )
    rig = replace(rig, floor=0.9 * one, slack=0.5 * one)
    state = simulate(rig, steps(20.0), lambda time, dt, state: False)
    assert state.bed[-1, 0]
    assert abs(state.velocity[0, -1, 0]) < 0.005


# What anglers see: common practice, no source.


def down(tackle: Tackle, current: Current = RIVER, flies: tuple[RigFly, ...] = PAIR) -> Drift:
    return drift(Rig(tackle, flies), current, 12.0, draws=0)


@pytest.mark.slow
def test_a_steeper_entry_gets_down_sooner() -> None:
    flat = replace(TAUT, hold=Hold.FLOATING, lead_speed=None)
    times = [
        down(replace(flat, slack=slack, entry_speed=speed)).time_to_level.middle
        for slack, speed in ((0.0, 0.0), (0.3, 0.0), (0.6, 0.0), (0.6, 4.0))
    ]
    assert times == sorted(times, reverse=True)
    assert times[0] > 1.3 * times[2]


@pytest.mark.slow
@pytest.mark.parametrize("tackle", [SLACK, TAUT], ids=["slack", "taut"])
def test_a_thick_leader_is_slower(tackle: Tackle) -> None:
    thin, thick = (down(replace(tackle, diameter=d)).time_to_level.middle for d in (0.13e-3, 0.30e-3))
    assert thick > 1.04 * thin


@pytest.mark.slow
def test_cold_water_is_slower() -> None:
    cold, warm = (down(SLACK, replace(RIVER, temperature=t)).time_to_level.middle for t in (275.15, 293.15))
    assert cold > 1.01 * warm


@pytest.mark.slow
def test_fluorocarbon_is_a_little_faster() -> None:
    assert (
        down(replace(SLACK, material=LeaderMaterial.FLUOROCARBON)).time_to_level.middle
        < down(SLACK).time_to_level.middle
    )


@pytest.mark.slow
def test_a_heavier_point_runs_deeper() -> None:
    deep = Current(Measured(3.0, 0.0), Measured(0.6, 0.0), 283.15)
    light, heavy = (
        down(SLACK, deep, (PAIR[0], RigFly("p", Measured(v, 0.0), Measured(w, 0.0))))
        for v, w in ((0.25, 1e-3), (0.4, 4e-3))
    )
    assert (heavy.flies[1].depth[20:60] > light.flies[1].depth[20:60] + 0.05).all()


@pytest.mark.slow
def test_led_at_the_speed_of_the_path_runs_deeper_than_held_back() -> None:
    deep = replace(RIVER, depth=Measured(2.5, 0.0))
    near, back = (
        down(replace(TAUT, lead_speed=share * 0.6), deep).flies[1].depth[-1] for share in (0.8, 0.5)
    )
    assert near > 1.3 * back
