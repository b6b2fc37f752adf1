"""Runs pooled to a fly and flies to a variant: what is always in, what cancels nothing, and what a shop teaches.

The expected spreads are the product's own judgements, 2 % between runs and 4 % between flies, each of two degrees of
freedom; the arithmetic is that of random effects, each part with Student's factor (JCGM 100:2008, G.3; t by scipy).
Speeds are invented.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from scipy.stats import norm, t

from flybench.shop.speeds.run_parts import RunParts
from flybench.shop.speeds.shop_spreads import USUAL_FLIES, USUAL_RUNS, spreads_of
from flybench.shop.speeds.sides import FlyRuns, among_flies, fly_side, variant_side
from flybench.statistics.comparing import Repeat, compare

TWO_SIGMA = norm.cdf(2)
NEXT = iter(range(1, 10**6))


def run(
    speed: float, own: float = 0.005, shared: float = 0.01, fly: str = "f", variant: str = "v", **more: float
) -> RunParts:
    """Return a run; ``own`` and ``shared`` as shares of the speed."""
    water = more.get("temperature", 291.15)
    return RunParts(fly, speed, own, {("card", "mine"): shared}, water, 4, variant, next(NEXT))


def fly(*runs: RunParts) -> FlyRuns:
    return FlyRuns(runs[0].fly, runs)


def test_one_run_has_the_expected_spread_of_runs_in_its_doubt() -> None:
    """By hand: own 0.5 % of 5 degrees of freedom (4 drops and what is usual), runs 2 % of 2, card 1 %; each widened."""
    found = fly_side(fly(run(0.3)))
    own, runs = (size * t.ppf(TWO_SIGMA, freedom) / 2 for size, freedom in ((0.005, 5), (0.02, 2)))
    assert found.speed == pytest.approx(0.3)
    assert found.uncertainty == pytest.approx(0.3 * math.hypot(own, runs, 0.01), rel=1e-3)


def test_more_runs_and_flies_that_agree_never_know_less() -> None:
    doubts = [fly_side(fly(*(run(0.3) for _ in range(number)))).uncertainty for number in (1, 2, 3, 5, 9, 20)]
    assert doubts == sorted(doubts, reverse=True)
    assert doubts[1] < 0.8 * doubts[0]
    flies = [
        variant_side("v", [fly(run(0.3, fly=f"f{one}")) for one in range(number)]).uncertainty
        for number in (1, 2, 3, 5, 9)
    ]
    assert flies == sorted(flies, reverse=True)


def test_what_runs_share_does_not_average_down() -> None:
    many = fly_side(fly(*(run(0.3) for _ in range(400))))
    assert many.shared == {("card", "mine"): pytest.approx(0.003)}
    assert 0.003 < many.uncertainty < 0.0032


def test_a_shop_whose_runs_differ_more_makes_a_single_run_wider_and_one_whose_agree_narrower() -> None:
    """Twenty flies of two runs, 12 % apart (8 % of spread), or 0.6 % apart."""
    lone = fly(run(0.3, variant="w"))
    widths = []
    for apart in (0.006, 0.12):
        shop = [
            one
            for number in range(20)
            for one in (
                run(0.3, fly=f"f{number}", variant=f"v{number}"),
                run(0.3 * (1 + apart), fly=f"f{number}", variant=f"v{number}"),
            )
        ]
        spreads = spreads_of([*shop, *lone.runs])
        assert spreads.runs.freedom > 10
        widths.append(fly_side(lone, spreads).uncertainty / 0.3)
    usual = fly_side(lone).uncertainty / 0.3
    assert widths[0] < 0.6 * usual
    scatter = (2 * 0.02**2 + 20 * (math.log(1.12) ** 2 / 2 - 0.005**2)) / 22
    assert spreads.runs.size == pytest.approx(scatter**0.5, rel=0.03)
    assert widths[1] > math.hypot(scatter**0.5, 0.01, 0.005) > 1.2 * usual


def test_runs_in_unlike_water_teach_nothing_of_the_spread_between_runs() -> None:
    cold = [run(0.28, temperature=277.15), run(0.32)]
    assert spreads_of(cold).runs == USUAL_RUNS
    assert spreads_of([run(0.28), run(0.32)]).runs.size > 2 * USUAL_RUNS.size


def test_a_variant_known_by_one_fly_has_the_expected_spread_of_flies_in_its_doubt() -> None:
    found = variant_side("v", [fly(run(0.3))])
    assert found.speed == pytest.approx(0.3)
    assert found.uncertainty > 0.04 * 0.3
    assert {part.source for part in found.parts} == {"drops", "runs", "flies"}


def test_two_flies_tell_how_they_differ() -> None:
    """0.04 apart and sharp: their own standard deviation is 0.04 / sqrt 2, and it is never blended down."""
    two = [fly(run(speed, 0.001, 0.0, fly=name)) for name, speed in (("f", 0.28), ("g", 0.32))]
    assert among_flies("v", two).spread.size == pytest.approx(math.log(0.32 / 0.28) / math.sqrt(2), rel=0.06)
    assert variant_side("v", two).speed == pytest.approx(0.30, abs=1e-4)


def test_a_speed_without_its_runs_stands_as_it_is() -> None:
    """What was typed in from elsewhere holds all that scatters already."""
    known = RunParts("f", 0.3, 0.0, {("fly", "f"): 0.02}, 291.15, 5, "v", pooled=True)
    assert fly_side(fly(known)).uncertainty == pytest.approx(0.006, rel=1e-4)


def test_a_card_on_two_evenings_cancels_and_their_distances_do_not() -> None:
    """By hand: card 1 % in both, set-up 0.5 % on each of two evenings: the difference has 0.5 % twice, and the runs."""

    def on(evening: str, speed: float, name: str) -> FlyRuns:
        shares = {("card", "mine"): 0.01, ("set-up", evening): 0.005}
        return FlyRuns(name, (RunParts(name, speed, 1e-4, shares, 291.15, 4, name, next(NEXT)),))

    one, other = fly_side(on("monday", 0.3, "a")), fly_side(on("tuesday", 0.3, "b"))
    same = fly_side(on("monday", 0.3, "b"))
    run_part = next(part for part in one.parts if part.source == "runs")
    apart, alike = compare(one, other), compare(one, same)
    size = math.sqrt(2) * run_part.uncertainty * t.ppf(TWO_SIGMA, run_part.freedom) / 2
    assert alike.uncertainty == pytest.approx(size, rel=1e-4)
    assert apart.uncertainty == pytest.approx(math.hypot(size, math.sqrt(2) * 0.0015), rel=1e-4)


def clips_of(first: str, second: str) -> list[FlyRuns]:
    """Return two flies of a variant that read the same, from these clips."""
    return [
        FlyRuns(name, (replace(run(0.3, fly=name), clip=clip),))
        for name, clip in (("a", first), ("b", second))
    ]


def test_one_clip_under_two_flies_counts_once() -> None:
    """The reading is one and the same: the variant is known as by one fly; two clips that agree tell more."""
    once = variant_side("v", [clips_of("x", "x")[0]])
    same, apart = (variant_side("v", clips_of("x", second)) for second in ("x", "y"))
    assert same.uncertainty == pytest.approx(once.uncertainty)
    assert (same.counts, apart.counts[Repeat.FLIES]) == (once.counts, 2)
    assert apart.uncertainty < 0.8 * once.uncertainty


def test_clips_kept_under_two_flies_teach_nothing_of_how_flies_differ() -> None:
    """Five variants of two flies that agree: from one clip each nothing is learned, from two that flies are alike."""
    learned = {}
    for second in ("", "another"):
        runs = [
            replace(run(0.3, fly=f"{name}{number}", variant=f"v{number}"), clip=f"{number}{clip}")
            for number in range(5)
            for name, clip in (("a", ""), ("b", second))
        ]
        learned[second] = spreads_of(runs)
    assert (learned[""].runs, learned[""].flies) == (USUAL_RUNS, USUAL_FLIES)
    assert learned["another"].flies.size < 0.8 * USUAL_FLIES.size
