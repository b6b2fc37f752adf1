"""What would settle a comparison, and what stands in the way: against the normal and Student's distribution.

The odds that a difference of d with the standard uncertainty u comes out above 2 v once it is known to v: it then moves
by a normal amount of the variance u^2 - v^2, so P(|d + move| > 2 v), worked out here with scipy.stats. Speeds are invented.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import ndtr
from scipy.stats import chi2, norm, t

from flybench.statistics.comparing import (
    MOST,
    Beforehand,
    Comparison,
    DoubtPart,
    Need,
    Repeat,
    Side,
    compare,
)
from flybench.statistics.student import guesses, widened

DROPS, RUNS, FLIES, NOTHING = Repeat.DROPS, Repeat.RUNS, Repeat.FLIES, Repeat.NOTHING


def side(speed: float, *parts: DoubtPart, counts: dict[Repeat, int] | None = None, **shared: float) -> Side:
    known = {DROPS: 1, RUNS: 1} if counts is None else counts
    return Side("f", speed, parts, known, {int(place[1:]): size for place, size in shared.items()})


def drops(size: float, freedom: float = math.inf) -> DoubtPart:
    return DoubtPart("drops", DROPS, size, freedom)


def runs(size: float, freedom: float = math.inf) -> DoubtPart:
    return DoubtPart("runs", RUNS, size, freedom)


def least_count(difference: float, each: float, have: int) -> int:
    """Return the least number of more drops of each with which four in five are told apart, all of them tried."""
    now, more = math.sqrt(2) * each, np.arange(1, 1000)
    then = now * np.sqrt(have / (have + more))
    moves = np.sqrt(now**2 - then**2)
    odds = ndtr((difference - 2 * then) / moves) + ndtr((-difference - 2 * then) / moves)
    return int(more[odds >= 0.8][0])


@pytest.mark.parametrize("difference", [0.0, 0.0004, 0.0008, 0.0015, 0.0025])
def test_the_number_of_drops_is_the_least_that_settles_it(difference: float) -> None:
    """With no difference at all, both tails count alike; with a large one, the near tail alone."""
    found = compare(side(0.3 + difference, drops(0.001)), side(0.3, drops(0.001)))
    assert found.needs[DROPS] == Need(least_count(difference, 0.001, 1), True)
    turned = compare(side(0.3, drops(0.001)), side(0.3 + difference, drops(0.001)))
    assert turned.needs == found.needs


def test_more_than_anybody_takes_is_told_from_never() -> None:
    """Of 5 drops each: five times as many as of one, 315, more than the 100 that anybody takes, yet in the end enough."""
    many = {DROPS: 5, RUNS: 1}
    assert least_count(0.0, 0.001, 5) > MOST[DROPS]
    found = compare(side(0.3, drops(0.001), counts=many), side(0.3, drops(0.001), counts=many))
    assert found.needs[DROPS] == Need(None, True)
    stuck = compare(
        side(0.3, drops(0.001), runs(0.01), counts=many), side(0.3, drops(0.001), runs(0.01), counts=many)
    )
    assert stuck.needs[DROPS] == Need(None, False)


@pytest.mark.slow
@pytest.mark.parametrize(("repeat", "most", "have"), [(DROPS, 100, 2), (RUNS, 20, 1), (FLIES, 30, 1)])
def test_no_more_are_asked_for_than_anybody_takes(repeat: Repeat, most: int, have: int) -> None:
    """100 drops, 20 runs, 30 flies of each are the product's judgement: that many are told, one more is not."""

    def difference(count: int) -> float:
        low, high = 0.0, 0.0028  # the smaller the difference, the more it takes
        for _ in range(40):
            middle = (low + high) / 2
            low, high = (middle, high) if least_count(middle, 0.001, have) > count else (low, middle)
        return high

    def need(away: float) -> Need:
        part, counts = DoubtPart("part", repeat, 0.001), {DROPS: 1, RUNS: 1, FLIES: 1} | {repeat: have}
        found = compare(side(0.3 + away, part, counts=counts), side(0.3, part, counts=counts))
        return found.needs[repeat]

    assert need(difference(most) + 1e-7) == Need(most, True)
    assert need(difference(most) - 1e-7) == Need(None, True)


def test_what_stands_in_the_way_is_never_the_drops_themselves() -> None:
    """Drops have the largest part by far, and yet it is the runs that more drops do not lessen."""
    found = compare(side(0.300, drops(0.009), runs(0.001)), side(0.301, drops(0.009), runs(0.001)))
    assert found.blocked_by == "runs"
    assert compare(side(0.300, drops(0.009)), side(0.301, drops(0.009))).blocked_by == ""


def test_what_stands_in_the_way_adds_up_over_both_sides() -> None:
    """By hand: runs 2 x 0.0016^2 = 5.1e-6, the clip on one side 0.0020^2 = 4.0e-6, what is not shared 0.0021^2 = 4.4e-6."""
    clip = DoubtPart("clip", NOTHING, 0.0020)
    one, other = side(0.300, runs(0.0016), clip, s1=0.0021), side(0.301, runs(0.0016))
    assert compare(one, other).blocked_by == "runs"
    assert compare(replace(one, parts=(clip,)), replace(other, parts=())).blocked_by == "set-up"
    assert compare(replace(one, parts=(clip,)), side(0.301, s1=0.0021)).blocked_by == "clip"


def test_only_what_both_have_counted_can_be_asked_for() -> None:
    with_flies = {DROPS: 4, RUNS: 2, FLIES: 2}
    flies = DoubtPart("flies", FLIES, 0.004)
    a, b = (side(speed, drops(0.002), flies, counts=with_flies) for speed in (0.300, 0.302))
    assert set(compare(a, b).needs) == {DROPS, RUNS, FLIES}
    assert set(compare(a, side(0.302, drops(0.002))).needs) == {DROPS, RUNS}
    assert set(compare(a, side(0.302, drops(0.002), counts={DROPS: 0, RUNS: 1})).needs) == {RUNS}
    assert compare(a, side(0.4, drops(0.002))).needs == {}
    assert set(compare(side(0.302, drops(0.002)), a).needs) == {DROPS, RUNS}


def test_one_more_is_asked_for_where_one_more_will_do() -> None:
    """Runs whose spread is known with two degrees of freedom: with another run each, of what that spread really is, the
    difference moves and the spread is learned; drawn here from the law of the spread with numpy."""
    now, far, random = math.sqrt(2) * 0.001, 0.006, np.random.default_rng(4)
    spread = 2 / random.chisquare(2, 100_000)
    then = far + random.normal(size=spread.size) * np.sqrt(spread) * now / math.sqrt(2)
    least = now / math.sqrt(2) * np.sqrt((2 + spread) / 3) * t.ppf(norm.cdf(2), 3)
    assert far < t.ppf(norm.cdf(2), 2) * now
    assert np.mean(np.abs(then) > least) > 0.82
    found = compare(side(0.3 + far, runs(0.001, 2)), side(0.3, runs(0.001, 2)))
    assert found.needs[RUNS] == Need(1, True)


def test_what_no_repeat_lessens_is_never_settled() -> None:
    """Nothing is learned, so the difference cannot move: not told apart now is not told apart ever, on the edge too."""
    clip = DoubtPart("clip", NOTHING, 0.001)
    never = {DROPS: Need(None, False), RUNS: Need(None, False)}
    assert compare(side(0.300, clip), side(0.301, clip)).needs == never
    edge = 2 * widened([(0.001, math.inf), (0.001, math.inf)])
    found = compare(side(2 * edge, clip), side(edge, clip))
    assert found.difference == found.expanded
    assert found.needs == never


def test_a_set_up_that_both_share_alike_stands_in_no_way() -> None:
    """An equal error in both cancels; one that only one side has does not, whichever side it is."""
    alike = compare(side(0.300, drops(0.009), s1=0.003), side(0.301, drops(0.009), s1=0.003))
    assert alike.blocked_by == ""
    for one, other in (({"s1": 0.003}, {}), ({}, {"s1": 0.003})):
        alone = compare(side(0.300, drops(0.004), **one), side(0.301, **other))
        assert alone.blocked_by == "set-up"
        assert alone.uncertainty == pytest.approx(0.005, rel=1e-5)


def test_more_of_one_lessens_what_stands_below_it_and_nothing_above() -> None:
    """By hand: three times as many runs divide variances of drops and runs by three, and leave the flies' alone."""
    parts = (
        drops(0.003, 4),
        runs(0.006, 2),
        DoubtPart("flies", FLIES, 0.01, 1),
        DoubtPart("clip", NOTHING, 0.002),
    )
    more = side(0.3, *parts, counts={DROPS: 4, RUNS: 2, FLIES: 1}).with_more(RUNS, 4)
    sizes = [part.uncertainty for part in more.parts]
    assert sizes == pytest.approx([0.003 / 3**0.5, 0.006 / 3**0.5, 0.01, 0.002])
    assert [part.freedom for part in more.parts] == [12, 6, 1, math.inf]


def test_degrees_of_freedom_after_welch_and_satterthwaite() -> None:
    """JCGM 100:2008, G.4.1, by hand: (0.003^2 + 0.004^2)^2 / (0.003^4 / 4 + 0.004^4 / 8) = 625 / 52.25 = 11.96."""
    found = compare(side(0.31, drops(0.003, 4)), side(0.30, drops(0.004, 8)))
    assert found.freedom == pytest.approx(625 / 52.25)
    widths = [size * t.ppf(norm.cdf(2), freedom) / 2 for size, freedom in ((0.003, 4), (0.004, 8))]
    assert found.uncertainty == pytest.approx(math.hypot(*widths))
    assert found.odds == pytest.approx(norm.cdf(0.01 / math.hypot(*widths)))
    assert compare(side(0.31, drops(0.003)), side(0.30, drops(0.004))).freedom == 1e6


def test_an_error_in_proportion_cancels_in_the_ratio() -> None:
    """Both 1 % from one set-up: nothing of it is left in the ratio; what is left is 0.001 of 0.3 and 0.0005 of 0.2."""
    found = compare(side(0.3, drops(0.001), s1=0.003), side(0.2, drops(0.0005), s1=0.002))
    left = math.hypot(0.001 / 0.3, 0.0005 / 0.2)
    assert found.ratio == pytest.approx(1.5)
    assert found.ratio_uncertainty == pytest.approx(1.5 * left, rel=1e-5)
    assert found.uncertainty == pytest.approx(math.hypot(0.001, 0.0005, 0.001), rel=1e-5)


def test_a_difference_of_exactly_its_doubt_is_not_told_apart() -> None:
    one, other = side(0.3, drops(0.001)), side(0.2, drops(0.001))
    whole = Comparison(one, other, 0.25, 0.125, 1.5, 0.1, 0.9, 5.0, {}, "")
    assert whole.expanded == 0.25
    assert not whole.told_apart
    assert not replace(whole, difference=-0.25).told_apart
    assert replace(whole, difference=-0.3).told_apart


def test_a_side_alone_carries_what_it_shares() -> None:
    """By hand: 0.003, 0.004 and set-ups of 0.006 and 0.008, which are other errors: sqrt(25 + 100) mm/s."""
    alone = side(0.3, drops(0.003), runs(0.004), s1=0.006, s2=0.008)
    assert alone.uncertainty == pytest.approx(math.sqrt(125) * 1e-3, rel=1e-5)
    assert widened([(0.003, math.inf), (0.004, math.inf)]) == pytest.approx(0.005, rel=1e-5)


def known(differ: float, alike: float = 0.0) -> Beforehand:
    return Beforehand(differ, alike)


def test_flies_that_seldom_differ_are_less_surely_told_apart() -> None:
    """By hand: u = s, so half of the difference is believed, with 1 / sqrt 2 of u: odds of d / (u sqrt 2), normal."""
    one, other = side(0.3 + 0.0015, drops(0.001)), side(0.3, drops(0.001))
    u = math.sqrt(2) * 0.001
    assert compare(one, other, known(u)).odds == pytest.approx(norm.cdf(0.0015 / u / math.sqrt(2)), abs=1e-5)
    assert compare(one, other, known(1.0)).odds == pytest.approx(compare(one, other).odds, abs=1e-4)
    assert compare(one, other, known(u)).uncertainty == compare(one, other).uncertainty


def test_alike_is_what_cannot_differ_by_more() -> None:
    one, other = side(0.3005, drops(0.001)), side(0.3, drops(0.001))
    reach = 0.0005 + 2 * math.sqrt(2) * 0.001
    assert compare(one, other, known(0.01, 1.001 * reach)).alike
    assert compare(one, other, known(0.01, 1.001 * reach)).needs == {}
    assert not compare(one, other, known(0.01, 0.999 * reach)).alike
    assert not compare(side(0.31, drops(0.001)), other, known(0.01, 0.1)).alike  # told apart
    assert not compare(one, other).alike


@pytest.mark.parametrize("true_spread", [0.0, 0.004, 0.02])
def test_more_runs_settle_it_as_often_as_promised_with_equal_flies_too(true_spread: float) -> None:
    """Runs of 0.006 known to be so, pairs that differ by ``true_spread`` or not at all: four of five, by simulation."""
    random, settled = np.random.default_rng(5), []
    for _ in range(1500):
        truth, have = true_spread * random.normal(), 3
        seen = truth + math.sqrt(2 / have) * 0.006 * random.normal()

        def found(difference: float, count: int) -> Comparison:
            part = runs(0.006 / math.sqrt(count))
            pair = [side(0.3 + off, part, counts={DROPS: 5, RUNS: count}) for off in (difference, 0.0)]
            return compare(*pair, known(max(true_spread, 0.003), 0.015))

        need = found(seen, have).needs.get(RUNS)
        if need is None or need.count is None:
            continue
        whole = have + need.count
        fresh = truth + math.sqrt(2 / need.count) * 0.006 * random.normal()
        then = found((have * seen + need.count * fresh) / whole, whole)
        settled.append(then.told_apart or then.alike)
    assert len(settled) > 200
    assert np.mean(settled) >= 0.75


@pytest.mark.slow
@pytest.mark.parametrize(
    "parts",
    [
        ((1.0, math.inf), (1.0, 2.0)),
        ((2.0, math.inf), (1.0, 2.0)),
        ((1.0, math.inf), (2.0, 4.0)),
        ((1.0, 6.0), (1.5, 2.0)),
        ((1.0, 10.0), (1.0, 10.0)),
    ],
)
def test_the_interval_of_a_sum_is_that_of_the_sum_of_students_laws(
    parts: tuple[tuple[float, float], ...],
) -> None:
    """By integration with scipy over what each variance may be; Welch and Satterthwaite are 3 to 31 % too narrow here."""
    variance = np.zeros(1)
    for size, freedom in parts:
        places = (np.arange(2000) + 0.5) / 2000
        each = size**2 * (np.ones(1) if math.isinf(freedom) else freedom / chi2.ppf(places, freedom))
        variance = (variance[:, None] + each).ravel()
    reach = brentq(lambda away: np.mean(ndtr(away / np.sqrt(variance))) - norm.cdf(2), 0.1, 100.0)
    assert 0.99 <= 2 * widened(parts) / reach <= 1.03


@pytest.mark.parametrize(
    ("difference", "freedom", "usual"), [(0.01, 2.0, 3.0), (0.02, 8.0, 3.0), (0.004, 3.0, 30.0)]
)
def test_odds_are_those_of_all_that_the_spreads_may_be(
    difference: float, freedom: float, usual: float
) -> None:
    """By integration with scipy: Student's law of what was measured times that of how such flies differ."""
    u, s = 0.006, 0.01

    def density(d: float) -> float:
        return float(t.pdf((difference - d) / u, freedom) * t.pdf(d / s, usual))

    above = quad(density, 0.0, 0.5, points=[difference], limit=400)[0]
    below = quad(density, -0.5, 0.0, limit=400)[0]
    part = runs(u / math.sqrt(2), freedom)
    found = compare(side(0.3 + difference, part), side(0.3, part), Beforehand(s, 0.0, tuple(guesses(usual))))
    assert found.odds == pytest.approx(above / (above + below), abs=0.006)
