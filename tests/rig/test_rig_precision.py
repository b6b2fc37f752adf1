"""What saves time in the chain costs next to no accuracy: single precision, the drag law as a polynomial, long steps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from rigging import invented_box

from flybench.hydraulics.cylinder import cylinder_coefficient, friction_along
from flybench.quantity import Floats, Measured
from flybench.rig.advice.outcomes import outcomes
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.line_drag import SMOOTH, ThinLine
from flybench.rig.chain.simulate import simulate, steps
from flybench.rig.odds.draws import best_estimate, drawn, rigs_of_draws
from flybench.rig.odds.goal import Goal
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Hold, Tackle
from flybench.rig.water.bed import UNKNOWN as NOT_LOOKED_AT
from flybench.rig.water.bed import Bed, bed_named
from flybench.rig.water.current import Current

DENSITY, VISCOSITY, DIAMETER = 999.7, 1.3e-3, 0.15e-3
MANY = 240
"""Rigs that are surely solved as many, not as few."""
PAIRS = [(one, 7 - one) for one in range(8)]


def rigs_in(bed: Bed, count: int = 12) -> tuple[Batch, Floats]:
    """Return pairs of invented flies in water of this bed, and their noise."""
    current = Current(Measured(0.8, 0.08), Measured(0.6, 0.06), 283.15, bed)
    box = invented_box(8, 2)
    found, noise = rigs_of_draws(
        current, Tackle(DIAMETER, 2.0, (0.5,)), box, PAIRS, drawn(count, 8, len(steps(6.0)), 3)
    )
    assert noise is not None
    return found, noise


@pytest.mark.parametrize("bed", [bed_named("gravel"), NOT_LOOKED_AT], ids=["gravel", "unknown"])
def test_single_precision_comes_as_deep_and_touches_as_often(bed: Bed) -> None:
    rigs, noise = rigs_in(bed)
    single, double = (
        simulate(one, steps(6.0), lambda time, dt, state: False, noise) for one in (rigs.single(), rigs)
    )
    assert single.place.dtype == single.velocity.dtype == single.tension.dtype == np.float32
    assert double.place.dtype == np.float64
    off = single.place[1, -1] - double.place[1, -1]
    assert 0 < np.abs(off).max() < 0.02
    assert np.sqrt(np.mean(off**2)) < 0.002
    assert np.mean(single.bed[-1] != double.bed[-1]) < 0.03
    assert double.bed[-1].any()


@pytest.mark.slow
def test_a_tight_line_comes_to_the_same_alone_and_among_many() -> None:
    """Few rigs are solved otherwise than many: what comes of a rig may not depend on how many go with it."""
    current = Current(Measured(1.3, 0.13), Measured(0.6, 0.06), 283.15, bed_named("gravel"))
    tackle = Tackle(DIAMETER, 3.2, hold=Hold.TIGHT, lead_speed=0.5, tip_height=1.5)
    goal, box = Goal(), invented_box(8, 2)
    draws = drawn(40, len(box), len(steps(goal.longest(current, tackle))), 1)
    alone = outcomes(current, tackle, box, [(5,)], draws, goal)
    among = outcomes(current, tackle, box, [(place,) for place in range(8)], draws, goal)
    assert np.isfinite(among.deepest).all()
    assert among.touched[5].mean() == pytest.approx(alone.touched[0].mean(), abs=0.03)
    np.testing.assert_allclose(among.deepest[5], alone.deepest[0], atol=0.02)


@pytest.mark.slow
@pytest.mark.parametrize(("length", "depth", "speed"), [(0.6, 0.4, 0.3), (0.4, 0.3, 0.3), (1.2, 0.8, 0.6)])
def test_light_flies_on_a_short_leader_come_to_the_same_in_single_precision(
    length: float, depth: float, speed: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rounded places pull at short pieces: by less than counts beside a fly of 0.3 mN."""
    current = Current(Measured(depth, 0.1 * depth), Measured(speed, 0.1 * speed), 283.15, bed_named("gravel"))
    goal, count = Goal(), 40
    box = [
        RigFly(f"{weight}", Measured(sinks, 0.05 * sinks), Measured(weight, 0.05 * weight))
        for sinks, weight in ((0.08, 0.3e-3), (0.12, 0.55e-3), (0.16, 0.9e-3), (0.27, 2.1e-3))
    ]
    sets = [(place % len(box),) for place in range(MANY // count)]
    tackle = Tackle(DIAMETER, length)
    draws = drawn(count, len(box), len(steps(goal.longest(current, tackle))), 1)
    single = outcomes(current, tackle, box, sets, draws, goal)
    monkeypatch.setattr(Batch, "single", lambda self: self)
    double = outcomes(current, tackle, box, sets, draws, goal)
    assert np.isfinite(single.deepest).all()
    np.testing.assert_allclose(single.touched.mean(axis=1), double.touched.mean(axis=1), atol=0.051)
    np.testing.assert_allclose(single.at_level.mean(axis=1), double.at_level.mean(axis=1), atol=0.02)
    both = np.isfinite(single.landing) & np.isfinite(double.landing)
    assert both.any()
    np.testing.assert_allclose(single.landing[both], double.landing[both], rtol=0.02, atol=0.02)


@pytest.mark.parametrize(("kind", "near"), [(np.float32, 4e-4), (np.float64, 3e-4)])
def test_the_line_s_drag_is_that_of_the_published_laws(kind: type, near: float) -> None:
    # Cheng (2013) and King's law as tests/hydraulics checks them.
    reynolds = np.geomspace(0.1, 3000.0, 400)
    across = (reynolds * VISCOSITY / (DENSITY * DIAMETER)).astype(kind)
    normal, tangential = np.empty_like(across), np.empty_like(across)
    ThinLine(DIAMETER, DENSITY, VISCOSITY).fill(across, 0 * across, normal, tangential)
    expected = VISCOSITY * reynolds * cylinder_coefficient(reynolds) / 2
    np.testing.assert_allclose(normal, expected, rtol=near)
    np.testing.assert_allclose(normal[reynolds > SMOOTH], expected[reynolds > SMOOTH], rtol=1e-6)
    np.testing.assert_allclose(tangential, friction_along(reynolds, VISCOSITY), rtol=1e-6)


def test_the_slowest_line_is_dragged_by_its_plain_speed() -> None:
    across = np.array([0.0, 1e-5, 0.1 * VISCOSITY / (DENSITY * DIAMETER)])
    normal, tangential = np.empty(3), np.empty(3)
    ThinLine(DIAMETER, DENSITY, VISCOSITY).fill(across, 0 * across, normal, tangential)
    np.testing.assert_allclose(normal, normal[2], rtol=1e-12)
    assert tangential[0] == pytest.approx(0.65 * np.pi * VISCOSITY, rel=1e-12)


@pytest.mark.slow
def test_steps_as_they_are_go_as_deep_as_fine_ones() -> None:
    current = Current(Measured(0.8, 0.08), Measured(0.6, 0.06), 283.15, bed_named("gravel"))
    rigs, _ = rigs_of_draws(
        current, Tackle(DIAMETER, 2.0, (0.5,)), invented_box(8, 2), PAIRS, best_estimate(8)
    )
    deep = replace(rigs, floor=np.full(rigs.count, 50.0))
    usual, fine = (
        simulate(deep, times, lambda time, dt, state: False).place[1, -1]
        for times in (steps(3.0), steps(3.0, 0.01))
    )
    np.testing.assert_allclose(usual, fine, rtol=0.006)
    assert len(steps(3.0)) < len(steps(3.0, 0.01)) / 5
