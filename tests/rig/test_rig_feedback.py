"""What the river says: likelihoods by hand, intervals that hold what they claim on simulated rivers, takes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.stats import beta, binom

from flybench.errors import BadValueError
from flybench.quantity import Floats, Measured
from flybench.rig.chain.record import ends
from flybench.rig.chain.state import State
from flybench.rig.chain.time_steps import run, steps
from flybench.rig.odds.draws import batch, drawn
from flybench.rig.odds.feedback import (
    RELIEF,
    Belief,
    Interval,
    Said,
    Touches,
    believed,
    heard,
    next_rig,
    touch_chance,
)
from flybench.rig.odds.takes import Takes
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
def chances() -> list[Floats]:
    belief = believed(RIVER)
    return [touch_chance(rig, RIVER, belief, SECONDS, LENGTH) for rig in RIGS]


def test_counts_and_words_weigh_as_the_binomial_says() -> None:
    chance = np.array([0.05, 0.3, 0.9])
    likely = Touches(6, 2).log_likelihood(chance)
    np.testing.assert_allclose(likely - likely[0], binom.logpmf(2, 6, chance) - binom.logpmf(2, 6, chance[0]))
    np.testing.assert_allclose(Touches(5, Said.NEVER).log_likelihood(chance), binom.logpmf(0, 5, chance))
    np.testing.assert_allclose(Touches(5, Said.ALWAYS).log_likelihood(chance), binom.logpmf(5, 5, chance))
    some = sum(binom.pmf(count, 5, chance) for count in range(1, 5))
    np.testing.assert_allclose(Touches(5, Said.SOMETIMES).log_likelihood(chance), np.log(some))


def test_many_drifts_do_not_run_out_of_numbers(chances: list[Floats]) -> None:
    belief = heard(believed(RIVER), chances[0], Touches(5000, 2500))
    assert belief.share.sum() == pytest.approx(1.0)
    assert belief.depth_interval.low < belief.depth_interval.high


def test_without_drifts_the_belief_is_what_was_measured() -> None:
    belief = believed(RIVER)
    deep = belief.depth_interval
    # 80 % of a lognormal lie within 1.2816 standard uncertainties of its logarithm.
    assert deep.middle == pytest.approx(1.02, rel=0.005)
    assert np.log(deep.high / deep.low) == pytest.approx(2 * 1.2816 * 0.20 / 1.02, rel=0.02)
    spread = np.hypot(0.20 / 1.02, 0.09 / 0.61)
    product = belief.product_interval
    assert np.log(product.high / product.low) == pytest.approx(2 * 1.2816 * spread, rel=0.03)


def test_a_depth_that_is_known_stays() -> None:
    belief = believed(replace(RIVER, depth=Measured(1.0, 0.0)))
    assert belief.depth_interval == Interval(1.0, 1.0, 1.0)
    both = believed(replace(RIVER, depth=Measured(1.0, 0.0), surface_speed=Measured(0.5, 0.0)))
    assert both.product_interval.middle == pytest.approx(0.5)


def test_a_heavier_point_touches_more_and_deeper_water_less(chances: list[Floats]) -> None:
    belief = believed(RIVER)
    predicted = [float((belief.share * chance).sum()) for chance in chances]
    assert predicted == sorted(predicted)
    assert predicted[0] < 0.25
    assert predicted[-1] > 0.8
    for chance in chances:
        assert (np.diff(chance, axis=0) <= 1e-9).all()


def test_no_touches_make_the_water_deeper(chances: list[Floats]) -> None:
    belief = believed(RIVER)
    deeper, shallower = (heard(belief, chances[3], Touches(6, said)) for said in (Said.NEVER, Said.ALWAYS))
    assert shallower.depth_interval.middle < belief.depth_interval.middle < deeper.depth_interval.middle
    assert next_rig(deeper, chances)[0] > next_rig(shallower, chances)[0]


def test_the_next_rig_is_the_one_that_touches_now_and_then(chances: list[Floats]) -> None:
    belief = believed(RIVER)
    number, chance = next_rig(belief, chances, wanted=0.25)
    predicted = [float((belief.share * one).sum()) for one in chances]
    assert abs(chance - 0.25) == min(abs(one - 0.25) for one in predicted)
    assert predicted[number] == chance


@dataclass(frozen=True)
class Rivers:
    """Simulated rivers: depth, surface speed, and how the bed and the flies' speeds differ from what is believed."""

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


def touched(rig: Rig, true: Rivers, drifts: int, seed: int) -> np.ndarray:
    """Return whether the point touched, (rivers, drifts): the whole chain over the bed with turbulence."""
    count = len(true.depth)
    fresh = drawn(count * drifts, 2, len(steps(SECONDS)), seed)
    bumps = RELIEF * np.random.default_rng(seed + 1).standard_normal(count * drifts)

    def normal(values: Floats, part: Measured) -> Floats:
        return np.repeat(np.log(values / part.value) / (part.standard_uncertainty / part.value), drifts)

    each = replace(
        fresh,
        depth=normal(true.depth, RIVER.depth),
        surface_speed=normal(true.speed, RIVER.surface_speed),
        shape=np.repeat(true.shape, drifts),
        speeds=np.repeat(true.flies, drifts, axis=0),
    )
    rigs, noise = batch(RIVER, rig.tackle, rig.flies, [(0, 1)], each)
    rigs = replace(rigs, floor=rigs.floor - bumps)
    over, hit = ends(rigs, SECONDS, LENGTH), np.zeros(rigs.count, dtype=bool)

    def watch(time: float, dt: float, state: State) -> bool:
        np.logical_or(hit, state.bed[-1] & (time <= over), out=hit)
        return time > over.max()

    run(rigs, steps(SECONDS), watch, noise)
    return hit.reshape(count, drifts)


def fished(chances: list[Floats], hits: np.ndarray, words: bool) -> Belief:
    """Return the belief after four rigs of five drifts each; ``hits`` are those of one river, (rigs, drifts)."""
    belief, used = believed(RIVER), [0] * len(RIGS)
    for _ in range(4):
        number, _ = next_rig(belief, chances)
        count = int(hits[number, used[number] : used[number] + 5].sum())
        used[number] += 5
        word = {0: Said.NEVER, 5: Said.ALWAYS}.get(count, Said.SOMETIMES)
        belief = heard(belief, chances[number], Touches(5, word if words else count))
    return belief


@pytest.fixture(scope="module")
def simulated() -> tuple[Rivers, np.ndarray]:
    true = rivers(400, 7)
    hits = [touched(rig, true, 20, 50 + number) for number, rig in enumerate(RIGS)]
    return true, np.stack(hits, axis=1)


@pytest.mark.slow
@pytest.mark.parametrize("words", [False, True], ids=["counts", "words"])
def test_intervals_hold_what_they_claim(
    chances: list[Floats], simulated: tuple[Rivers, np.ndarray], words: bool
) -> None:
    true, hits = simulated
    held, missed = np.zeros((3, 400), dtype=bool), np.zeros(400)
    for number in range(400):
        belief = fished(chances, hits[number], words)
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
        (0, 0, "drifts: 0 drifts tell nothing. Give 1 or more."),
        (3, 4, "touched: 4 touches in 3 drifts cannot be. Count each drift once."),
        (1, Said.SOMETIMES, "drifts: one drift cannot touch sometimes. Give the number of drifts."),
    ],
)
def test_reports_that_cannot_be_are_refused(drifts: int, said: int | Said, message: str) -> None:
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


@pytest.mark.parametrize(
    ("dropper", "point", "verdict"),
    [
        (0, 0, "No takes yet: nothing is known."),
        (
            1,
            0,
            "Neither fly is seen to be taken more. A small sample (1 take): chance alone does much.",
        ),
        (
            5,
            0,
            "The dropper is taken more, with a probability of 98%. A small sample (5 takes): chance alone does much.",
        ),
        (7, 8, "Neither fly is seen to be taken more."),
        (4, 16, "The point is taken more, with a probability of more than 99%."),
    ],
)
def test_a_small_sample_is_said_to_be_small(dropper: int, point: int, verdict: str) -> None:
    assert Takes(dropper, point).verdict == verdict
