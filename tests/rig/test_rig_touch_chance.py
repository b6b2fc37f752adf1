"""The chance of touching by hand: rigs that sink as a made-up law says, and a few that truly drift."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from flybench.errors import BadValueError
from flybench.quantity import Floats, Measured
from flybench.rig.advice.belief import OWN_SLACK, Belief, prior_belief
from flybench.rig.advice.touch_chance import touch_chance
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.simulate import simulate, steps
from flybench.rig.chain.state import ChainState
from flybench.rig.chain.watchers import Tally
from flybench.rig.odds.draws import drawn, rigs_of_draws
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
    """Let flies sink to a tenth of the depth and as many metres as the water runs a second, and be carried 0.03 m deeper for
    each unit of the first random number of the turbulence, in water that has no floor within reach."""

    def simulate(rigs: Batch, times: tuple[float, ...], watch: Tally, noise: Floats | None = None) -> None:
        assert (rigs.floor > 20.0).all()
        assert rigs.fly_drag.shape[0] == 2
        assert times == steps(SECONDS)
        watch.deepest = 0.1 * rigs.profile.depth + rigs.profile.surface_speed  # type: ignore[attr-defined]
        if noise is not None:
            assert noise.shape == (2 * len(times), rigs.count)
            spread = rigs.slack[(rigs.slack > 0.0) & (rigs.slack < 0.97)].std()
            assert spread == pytest.approx(OWN_SLACK * 0.2, rel=0.05)
            watch.deepest = watch.deepest + 0.03 * noise[0]

    monkeypatch.setattr("flybench.rig.advice.touch_chance.simulate", simulate)


def scattered(seed: int = 1) -> Floats:
    """Return by how much 200 drifts of that law lie below its estimate [m]."""
    noise = drawn(200, 2, len(steps(SECONDS)), seed).noise
    assert noise is not None
    return 0.03 * noise[0]


def unfelt(belief: Belief) -> Belief:
    """Return the belief of somebody who feels every touch, and none where there was none."""
    return replace(belief, missed=np.zeros(1), false=np.zeros(1), share=belief.rivers[:, None])


@pytest.mark.usefixtures("made_up")
@pytest.mark.parametrize("seed", [1, 2])
def test_the_chance_is_that_of_the_normal_law(seed: int) -> None:
    """p = Phi((z + b r - h) / sigma), sigma the root of scatter squared and 0.05 m squared; r = sqrt(u*) of the steepness."""
    lower, belief = scattered(seed), unfelt(prior_belief(KNOWN))
    grown = np.sqrt(7 / (1 + 6 * np.exp(0.3 * belief.draws.shape)))
    sigma = np.hypot(grown * np.std(lower, ddof=1), 0.05)
    chance = touch_chance(RIG, KNOWN, belief, SECONDS, seed=seed)[:, 0]
    expected = norm.cdf((0.06 + 0.5 + grown * lower.mean() - 0.6) / sigma)
    np.testing.assert_allclose(chance, np.clip(expected, 0.005, 0.995), rtol=1e-9)


@pytest.mark.usefixtures("made_up")
def test_every_possible_river_has_its_own_depth_and_speed() -> None:
    current = replace(
        KNOWN, depth=Measured(0.6, 0.06), surface_speed=Measured(0.5, 0.075), bed=bed_named("gravel")
    )
    belief = unfelt(prior_belief(current))
    lower = scattered()
    stones = np.exp(current.bed.doubt * belief.draws.shape)
    friction = 0.41 * belief.speed / np.log1p(belief.depth / (0.003 * stones))
    grown = np.sqrt(friction * belief.depth / (0.41 * 0.5 / np.log1p(200) * 0.6))
    sigma = np.hypot(grown * np.std(lower, ddof=1), 0.05)
    tops = np.minimum(0.006 * stones, 0.5 * belief.depth)
    expected = norm.cdf(
        (0.1 * belief.depth + belief.speed + grown * lower.mean() - belief.depth + tops) / sigma
    )
    chance = touch_chance(RIG, current, belief, SECONDS)[:, 0]
    np.testing.assert_allclose(chance, np.clip(expected, 0.005, 0.995), rtol=1e-6)
    assert (chance == 0.005).any() and (chance == 0.995).any()


@pytest.mark.usefixtures("made_up")
def test_missed_and_false_touches_count() -> None:
    """By hand: of touches a tenth is missed, of other drifts 4 in 100 are thought to touch: 0.04 + 0.86 p."""
    plain = unfelt(prior_belief(KNOWN))
    felt = replace(plain, missed=plain.missed + 0.1, false=plain.false + 0.04)
    chance = touch_chance(RIG, KNOWN, plain, SECONDS)
    inside = (chance > 0.005) & (chance < 0.995)
    np.testing.assert_allclose(touch_chance(RIG, KNOWN, felt, SECONDS)[inside], 0.04 + 0.86 * chance[inside])


@pytest.mark.parametrize(
    ("seconds", "message"),
    [
        (0.4, "seconds: 0.4 is outside 0.5 to 60 s. Give the length of a drift, such as 8 s."),
        (61.0, "seconds: 61 is outside 0.5 to 60 s. Give the length of a drift, such as 8 s."),
    ],
)
def test_drifts_that_cannot_be_are_refused(seconds: float, message: str) -> None:
    with pytest.raises(BadValueError) as refused:
        touch_chance(RIG, KNOWN, prior_belief(KNOWN), seconds)
    assert str(refused.value) == message


def test_the_chance_is_that_of_the_whole_chain_over_bumps_and_turbulence() -> None:
    """What the chain does over the bed itself, touch by touch, against what is predicted without a bed."""
    seconds, count = 2.0, 300
    belief = unfelt(prior_belief(KNOWN))
    places = (np.arange(count) * len(belief.share)) // count
    predicted = float(np.mean(touch_chance(RIG, KNOWN, belief, seconds)[places, 0]))
    draws = replace(belief, share=np.full((len(belief.share), 1), 1 / len(belief.share))).likely(
        RIG.flies, count, len(steps(seconds)), seed=21
    )
    rigs, noise = rigs_of_draws(KNOWN, RIG.tackle, RIG.flies, [(0, 1)], draws)
    hit = np.zeros(count, dtype=bool)

    def watch(time: float, dt: float, state: ChainState) -> bool:
        np.logical_or(hit, state.bed[list(rigs.layout.nodes)].any(axis=0), out=hit)
        return False

    simulate(rigs, steps(seconds), watch, noise)
    assert 0.05 < predicted < 0.95
    # Three standard uncertainties of 300 drifts, and what the normal law leaves out.
    assert abs(hit.mean() - predicted) < 3 * np.sqrt(predicted * (1 - predicted) / count) + 0.03
