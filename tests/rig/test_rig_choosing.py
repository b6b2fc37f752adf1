"""Choosing flies: the stated probabilities against fresh draws, ties told, nothing good thrown away early."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from clips import once

from flybench.errors import BadValueError
from flybench.quantity import Measured
from flybench.rig.advice import choosing
from flybench.rig.advice.aim import Aim, Outcomes, difference, order, scores
from flybench.rig.advice.choosing import Choice, choose
from flybench.rig.advice.outcomes import outcomes
from flybench.rig.advice.tuning import tune
from flybench.rig.chain.simulate import steps
from flybench.rig.odds.draws import best_estimate, drawn
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Hold, Tackle
from flybench.rig.water.bed import bed_named
from flybench.rig.water.current import Current
from flybench.rig.water.level import FishLevel

RIVER = Current(Measured(1.0, 0.1), Measured(0.7, 0.07), 283.15, bed_named("gravel"))
TACKLE = Tackle(0.15e-3, 2.0, (0.5,))
AIM = Aim(target=2.0, length=3.0, seconds=8.0)


def box(count: int, seed: int = 2) -> list[RigFly]:
    draw = np.random.default_rng(seed)
    speed, weight = draw.uniform(0.12, 0.5, count), np.exp(draw.uniform(np.log(4e-4), np.log(5e-3), count))
    return [
        RigFly(f"F{number}", Measured(v, 0.03 * v), Measured(w, 0.02 * w))
        for number, (v, w) in enumerate(zip(speed, weight, strict=True))
    ]


def test_the_utility_is_what_it_is_said_to_be() -> None:
    # By hand: S .4, G .1, droppers .5; 3 of 4 draws in time: .4 - 2 x .1 + .3 x .5 - (.8 - .75).
    way = np.array([[1.0, 2.0, 2.4, np.inf]])
    parts = [np.full((1, 4), value) for value in (0.4, 0.1, 0.5)]
    aim = Aim(target=2.5, bed_cost=2.0, dropper_level=FishLevel(0.3, 0.6), dropper_weight=0.3)
    scored = scores(Outcomes(*parts, way, way, way), aim)
    assert scored.utility[0] == pytest.approx(0.3)
    assert scored.in_time[0] == 0.75
    # Only the share in time scatters here: sd of (1, 1, 1, 0) is 0.5, over 2.
    assert scored.doubt[0] == pytest.approx(0.25)


def test_a_difference_is_told_over_the_same_draws() -> None:
    common = np.random.default_rng(1).uniform(0, 1, 200)
    at_level = np.stack([common, common - 0.05])
    zero = np.zeros((2, 200))
    scored = scores(Outcomes(at_level, zero, zero, zero, zero, zero), Aim())
    gap, doubt = difference(scored, 0, 1)
    assert gap == pytest.approx(0.05)
    assert doubt == pytest.approx(0.0, abs=1e-12)
    assert list(order(scored)) == [0, 1]


@pytest.fixture(scope="module")
def choice(folder: Path) -> Choice:
    made: Choice = once(folder, "twelve flies chosen among", lambda: choose(box(12), RIVER, TACKLE, AIM))
    return made


@pytest.mark.slow
def test_stated_probabilities_hold_in_fresh_draws(choice: Choice) -> None:
    flies, fresh = box(12), drawn(1500, 12, len(steps(AIM.seconds)), seed=99)
    top = choice.ranked[:10]
    [found] = outcomes(RIVER, TACKLE, flies, [one.flies for one in top], fresh, [AIM])
    again = scores(found, AIM)
    for number, one in enumerate(top):
        assert abs(again.in_time[number] - one.in_time) < 3.5 * np.hypot(one.in_time_doubt, 0.013)
        assert abs(again.utility[number] - one.utility) < 3.5 * np.hypot(one.doubt, again.doubt[number])


@pytest.mark.slow
def test_the_choice_is_ranked_and_repeatable(choice: Choice) -> None:
    utilities = [one.utility for one in choice.ranked]
    assert utilities == sorted(utilities, reverse=True)
    assert choice.ranked[0].behind == 0
    assert choice.ranked[0].tie
    assert choice.tried == 144
    few = choose(box(4), RIVER, TACKLE, AIM)
    assert choose(box(4), RIVER, TACKLE, AIM) == few
    assert choose(box(4), RIVER, TACKLE, AIM, seed=8).ranked != few.ranked


@pytest.mark.slow
def test_the_staged_search_finds_what_trying_everything_finds(
    choice: Choice, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patched:
        patched.setattr(choosing, "PROMISING", 44)
        patched.setattr(choosing, "FINAL", 12)
        quick = choose(box(12), RIVER, TACKLE, AIM)
    assert quick.ranked[0].utility > choice.ranked[0].utility - 2 * choice.ranked[0].doubt
    assert len(quick.ranked) == 12


@pytest.mark.slow
def test_not_only_the_best_of_the_rough_try_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(choosing, "PROMISING", 44)
    sets = list(itertools.product(range(12), repeat=2))
    kept = choosing._promising(RIVER, TACKLE, box(12), sets, AIM, seed=1)
    assert len(kept) == len(set(kept)) == 44
    [rough] = outcomes(RIVER, TACKLE, box(12), sets, best_estimate(12), [AIM])
    way, places = rough.way[:, 0], [sets.index(one) for one in kept]
    reaching = np.sort(way[np.isfinite(way)])
    tenths = np.searchsorted(
        np.quantile(reaching, np.linspace(0.1, 0.9, 9)), way[places][np.isfinite(way[places])]
    )
    assert set(tenths) == set(range(10))


@pytest.mark.slow
def test_one_fly_is_not_tied_on_twice_unless_allowed() -> None:
    once = choose(box(5), RIVER, TACKLE, AIM, twice=False, draws=20)
    assert once.tried == 20
    assert all(len(set(one.flies)) == 2 for one in once.ranked)


@pytest.mark.slow
def test_single_flies_and_two_droppers_are_chosen_alike() -> None:
    assert choose(box(5), RIVER, Tackle(0.15e-3, 2.0), AIM, draws=20).tried == 5
    assert choose(box(3), RIVER, Tackle(0.15e-3, 2.0, (0.9, 0.4)), AIM, draws=20).tried == 27


@pytest.mark.slow
def test_lead_and_landing_are_tuned() -> None:
    led = Tackle(0.15e-3, 2.0, (0.5,), hold=Hold.LED, lead_speed=0.7)
    flies = box(6)
    first = choose(flies, RIVER, led, AIM, draws=60)
    tuned = tune(flies, RIVER, led, AIM, first)
    assert {one.lead_speed for one in tuned} >= {0.7 * 0.8, 0.7}
    assert {round(one.target, 3) for one in tuned} == {1.6, 2.0, 2.5, 3.0}
    same = [one for one in tuned if one.lead_speed == 0.7 and one.target == 2.0]
    assert max(one.utility for one in same) == pytest.approx(first.ranked[0].utility, abs=0.15)
    assert tuned[0].utility >= max(one.utility for one in same)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (
            lambda: Aim(target=5.0),
            "target: 5 is outside 0.1 to 4 m. Give a way no longer than the whole drift.",
        ),
        (
            lambda: Aim(length=0.1),
            "drift length: 0.1 is outside 0.5 to 30 m. Give the way from landing to lifting off.",
        ),
        (lambda: Aim(seconds=40.0), "seconds: 40 is outside 1 to 30 s. Give the longest time of a drift."),
        (
            lambda: Aim(bed_cost=-0.1),
            "bed cost: -0.1 is outside 0 to 10. Give 1 to 2, more where the bed holds snags.",
        ),
        (
            lambda: Aim(wanted_in_time=1.1),
            "in time: 1.1 is outside 0 to 1. Give a share, such as 0.8 for four drifts of five.",
        ),
        (
            lambda: Aim(dropper_weight=11.0, dropper_level=FishLevel(0.3, 0.6)),
            "dropper weight: 11 is outside 0 to 10. Give 1 where the dropper counts as much as the point.",
        ),
        (
            lambda: Aim(dropper_weight=0.5),
            "dropper weight: is given without the dropper's level. Give that level too.",
        ),
        (
            lambda: choose([], RIVER, TACKLE, AIM),
            "box: holds too few flies (0) for the places on the leader (2). Add flies that sink.",
        ),
        (
            lambda: choose(box(1), RIVER, TACKLE, AIM, twice=False),
            "box: holds too few flies (1) for the places on the leader (2). Add flies that sink.",
        ),
        (
            lambda: choose(box(200), RIVER, TACKLE, AIM),
            "box: 200 flies on 2 places make 40000 rigs, more than the 20000 that are tried. Take fewer flies, for example "
            "by a query.",
        ),
    ],
)
def test_an_aim_or_a_box_that_cannot_be_is_refused(make: Callable[[], object], message: str) -> None:
    with pytest.raises(BadValueError) as refused:
        make()
    assert str(refused.value) == message


def test_the_ends_of_what_an_aim_may_be_are_taken() -> None:
    ends = Aim(target=4.0, length=4.0, seconds=30.0, bed_cost=10.0, wanted_in_time=1.0)
    assert ends.target == ends.length == 4.0
    assert Aim(target=0.1, length=0.5, seconds=1.0, bed_cost=0.0, wanted_in_time=0.0).dropper_weight == 0.0
    usual = Aim()
    assert (usual.target, usual.length, usual.seconds, usual.bed_cost) == (2.5, 4.0, 15.0, 1.0)
    assert (usual.wanted_in_time, usual.dropper_weight, usual.level) == (0.8, 0.0, FishLevel(0.0, 0.2))


def test_sets_are_ordered_by_utility_and_one_draw_has_no_scatter() -> None:
    # By hand: three sets, two draws; all in time, so that only time at the level and on the bed counts.
    at_level = np.array([[0.2, 0.4], [0.6, 0.8], [0.5, 0.5]])
    on_bed = np.array([[0.0, 0.0], [0.1, 0.3], [0.0, 0.0]])
    zero = np.zeros((3, 2))
    scored = scores(Outcomes(at_level, on_bed, zero, zero, zero, zero), Aim())
    np.testing.assert_allclose(scored.utility, [0.3, 0.5, 0.5])
    assert list(order(scored)) == [1, 2, 0]
    np.testing.assert_allclose(scored.at_level, [0.3, 0.7, 0.5])
    np.testing.assert_allclose(scored.on_bed, [0.0, 0.2, 0.0])
    gap, doubt = difference(scored, 1, 0)
    assert gap == pytest.approx(0.2)
    # The draws differ by 0.3 and 0.1: sd 0.1 sqrt 2, over sqrt 2.
    assert doubt == pytest.approx(0.1)
    single = scores(Outcomes(*(part[:, :1] for part in (at_level, on_bed, zero, zero, zero, zero))), Aim())
    assert list(single.doubt) == [0.0, 0.0, 0.0]
    assert difference(single, 1, 0)[1] == 0.0


def test_lacking_time_counts_once_below_what_is_wanted() -> None:
    # Half of the draws in time, and one just at the target: 0.8 wanted leaves 0.3 lacking, 0.5 leaves nothing.
    way = np.array([[2.5, np.inf]])
    zero = np.zeros((1, 2))
    wanting = scores(Outcomes(zero, zero, zero, way, way, way), Aim(target=2.5))
    assert wanting.in_time[0] == 0.5
    assert wanting.utility[0] == pytest.approx(-0.3)
    assert wanting.doubt[0] == pytest.approx(0.5)
    content = scores(Outcomes(zero, zero, zero, way, way, way), Aim(target=2.5, wanted_in_time=0.5))
    assert content.utility[0] == 0.0
    assert content.doubt[0] == 0.0
