"""Beliefs about a river by hand: intervals of a few possible ones, counts at their ends, and how unlikely a report was."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import binom, norm

from flybench.errors import BadValueError
from flybench.quantity import Measured
from flybench.rig.advice.belief import (
    AS_TYPED,
    OTHERWISE,
    WIDER,
    WRONG,
    interval,
    prior_belief,
    updated_belief,
)
from flybench.rig.advice.touches import HowOften, Touches
from flybench.rig.tackle.flies import RigFly
from flybench.rig.water.bed import bed_named
from flybench.rig.water.current import Current

RIVER = Current(Measured(1.02, 0.1), Measured(0.61, 0.05), 283.15, bed_named("gravel"))
FLIES = [RigFly(name, Measured(0.3, 0.01), Measured(2e-3, 1e-4)) for name in ("A", "b")]


def test_an_interval_lies_between_the_middles_of_the_steps() -> None:
    """By hand, shares 1, 4, 4, 1 of logarithms 0 to 3: their middles lie at 0.05, 0.3, 0.7 and 0.95 of all."""
    found = interval(np.exp([2.0, 0.0, 3.0, 1.0]), np.array([4.0, 1.0, 1.0, 4.0]))
    expected = [(0.1 - 0.05) / 0.25, 1 + 0.2 / 0.4, 2 + 0.2 / 0.25]
    assert np.log([found.low, found.middle, found.high]) == pytest.approx(expected)


def test_before_any_drift_the_river_is_as_typed_or_as_likely_wider() -> None:
    belief = prior_belief(RIVER)
    assert len(belief.share) == AS_TYPED + OTHERWISE
    assert belief.share.sum() == pytest.approx(1.0)
    assert belief.share[~belief.typed].sum() == pytest.approx(WRONG)
    assert belief.share.shape == (AS_TYPED + OTHERWISE, 9)
    logs = np.log(belief.depth / 1.02)
    assert np.std(logs[belief.typed]) == pytest.approx(0.1 / 1.02, rel=0.02)
    assert np.std(logs[~belief.typed]) == pytest.approx(WIDER * 0.1 / 1.02, rel=0.03)
    assert belief.depth_interval.middle == pytest.approx(1.02, rel=0.005)
    # scipy: the end of 80 % of a mixture of two normals, one WIDER times as wide as the other.
    end = brentq(lambda x: (1 - WRONG) * norm.cdf(x) + WRONG * norm.cdf(x / WIDER) - 0.9, 0, 9)
    width = np.log(belief.depth_interval.high / belief.depth_interval.low)
    assert width == pytest.approx(2 * end * 0.1 / 1.02, rel=0.02)
    anglers = {(round(m, 3), round(f, 3)) for m, f in zip(belief.missed, belief.false, strict=True)}
    assert anglers == {(m, f) for m in (0.05, 0.15, 0.25) for f in (0.017, 0.05, 0.083)}


def test_a_depth_that_is_known_stays() -> None:
    belief = prior_belief(replace(RIVER, depth=Measured(1.0, 0.0)))
    assert belief.depth_interval.low == pytest.approx(1.0)
    assert belief.depth_interval.high == pytest.approx(1.0)


def test_a_fly_keeps_its_numbers_whatever_rig_it_is_on() -> None:
    belief = prior_belief(RIVER)
    both, alone = belief.with_flies(FLIES), belief.with_flies([replace(FLIES[0], name="a")])
    np.testing.assert_array_equal(both.speeds[:, 0], alone.speeds[:, 0])
    assert abs(np.corrcoef(both.speeds.T)[0, 1]) < 0.1
    assert np.std(both.speeds, axis=0) == pytest.approx([1.0, 1.0], rel=0.02)


def test_likely_draws_are_taken_as_often_as_they_are_likely() -> None:
    """By hand: all belief on one river leaves its depth and bed in every draw; bumps, water and casts still differ."""
    belief = prior_belief(RIVER)
    only = replace(belief, share=(np.arange(len(belief.share)) == 17).astype(float)[:, None])
    draws = only.likely(FLIES, 20, 5)
    assert set(draws.depth) == {belief.draws.depth[17]}
    assert set(draws.shape) == {belief.draws.shape[17]}
    assert len(set(draws.slack)) == len(set(draws.bump)) == 20
    assert draws.noise is not None
    assert (draws.noise.shape, draws.speeds.shape) == ((10, 20), (20, 2))
    halves = replace(belief, share=np.where(belief.depth > 1.02, 0.75, 0.25)[:, None])
    halves = replace(halves, share=halves.share / halves.share.sum())
    assert np.mean(halves.likely(FLIES, 400, 2).depth > 0) == pytest.approx(0.75, abs=0.02)


def test_bayes_moves_the_belief() -> None:
    """By hand: two halves, twice as likely on one side, are 2 : 1 afterwards."""
    belief = prior_belief(RIVER)
    deep = belief.depth > np.median(belief.depth)
    before = belief.share[deep].sum()
    later = updated_belief(belief, np.where(deep, np.log(2.0), 0.0)[:, None])
    assert later.share.sum() == pytest.approx(1.0)
    assert later.share[deep].sum() == pytest.approx(2 * before / (1 + before))


def test_counts_and_words_weigh_as_the_binomial_says() -> None:
    chance = np.array([0.05, 0.3, 0.9])
    likely = Touches(6, 2).log_likelihood(chance)
    np.testing.assert_allclose(likely - likely[0], binom.logpmf(2, 6, chance) - binom.logpmf(2, 6, chance[0]))
    np.testing.assert_allclose(Touches(5, HowOften.NEVER).log_likelihood(chance), binom.logpmf(0, 5, chance))
    np.testing.assert_allclose(Touches(5, HowOften.ALWAYS).log_likelihood(chance), binom.logpmf(5, 5, chance))
    some = sum(binom.pmf(count, 5, chance) for count in range(1, 5))
    np.testing.assert_allclose(Touches(5, HowOften.SOMETIMES).log_likelihood(chance), np.log(some))


def test_a_single_drift_that_touched_always_or_never_is_a_count() -> None:
    chance = np.array([0.2, 0.7])
    assert Touches(1, 1).log_likelihood(chance) == pytest.approx(np.log(chance))
    assert Touches(1, 0).log_likelihood(chance) == pytest.approx(np.log(1 - chance))
    assert Touches(1, HowOften.ALWAYS).log_likelihood(chance) == pytest.approx(np.log(chance))
    assert Touches(1, HowOften.NEVER).log_likelihood(chance) == pytest.approx(np.log(1 - chance))
    assert Touches(2, HowOften.SOMETIMES).log_likelihood(chance) == pytest.approx(
        np.log(2 * chance * (1 - chance))
    )
    for touched in (0, 3):
        assert Touches(3, touched).touched == touched


def test_how_unlikely_a_report_was_is_summed_over_all_no_more_likely() -> None:
    """Against scipy's binomial: at 0.3, of 6 drifts 5 and 6 are no more likely than 5, and 0, 4 to 6 than 0."""
    one, sure = np.array([0.3]), np.ones(1)
    law = binom(6, 0.3)
    assert Touches(6, 5).as_unlikely(one, sure) == pytest.approx(law.sf(4))
    assert Touches(6, 0).as_unlikely(one, sure) == pytest.approx(law.pmf(0) + law.sf(3))
    assert Touches(6, 2).as_unlikely(one, sure) == pytest.approx(1.0)
    assert Touches(6, HowOften.ALWAYS).as_unlikely(one, sure) == pytest.approx(law.pmf(6))
    assert Touches(6, HowOften.SOMETIMES).as_unlikely(one, sure) == pytest.approx(1.0)
    assert Touches(1, 1).as_unlikely(one, sure) == pytest.approx(0.3)
    # Two rivers, 3 : 1: the probability of 6 of 6 is the mean of theirs.
    mixed = Touches(6, 6).as_unlikely(np.array([0.3, 0.5]), np.array([3.0, 1.0]))
    assert mixed == pytest.approx((3 * 0.3**6 + 0.5**6) / 4)


@pytest.mark.parametrize(
    ("drifts", "said", "message"),
    [
        (
            3,
            -1,
            "touched: -1 of 3 drifts cannot have touched. Count each drift once, however often it touched.",
        ),
        (
            3,
            4,
            "touched: 4 of 3 drifts cannot have touched. Count each drift once, however often it touched.",
        ),
        (-1, 0, "drifts: -1 drifts say nothing. Give 1 or more."),
        (0, HowOften.NEVER, "drifts: 0 drifts say nothing. Give 1 or more."),
        (1, HowOften.SOMETIMES, "drifts: one drift alone cannot touch sometimes. Give the number of drifts."),
    ],
)
def test_counts_that_cannot_be_are_refused(drifts: int, said: int | HowOften, message: str) -> None:
    with pytest.raises(BadValueError) as refused:
        Touches(drifts, said)
    assert str(refused.value) == message


def test_ten_thousand_drifts_weigh_by_their_differences() -> None:
    """By hand: 5000 of 10 000 are e^d times as likely at 0.5 as at 0.49, whatever the size, and do not run out of numbers."""
    chance = np.array([0.5, 0.49, 0.01])
    likely = Touches(10_000, 5000).log_likelihood(chance)
    assert likely[0] - likely[1] == pytest.approx(5000 * np.log(0.25 / (0.49 * 0.51)))
    belief = prior_belief(RIVER)
    sure = updated_belief(belief, np.where(belief.depth > 1.02, likely[0], likely[2])[:, None])
    assert sure.share[belief.depth <= 1.02].sum() == 0.0
    assert Touches(10_000, 5000).as_unlikely(chance[:1], np.ones(1)) == pytest.approx(1.0)
