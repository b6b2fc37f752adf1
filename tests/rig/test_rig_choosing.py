"""Choosing flies: the stated probabilities against fresh draws, ties told, nothing good thrown away early."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
from clips import once
from rigging import invented_box

from flybench.errors import BadValueError
from flybench.quantity import Measured
from flybench.rig.advice import choosing, tuning
from flybench.rig.advice.alike import groups_of
from flybench.rig.advice.choosing import Candidate, Choice, advised, choose
from flybench.rig.advice.missing import SPEEDS, missing_fly
from flybench.rig.advice.outcomes import outcomes
from flybench.rig.advice.scores import difference, order, scores
from flybench.rig.advice.tuning import tune
from flybench.rig.chain.simulate import steps
from flybench.rig.odds.draws import best_estimate, drawn
from flybench.rig.odds.drift import drift
from flybench.rig.odds.goal import Goal, Outcomes
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Entry, Hold, Rig, Tackle
from flybench.rig.water.bed import bed_named
from flybench.rig.water.current import Current

RIVER = Current(Measured(1.0, 0.1), Measured(0.7, 0.07), 283.15, bed_named("gravel"))
TACKLE = Tackle(0.15e-3, 2.0, (0.5,))
GOAL = Goal(stretch=1.0, farthest=3.0)


def box(count: int) -> list[RigFly]:
    return invented_box(count, seed=2)


def came(**parts: object) -> Outcomes:
    """Return outcomes with these parts, (sets, draws), zero where nothing is said."""
    shape = np.shape(next(iter(parts.values())))
    zero, none = np.zeros(shape), np.zeros(shape[0])
    usual = {one.name: zero for one in fields(Outcomes)} | {"landing": none, "begin": none}
    return Outcomes(**(usual | {name: np.asarray(value, dtype=float) for name, value in parts.items()}))


def test_the_worth_is_what_it_is_said_to_be() -> None:
    # By hand: S .4, G .1, dropper .5 and .2; 3 of 4 down, 2 of 4 touch:
    # 1.5 (.4 - 2 x .1) + .3 (.5 - 2 x .2) - 2 (.8 - .75) - (.5 - .3).
    one = [[1.0] * 4]
    found = came(
        at_level=np.multiply(one, 0.4),
        on_bed=np.multiply(one, 0.1),
        dropper=np.multiply(one, 0.5),
        dropper_on_bed=np.multiply(one, 0.2),
        down=[[1, 1, 1, 0]],
        touched=[[1, 0, 1, 0]],
    )
    scored = scores(found, Goal(bed_cost=2.0, point_worth=1.5, dropper_worth=0.3))
    assert scored.worth[0] == pytest.approx(0.3 + 0.03 - 0.1 - 0.2)
    assert (scored.in_time[0], scored.touched[0]) == (0.75, 0.5)
    # Twice the share in time less that of touches scatters: 1, 2, 1, 0 have a sd of 0.816, over 2.
    assert scored.doubt[0] == pytest.approx(np.std([1, 2, 1, 0], ddof=1) / 2)


def test_a_difference_is_told_over_the_same_draws() -> None:
    common = np.random.default_rng(1).uniform(0, 1, 200)
    scored = scores(came(at_level=np.stack([common, common - 0.05])), Goal())
    gap, doubt = difference(scored, 0, 1)
    assert gap == pytest.approx(0.05)
    assert doubt == pytest.approx(0.0, abs=1e-12)
    assert list(order(scored)) == [0, 1]


@pytest.fixture(scope="module")
def choice(folder: Path) -> Choice:
    made: Choice = once(folder, "twelve flies chosen among", lambda: choose(box(12), RIVER, TACKLE, GOAL))
    return made


@pytest.mark.slow
def test_stated_probabilities_hold_in_fresh_draws(choice: Choice) -> None:
    flies, fresh = box(12), drawn(1500, 12, len(steps(GOAL.longest(RIVER, TACKLE))), seed=99)
    top = choice.ranked[:4]
    again = scores(outcomes(RIVER, TACKLE, flies, [one.flies for one in top], fresh, GOAL), GOAL)
    for number, one in enumerate(top):
        assert abs(again.in_time[number] - one.in_time) < 3.5 * np.hypot(one.in_time_doubt, 0.013)
        assert abs(again.worth[number] - one.worth) < 3.5 * np.hypot(one.doubt, again.doubt[number])


@pytest.mark.slow
def test_the_choice_is_ranked_and_repeatable(choice: Choice) -> None:
    worths = [one.worth for one in choice.ranked]
    assert worths == sorted(worths, reverse=True)
    assert choice.ranked[0].behind == 0
    assert choice.ranked[0].tie
    assert choice.tried == 144
    few = choose(box(4), RIVER, TACKLE, GOAL)
    assert choose(box(4), RIVER, TACKLE, GOAL) == few
    assert choose(box(4), RIVER, TACKLE, GOAL, seed=8).ranked != few.ranked


@pytest.mark.slow
def test_the_staged_search_finds_what_trying_everything_finds(
    choice: Choice, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patched:
        patched.setattr(choosing, "PROMISING", 44)
        patched.setattr(choosing, "FINAL", 12)
        quick = choose(box(12), RIVER, TACKLE, GOAL)
    assert quick.ranked[0].worth > choice.ranked[0].worth - 2 * choice.ranked[0].doubt
    assert len(quick.ranked) == 12


@pytest.mark.slow
def test_not_only_the_best_of_the_rough_try_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(choosing, "PROMISING", 44)
    sets = list(itertools.product(range(12), repeat=2))
    kept = choosing._promising(RIVER, TACKLE, box(12), sets, GOAL, seed=1)
    assert len(kept) == len(set(kept)) == 44
    rough = outcomes(RIVER, TACKLE, box(12), sets, best_estimate(12), GOAL)
    way, places = rough.way[:, 0], [sets.index(one) for one in kept]
    reaching = np.sort(way[np.isfinite(way)])
    tenths = np.searchsorted(
        np.quantile(reaching, np.linspace(0.1, 0.9, 9)), way[places][np.isfinite(way[places])]
    )
    assert set(tenths) == set(range(10))


def test_a_fly_stands_for_those_that_are_like_it() -> None:
    """By hand: three flies close together, two close together and one alone make three groups."""
    made = [(0.2, 1.0), (0.21, 1.05), (0.4, 4.0), (0.2, 1.1), (0.41, 4.1), (0.2, 8.0)]
    flies = [
        RigFly(str(number), Measured(v, 0.0), Measured(w * 1e-3, 0.0)) for number, (v, w) in enumerate(made)
    ]
    group, standing = groups_of(flies, 3)
    assert {tuple(np.flatnonzero(group == one)) for one in group} == {(0, 1, 3), (2, 4), (5,)}
    assert [group[place] for place in standing] == [0, 1, 2]
    assert sorted(groups_of(flies, 9)[1]) == [0, 1, 2, 3, 4, 5]
    same = groups_of(flies[:1] * 3, 2)[0]
    assert len(same) == 3


@pytest.mark.slow
def test_sets_of_a_large_box_are_looked_through_by_groups(
    choice: Choice, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As good as trying each set: of 144 sets, 36 stand for the others."""
    monkeypatch.setattr(choosing, "MOST_SINGLY", 40)
    monkeypatch.setattr(choosing, "PROMISING", 22)
    sets = list(itertools.product(range(12), repeat=2))
    few = choosing._few_of(RIVER, TACKLE, box(12), sets, GOAL, seed=1)
    assert len(few) == len(set(few)) == 40
    assert set(few) < set(sets)
    found = choose(box(12), RIVER, TACKLE, GOAL)
    assert found.tried == 144
    assert found.ranked[0].worth > choice.ranked[0].worth - 2 * choice.ranked[0].doubt


@pytest.mark.slow
def test_one_fly_is_not_tied_on_twice_unless_allowed() -> None:
    once = choose(box(5), RIVER, TACKLE, GOAL, twice=False, draws=20)
    assert once.tried == 20
    assert all(len(set(one.flies)) == 2 for one in once.ranked)


@pytest.mark.slow
def test_single_flies_and_two_droppers_are_chosen_alike() -> None:
    assert choose(box(5), RIVER, Tackle(0.15e-3, 2.0), GOAL, draws=20).tried == 5
    assert choose(box(3), RIVER, Tackle(0.15e-3, 2.0, (0.9, 0.4)), GOAL, draws=20).tried == 27


@pytest.mark.slow
def test_lead_and_slack_are_tuned() -> None:
    led = Tackle(0.15e-3, 2.0, (0.5,), hold=Hold.LED, lead_speed=0.7)
    flies = box(3)
    first = choose(flies, RIVER, led, GOAL, draws=40)
    tuned = tune(flies, RIVER, led, GOAL, first, leads=(0.8,), slacks=(0.3,))
    assert sorted({one.tackle.lead_speed for one in tuned}) == pytest.approx([0.8 * 0.7, 0.7])
    assert {one.tackle.usual_slack for one in tuned} == {0.6, 0.3}
    same = [one for one in tuned if one.tackle == led]
    assert max(one.worth for one in same) == pytest.approx(first.ranked[0].worth, abs=0.15)
    assert tuned[0].worth >= max(one.worth for one in same)


@pytest.mark.slow
def test_a_tuned_rig_is_worth_what_the_table_says_of_it_or_more() -> None:
    """Slower leads take longer drifts: what is left as it was must not change by that."""
    led = Tackle(0.15e-3, 2.0, (0.5,), hold=Hold.LED, lead_speed=0.7)
    flies = box(3)
    first = choose(flies, RIVER, led, GOAL, draws=40)
    tuned = tune(flies, RIVER, led, GOAL, first, leads=(0.4,), slacks=())
    worth = {one.flies: one.worth for one in tuned if one.tackle == led}
    table = [one.worth for one in first.ranked[: tuning.MOST]]
    assert [worth[one.flies] for one in first.ranked[: tuning.MOST]] == pytest.approx(table, abs=1e-3)
    assert tuned[0].worth >= table[0] - 1e-3


def test_a_speed_at_which_the_line_is_led_already_is_not_tried_again() -> None:
    """By hand: 0.49 m/s, as it is led, are 0.7 of the surface's 0.7 m/s but for rounding; 0.56 m/s are 0.8 of it."""
    led = Tackle(0.15e-3, 2.0, (0.5,), hold=Hold.LED, lead_speed=0.49)
    ways = tuning._ways(RIVER, led, leads=(0.7, 0.8), slacks=(0.3, 0.6))
    assert [one.lead_speed for one in ways] == pytest.approx([0.49, 0.49, 0.56, 0.56])
    assert [one.usual_slack for one in ways] == [0.6, 0.3, 0.6, 0.3]


def test_a_flat_entry_has_no_slack_to_tune_whether_by_word_or_by_angle() -> None:
    for flat in (Tackle(0.15e-3, 2.0, entry=Entry.FLAT), Tackle(0.15e-3, 2.0, entry_angle=0.0)):
        ways = tuning._ways(RIVER, flat, leads=(), slacks=(0.3, 0.6))
        assert [one.usual_slack for one in ways] == [0.0]


def test_a_drift_over_the_draws_of_a_choice_says_the_same() -> None:
    """One rule: landing, touches and time with the fish of a chosen rig are those of its drift."""
    flies = box(2)
    found = choose(flies, RIVER, TACKLE, GOAL, draws=30)
    one = found.advised
    rig = Rig(TACKLE, tuple(flies[place] for place in one.flies))
    alone = drift(rig, RIVER, goal=GOAL, taken=found.draws.of_flies(one.flies))
    assert alone.landing == pytest.approx(one.landing)
    assert (alone.share_down, alone.share_touched) == (one.in_time, one.touched)
    assert (alone.share_at_level, alone.share_on_bed) == pytest.approx((one.at_level, one.on_bed))
    assert alone.flags == found.flags


def test_the_fly_that_a_box_lacks_is_found() -> None:
    """A box of two flies that hardly sink, in half a metre of slow water: anything faster gets down."""
    light = [
        RigFly(name, Measured(v, 0.0), Measured(w, 0.0))
        for name, v, w in (("a", 0.02, 4e-5), ("b", 0.025, 6e-5))
    ]
    pool = replace(RIVER, depth=Measured(0.5, 0.02), surface_speed=Measured(0.4, 0.02))
    one = Tackle(0.15e-3, 1.5)
    best = choose(light, pool, one, GOAL, draws=20).advised
    lacks = missing_fly(light, pool, best, GOAL)
    assert lacks is not None
    assert 0.1 <= lacks.speed <= 0.4
    # As bulky as the nearest fly of the box: W ~ v^2.
    assert lacks.weight == pytest.approx(6e-5 * (lacks.speed / 0.025) ** 2)
    assert lacks.found.worth > best.worth + 0.15
    dense = [RigFly(f"{v}", Measured(v, 0.0), Measured(2e-3, 0.0)) for v in SPEEDS]
    assert missing_fly(dense, pool, best, GOAL) is None


def candidate(name: str, behind: float, slower: bool) -> Candidate:
    return Candidate(
        (0,), (name,), TACKLE, 2.0, 1.5, 0.1, 0.02, 0.8, 0.03, 0.3, 0.4, 0.1, 0.0, 0.0, behind, 0.02, slower
    )


def test_of_rigs_as_good_as_the_best_one_whose_point_is_faster_is_advised() -> None:
    trailing, steady, worse = (
        candidate("a", 0.0, True),
        candidate("b", 0.03, False),
        candidate("c", 0.5, False),
    )
    assert advised([trailing, steady, worse]) is steady
    assert advised([trailing, worse]) is trailing
    late = replace(steady, landing=np.inf)
    assert advised([late, trailing, steady, worse]) is steady
    assert advised([late, trailing, worse]) is late


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (
            lambda: choose([], RIVER, TACKLE, GOAL),
            "box: holds too few flies (0) for the places on the leader (2). Add flies that sink.",
        ),
        (
            lambda: choose(box(1), RIVER, TACKLE, GOAL, twice=False),
            "box: holds too few flies (1) for the places on the leader (2). Add flies that sink.",
        ),
        (
            lambda: choose(box(300), RIVER, TACKLE, GOAL),
            "box: 300 flies on 2 places make 90000 rigs, more than the 64000 that are tried. Take fewer flies, for example "
            "by a query.",
        ),
    ],
)
def test_a_box_that_cannot_be_is_refused(make: Callable[[], object], message: str) -> None:
    with pytest.raises(BadValueError) as refused:
        make()
    assert str(refused.value) == message


def test_sets_are_ordered_by_worth_and_one_draw_has_no_scatter() -> None:
    # By hand: three sets, two draws; all as wanted, so that only time at the level and on the bed counts.
    at_level = np.array([[0.2, 0.4], [0.6, 0.8], [0.5, 0.5]])
    on_bed = np.array([[0.0, 0.0], [0.1, 0.3], [0.0, 0.0]])
    goal = Goal(touches=0.0)
    scored = scores(came(at_level=at_level, on_bed=on_bed, down=np.ones((3, 2))), goal)
    np.testing.assert_allclose(scored.worth, [0.3, 0.5, 0.5])
    assert list(order(scored)) == [1, 2, 0]
    np.testing.assert_allclose(scored.at_level, [0.3, 0.7, 0.5])
    np.testing.assert_allclose(scored.on_bed, [0.0, 0.2, 0.0])
    gap, doubt = difference(scored, 1, 0)
    assert gap == pytest.approx(0.2)
    # The draws differ by 0.3 and 0.1: sd 0.1 sqrt 2, over sqrt 2.
    assert doubt == pytest.approx(0.1)
    single = scores(came(at_level=at_level[:, :1], on_bed=on_bed[:, :1]), goal)
    assert list(single.doubt) == [0.0, 0.0, 0.0]
    assert difference(single, 1, 0)[1] == 0.0


def test_lacking_time_counts_twice_and_only_below_what_is_wanted() -> None:
    # Half of the draws are down: 0.8 wanted leaves 0.3 lacking, 0.5 leaves nothing.
    half = came(down=[[1.0, 0.0]])
    wanting = scores(half, Goal(touches=0.0))
    assert wanting.in_time[0] == 0.5
    assert wanting.worth[0] == pytest.approx(-0.6)
    assert wanting.doubt[0] == pytest.approx(1.0)
    content = scores(half, Goal(touches=0.0, down=0.5))
    assert (content.worth[0], content.doubt[0]) == (0.0, 0.0)


def test_touching_too_often_and_too_seldom_count_alike() -> None:
    rare, often = (
        scores(came(touched=[touched]), Goal(down=0.0, touches=0.5)) for touched in ([0, 0], [1, 1])
    )
    assert rare.worth[0] == often.worth[0] == -0.5
