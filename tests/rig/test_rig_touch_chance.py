"""The chance of touching by hand: rigs whose point sinks as a made-up law says, and a few that truly drift."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from flybench.quantity import Floats, Measured
from flybench.rig.advice.touches import prior_belief, touch_chance
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.simulate import steps
from flybench.rig.chain.watchers import Tally
from flybench.rig.odds.draws import drawn
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Rig, Tackle
from flybench.rig.water.bed import UNKNOWN, bed_named
from flybench.rig.water.current import Current

RIG = Rig(
    Tackle(0.15e-3, 2.5, (0.5,)),
    (
        RigFly("dropper", Measured(0.2, 0.0), Measured(1e-3, 0.0)),
        RigFly("point", Measured(0.3, 0.0), Measured(2e-3, 0.0)),
    ),
)
KNOWN = Current(Measured(0.6, 0.0), Measured(0.5, 0.0), 283.15, UNKNOWN)
SECONDS = 1.2


@pytest.fixture
def made_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the point sink to a tenth of the depth and as many metres as the water runs a second, and be carried 0.03 m
    deeper for each unit of the first random number of the turbulence, in water that has no floor within reach."""

    def simulate(rigs: Batch, times: tuple[float, ...], watch: Tally, noise: Floats | None = None) -> None:
        assert (rigs.floor > 20.0).all()
        assert rigs.fly_drag.shape[0] == 2
        assert times == steps(SECONDS)
        watch.deepest = 0.1 * rigs.profile.depth + rigs.profile.surface_speed  # type: ignore[attr-defined]
        if noise is not None:
            assert noise.shape == (len(times), rigs.count)
            watch.deepest = watch.deepest + 0.03 * noise[0]

    monkeypatch.setattr("flybench.rig.advice.touches.simulate", simulate)


def scattered(seed: int = 1) -> Floats:
    """Return by how much 200 drifts of that law lie below its estimate [m]."""
    noise = drawn(200, 2, len(steps(SECONDS)), seed).noise
    assert noise is not None
    return 0.03 * noise[0]


@pytest.mark.usefixtures("made_up")
@pytest.mark.parametrize("seed", [1, 2])
def test_the_chance_is_that_of_the_normal_law(seed: int) -> None:
    """p = Phi((z + b - h) / sigma), sigma the root of scatter squared and 0.05 m squared; scipy's normal law."""
    lower = scattered(seed)
    sigma = np.hypot(np.std(lower, ddof=1), 0.05)
    [[chance]] = touch_chance(RIG, KNOWN, prior_belief(KNOWN), SECONDS, seed=seed)
    assert chance == pytest.approx(norm.cdf((0.06 + 0.5 + lower.mean() - 0.6) / sigma), rel=1e-9)


@pytest.mark.usefixtures("made_up")
def test_every_place_of_the_grid_has_its_own_depth_and_speed() -> None:
    current = replace(KNOWN, depth=Measured(0.6, 0.06), surface_speed=Measured(0.5, 0.075))
    belief = prior_belief(current)
    lower = scattered()
    depth, speed = belief.depth[:, None], belief.speed[None, :]
    sigma = np.hypot(np.std(lower, ddof=1), 0.05)
    expected = norm.cdf((0.1 * depth + speed + lower.mean() - depth) / sigma)
    chance = touch_chance(RIG, current, belief, SECONDS)
    assert chance.shape == (41, 31)
    np.testing.assert_allclose(chance, np.clip(expected, 0.01, 0.99), rtol=1e-9)
    assert (chance == 0.01).any() and (chance == 0.99).any()


@pytest.mark.usefixtures("made_up")
def test_stones_lift_the_floor_and_scatter_it() -> None:
    """By hand: gravel of 30 mm has tops of 6 mm, lognormal by the doubt of its roughness, which meet the point sooner."""
    bed = bed_named("gravel")
    current = replace(KNOWN, bed=bed)
    lower = scattered() + 0.006 * np.exp(bed.doubt * drawn(200, 2, len(steps(SECONDS)), 1).shape) - 0.006
    sigma = np.hypot(np.std(lower, ddof=1), 0.05)
    [[chance]] = touch_chance(RIG, current, prior_belief(current), SECONDS)
    assert chance == pytest.approx(norm.cdf((0.56 + lower.mean() - 0.6 + 0.006) / sigma), rel=1e-9)


def test_a_drift_is_over_when_its_way_is_gone() -> None:
    """At 1.5 m/s half a metre is gone after a third of a second, before the point is down."""
    swift = replace(KNOWN, surface_speed=Measured(1.5, 0.0), depth=Measured(0.3, 0.0))
    belief = prior_belief(swift)
    [[whole]], [[short]] = (touch_chance(RIG, swift, belief, 1.5, way) for way in (np.inf, 0.5))
    [[timed]] = touch_chance(RIG, swift, belief, 0.5, np.inf)
    assert short < 0.1
    assert timed < 0.5 < whole


def test_the_shortest_drift_and_way_are_taken() -> None:
    [[chance]] = touch_chance(RIG, KNOWN, prior_belief(KNOWN), 0.5, 0.5)
    assert 0.01 <= chance < 0.5
