"""What the river says: likelihoods by hand, intervals that hold what they claim on simulated rivers, takes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest
from clips import once
from scipy.stats import beta, binom

from flybench.errors import BadValueError
from flybench.quantity import Floats, Measured
from flybench.rig.advice.takes import Takes
from flybench.rig.advice.touches import (
    RELIEF,
    WANTED,
    Belief,
    HowOften,
    Interval,
    Touches,
    prior_belief,
    touch_chance,
    updated_belief,
)
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.simulate import simulate, steps
from flybench.rig.chain.state import ChainState
from flybench.rig.chain.watchers import drift_ends
from flybench.rig.odds.draws import drawn, rigs_of_draws
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Rig, Tackle
from flybench.rig.water.bed import bed_named
from flybench.rig.water.current import Current

RIVER = Current(Measured(1.02, 0.20), Measured(0.61, 0.09), 283.15, bed_named("gravel"))
SECONDS, LENGTH = 10.0, 3.5
DROPPER = RigFly("dropper", Measured(0.2, 0.004), Measured(1e-3, 1e-5))
POINTS = ((0.2, 0.8), (0.25, 1.2), (0.3, 2.0), (0.35, 2.5), (0.4, 3.0), (0.45, 4.0), (0.55, 5.0))
RIGS = [
    Rig(
        Tackle(0.15e-3, 2.5, (0.5,)),
        (DROPPER, RigFly(f"{v}", Measured(v, 0.02 * v), Measured(w * 1e-3, w * 1e-5))),
    )
    for v, w in POINTS
]


@pytest.fixture(scope="module")
def chances(folder: Path) -> list[Floats]:
    belief = prior_belief(RIVER)

    def chance_of(rig: Rig) -> Floats:
        return touch_chance(rig, RIVER, belief, SECONDS, LENGTH)

    return [
        once(folder, f"chance that rig {number} touches", lambda rig=rig: chance_of(rig))
        for number, rig in enumerate(RIGS)
    ]


def test_counts_and_words_weigh_as_the_binomial_says() -> None:
    chance = np.array([0.05, 0.3, 0.9])
    likely = Touches(6, 2).log_likelihood(chance)
    np.testing.assert_allclose(likely - likely[0], binom.logpmf(2, 6, chance) - binom.logpmf(2, 6, chance[0]))
    np.testing.assert_allclose(Touches(5, HowOften.NEVER).log_likelihood(chance), binom.logpmf(0, 5, chance))
    np.testing.assert_allclose(Touches(5, HowOften.ALWAYS).log_likelihood(chance), binom.logpmf(5, 5, chance))
    some = sum(binom.pmf(count, 5, chance) for count in range(1, 5))
    np.testing.assert_allclose(Touches(5, HowOften.SOMETIMES).log_likelihood(chance), np.log(some))


@pytest.mark.slow
def test_many_drifts_do_not_run_out_of_numbers(chances: list[Floats]) -> None:
    belief = updated_belief(prior_belief(RIVER), chances[0], Touches(5000, 2500))
    assert belief.share.sum() == pytest.approx(1.0)
    assert belief.depth_interval.low < belief.depth_interval.high


def test_without_drifts_the_belief_is_what_was_measured() -> None:
    belief = prior_belief(RIVER)
    deep = belief.depth_interval
    # 80 % of a lognormal lie within 1.2816 standard uncertainties of its logarithm.
    assert deep.middle == pytest.approx(1.02, rel=0.005)
    assert np.log(deep.high / deep.low) == pytest.approx(2 * 1.2816 * 0.20 / 1.02, rel=0.02)
    spread = np.hypot(0.20 / 1.02, 0.09 / 0.61)
    product = belief.product_interval
    assert np.log(product.high / product.low) == pytest.approx(2 * 1.2816 * spread, rel=0.03)


def test_a_depth_that_is_known_stays() -> None:
    belief = prior_belief(replace(RIVER, depth=Measured(1.0, 0.0)))
    assert belief.depth_interval == Interval(1.0, 1.0, 1.0)
    both = prior_belief(replace(RIVER, depth=Measured(1.0, 0.0), surface_speed=Measured(0.5, 0.0)))
    assert both.product_interval.middle == pytest.approx(0.5)


@pytest.mark.slow
def test_a_heavier_point_touches_more_and_deeper_water_less(chances: list[Floats]) -> None:
    belief = prior_belief(RIVER)
    predicted = [float((belief.share * chance).sum()) for chance in chances]
    assert predicted == sorted(predicted)
    assert predicted[0] < 0.25
    assert predicted[-1] > 0.8
    for chance in chances:
        assert (np.diff(chance, axis=0) <= 1e-9).all()


@pytest.mark.slow
def test_no_touches_make_the_water_deeper(chances: list[Floats]) -> None:
    belief = prior_belief(RIVER)
    deeper, shallower = (
        updated_belief(belief, chances[3], Touches(6, said)) for said in (HowOften.NEVER, HowOften.ALWAYS)
    )
    assert shallower.depth_interval.middle < belief.depth_interval.middle < deeper.depth_interval.middle
    assert nearest(deeper, chances) > nearest(shallower, chances)


def nearest(belief: Belief, chances: list[Floats]) -> int:
    """Return the rig whose chance of touching is nearest to the wanted one: the next to tie on."""
    predicted = [float((belief.share * chance).sum()) for chance in chances]
    return int(np.argmin(np.abs(np.array(predicted) - WANTED)))


@pytest.mark.slow
@pytest.mark.parametrize("number", [1, 3])
def test_predicted_touches_come_true_where_the_water_is_known(number: int) -> None:
    # The whole chain over stones, bumps and turbulence, against the chance that was predicted without a bed.
    known = replace(
        RIVER, depth=Measured(0.75, 0.0), surface_speed=Measured(0.5, 0.0), bed=bed_named("cobble")
    )
    rig, seconds, count = RIGS[number], 2.5, 500
    [[chance]] = touch_chance(rig, known, prior_belief(known), seconds)
    taken = drawn(count, 2, len(steps(seconds)), 21)
    rigs, noise = rigs_of_draws(known, rig.tackle, rig.flies, [(0, 1)], taken)
    bumps = RELIEF * np.random.default_rng(22).standard_normal(count)
    rigs, hit = replace(rigs, floor=rigs.floor - bumps), np.zeros(count, dtype=bool)

    def watch(time: float, dt: float, state: ChainState) -> bool:
        np.logical_or(hit, state.bed[-1], out=hit)
        return False

    simulate(rigs, steps(seconds), watch, noise)
    assert 0.02 < chance < 0.98
    # Three standard uncertainties of 500 drifts, and what the normal law leaves out.
    assert abs(hit.mean() - chance) < 3 * np.sqrt(chance * (1 - chance) / count) + 0.03


@pytest.mark.slow
def test_chances_are_never_quite_certain() -> None:
    deep = replace(RIVER, depth=Measured(5.0, 0.0), surface_speed=Measured(0.5, 0.0))
    [[never]] = touch_chance(RIGS[0], deep, prior_belief(deep), 0.5)
    assert never == 0.01
    thin = replace(RIVER, depth=Measured(0.15, 0.0), surface_speed=Measured(0.5, 0.0))
    [[always]] = touch_chance(RIGS[-1], thin, prior_belief(thin), 2.0)
    assert always == 0.99


@pytest.mark.slow
def test_the_chance_goes_with_the_speed_that_is_believed() -> None:
    # Each point of the grid drifts in its own water: the middle one as where speed is known, the ends otherwise.
    doubted = replace(RIVER, depth=Measured(0.5, 0.0), surface_speed=Measured(0.5, 0.1))
    [over_speed] = touch_chance(RIGS[1], doubted, prior_belief(doubted), 2.0)
    known = replace(doubted, surface_speed=Measured(0.5, 0.0))
    [[alone]] = touch_chance(RIGS[1], known, prior_belief(known), 2.0)
    assert over_speed[15] == pytest.approx(alone, rel=1e-6)
    assert abs(over_speed[0] - over_speed[-1]) > 0.02


@pytest.mark.slow
def test_a_way_ends_a_drift_before_its_time() -> None:
    known = replace(RIVER, depth=Measured(0.75, 0.0), surface_speed=Measured(0.5, 0.0))
    belief = prior_belief(known)
    [[whole]], [[short]] = (touch_chance(RIGS[2], known, belief, 4.0, way) for way in (np.inf, 0.6))
    assert short < 0.5 * whole


@pytest.mark.parametrize(
    ("seconds", "way", "message"),
    [
        (0.4, np.inf, "seconds: 0.4 is outside 0.5 to 60 s. Give the length of a drift, such as 8 s."),
        (61.0, np.inf, "seconds: 61 is outside 0.5 to 60 s. Give the length of a drift, such as 8 s."),
        (5.0, 0.4, "length: 0.4 is below 0.5 m. Give the way from landing to lifting off."),
    ],
)
def test_drifts_that_cannot_be_are_refused(seconds: float, way: float, message: str) -> None:
    with pytest.raises(BadValueError) as refused:
        touch_chance(RIGS[0], RIVER, prior_belief(RIVER), seconds, way)
    assert str(refused.value) == message


def test_the_grid_holds_what_is_measured_and_bayes_moves_it() -> None:
    belief = prior_belief(RIVER)
    assert belief.share.shape == (41, 31)
    assert belief.share.sum() == pytest.approx(1.0)
    # 3.2 standard uncertainties of the logarithm to either side; the middle point is the most likely one.
    assert np.log(belief.depth[[0, 20, -1]] / 1.02) == pytest.approx([-3.2 * 0.2 / 1.02, 0, 3.2 * 0.2 / 1.02])
    assert np.log(belief.speed[[0, 15, -1]] / 0.61) == pytest.approx(
        [-3.2 * 0.09 / 0.61, 0, 3.2 * 0.09 / 0.61]
    )
    assert belief.share.argmax() == 20 * 31 + 15
    # A normal law: one standard uncertainty off is exp(-1/2) as likely.
    ratio = belief.share.sum(axis=1)[30] / belief.share.sum(axis=1)[20]
    assert ratio == pytest.approx(np.exp(-((3.2 / 2) ** 2) / 2))
    chance = np.where(belief.depth[:, None] > 1.02, 0.2, 0.6) * np.ones((1, 31))
    later = updated_belief(belief, chance, Touches(2, 1))
    # Bayes by hand: weights 0.2 x 0.8 and 0.6 x 0.4 on either side of 1.02 m.
    weight = np.where(belief.depth > 1.02, 0.16, 0.24) * belief.share.sum(axis=1)
    np.testing.assert_allclose(later.share.sum(axis=1), weight / weight.sum())


ROUNDS, DRIFTS = 4, 5
"""How often a rig is tied on, and for how many drifts."""


@dataclass(frozen=True)
class Rivers:
    """Simulated rivers: depth, surface speed, and how the bed and the flies' speeds differ from what is prior_belief."""

    depth: Floats
    speed: Floats
    shape: Floats
    flies: Floats


def rivers(count: int, seed: int) -> Rivers:
    draw = np.random.default_rng(seed).standard_normal
    depth, speed = (
        part.value * np.exp(part.standard_uncertainty / part.value * draw(count))
        for part in (RIVER.depth, RIVER.surface_speed)
    )
    return Rivers(depth, speed, draw(count), draw((count, 2)))


def drifts_with_each_rig(true: Rivers, seed: int) -> tuple[Batch, Floats]:
    """Return the drifts of every river with each rig in turn, rig by rig, and the noise of those of one rig."""
    count = len(true.depth)
    fresh = drawn(count * ROUNDS * DRIFTS, 2, len(steps(SECONDS)), seed)
    bumps = RELIEF * np.random.default_rng(seed + 1).standard_normal(fresh.count)

    def each(values: Floats) -> Floats:
        return np.repeat(values, ROUNDS * DRIFTS, axis=0)

    def normal(values: Floats, part: Measured) -> Floats:
        return each(np.log(values / part.value) / (part.standard_uncertainty / part.value))

    draws = replace(
        fresh,
        depth=normal(true.depth, RIVER.depth),
        surface_speed=normal(true.speed, RIVER.surface_speed),
        shape=each(true.shape),
        speeds=each(true.flies[:, [0, *[1] * len(RIGS)]]),
        weights=fresh.weights[:, [0, *[1] * len(RIGS)]],
        noise=None,
    )
    box = [DROPPER, *(rig.flies[1] for rig in RIGS)]
    sets = [(0, 1 + number) for number in range(len(RIGS))]
    rigs, _ = rigs_of_draws(RIVER, RIGS[0].tackle, box, sets, draws)
    assert fresh.noise is not None
    return replace(rigs, floor=rigs.floor - np.tile(bumps, len(RIGS))), fresh.noise


def touched(rigs: Batch, noise: Floats) -> np.ndarray:
    """Return in which drifts the point touched: the whole chain over the bed with turbulence."""
    over, hit = drift_ends(rigs, SECONDS, LENGTH), np.zeros(rigs.count, dtype=bool)

    def watch(time: float, dt: float, state: ChainState) -> bool:
        np.logical_or(hit, state.bed[-1] & (time <= over), out=hit)
        return time > over.max()

    simulate(rigs, steps(SECONDS), watch, noise)
    return hit


def fished(chances: list[Floats], true: Rivers, words: bool) -> list[Belief]:
    """Return the belief of every river after rounds of drifts, each with the rig that its belief says is the next."""
    beliefs = [prior_belief(RIVER)] * len(true.depth)
    rigs, noise = drifts_with_each_rig(true, 50)
    for turn in range(ROUNDS):
        numbers = np.array([nearest(belief, chances) for belief in beliefs])
        drifts = np.add.outer(np.arange(len(beliefs)) * ROUNDS * DRIFTS, turn * DRIFTS + np.arange(DRIFTS))
        columns = (numbers[:, None] * noise.shape[1] + drifts).ravel()
        hits = touched(rigs.part(columns), noise[:, drifts.ravel()]).reshape(drifts.shape).sum(axis=1)
        beliefs = [
            updated_belief(
                belief, chances[number], Touches(DRIFTS, worded(int(count)) if words else int(count))
            )
            for belief, number, count in zip(beliefs, numbers, hits, strict=True)
        ]
    return beliefs


def worded(count: int) -> HowOften:
    return {0: HowOften.NEVER, DRIFTS: HowOften.ALWAYS}.get(count, HowOften.SOMETIMES)


@pytest.mark.slow
@pytest.mark.parametrize("words", [False, True], ids=["counts", "words"])
def test_intervals_hold_what_they_claim(chances: list[Floats], words: bool) -> None:
    true = rivers(400, 7)
    held, missed = np.zeros((3, 400), dtype=bool), np.zeros(400)
    for number, belief in enumerate(fished(chances, true, words)):
        deep, fast = true.depth[number], true.speed[number]
        pairs = (
            (belief.depth_interval, deep),
            (belief.speed_interval, fast),
            (belief.product_interval, deep * fast),
        )
        held[:, number] = [one.low <= value <= one.high for one, value in pairs]
        missed[number] = abs(belief.product_interval.middle / (deep * fast) - 1)
    # 80 %, give or take two standard uncertainties of 400 rivers and what the model leaves out.
    assert (held.mean(axis=1) > 0.75).all(), held.mean(axis=1)
    assert (held.mean(axis=1) < 0.85).all(), held.mean(axis=1)
    before = np.mean(np.abs(1.02 * 0.61 / (true.depth * true.speed) - 1))
    assert missed.mean() < 0.45 * before


@pytest.mark.parametrize(
    ("drifts", "said", "message"),
    [
        (0, 0, "drifts: 0 drifts say nothing. Give 1 or more."),
        (
            3,
            4,
            "touched: 4 of 3 drifts cannot have touched. Count each drift once, however often it touched.",
        ),
        (1, HowOften.SOMETIMES, "drifts: one drift alone cannot touch sometimes. Give the number of drifts."),
    ],
)
def test_reports_that_cannot_be_are_refused(drifts: int, said: int | HowOften, message: str) -> None:
    with pytest.raises(BadValueError) as refused:
        Touches(drifts, said)
    assert str(refused.value) == message


def test_takes_are_weighed_as_the_beta_says() -> None:
    takes = Takes(7, 2)
    even = beta(8, 3)
    assert takes.dropper_more == pytest.approx(even.sf(0.5))
    assert (takes.share.low, takes.share.middle, takes.share.high) == pytest.approx(even.ppf([0.1, 0.5, 0.9]))
    # By hand: all n takes on one fly leave (1/2)^(n + 1) for the other.
    assert Takes(0, 4).dropper_more == pytest.approx(0.5**5)
