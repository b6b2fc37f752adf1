"""Water in front of you: speeds over depth against hand calculation and tables, and what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad

from flybench.errors import BadValueError
from flybench.quantity import Measured
from flybench.rig.water.bed import UNKNOWN, Bed, bed_named, bed_of_roughness, bed_of_stones
from flybench.rig.water.current import Current, float_speed, shear_velocity
from flybench.rig.water.level import NEAR_BOTTOM, FishLevel, around, check_level, middle, near_bottom
from flybench.rig.water.wading import hard_to_wade


def exact(value: float) -> Measured:
    return Measured(value, 0.0)


def current(depth: float = 1.0, speed: float = 1.0, bed: Bed = UNKNOWN, doubt: float = 0.0) -> Current:
    return Current(Measured(depth, doubt * depth), Measured(speed, doubt * speed), 283.15, bed)


@pytest.mark.parametrize(
    "bed", [UNKNOWN, bed_of_roughness(exact(0.01)), bed_named("boulder")], ids=lambda b: b.word
)
def test_the_mean_speed_is_the_mean_of_the_profile(bed: Bed) -> None:
    water = current(bed=bed)
    mean = quad(lambda z: float(water.speed(z)[0][0]), 0, 1, points=[0.9, 0.99, 0.999], limit=200)[0]
    assert water.mean_speed.value == pytest.approx(mean, rel=1e-5)


def test_the_default_of_stream_gauging_is_a_fine_bed() -> None:
    # USGS: mean over the depth 0.84 to 0.90 of the surface speed (Rantz 1982; Turnipseed & Sauer 2010), from memory;
    # 6/7 for the 1/6 law exactly.
    assert current().mean_speed.value == pytest.approx(6 / 7)
    assert 0.84 < current(bed=bed_of_stones(exact(0.01))).mean_speed.value < 0.90
    assert current(bed=bed_of_stones(exact(0.15))).mean_speed.value < 0.80


def test_a_logarithmic_profile_is_straight_over_the_logarithm() -> None:
    speeds, _ = current(2.0, 1.0, bed_of_roughness(exact(0.01))).speed([0.0, 1.0, 1.5, 1.75])
    assert speeds[0] == pytest.approx(1.0)
    wanted = [math.log(1 + y / 0.01) / math.log(201) for y in (1.0, 0.5, 0.25)]
    np.testing.assert_allclose(speeds[1:], wanted)


def test_the_shear_velocity_is_the_slope_of_the_profile() -> None:
    water = current(1.0, 0.8, bed_of_roughness(exact(0.005)))
    low, high = water.speed(0.9001)[0][0], water.speed(0.8999)[0][0]
    slope = (high - low) / (math.log(1 + 0.1001 / 0.005) - math.log(1 + 0.0999 / 0.005))
    assert water.shear_velocity.value == pytest.approx(0.41 * slope, rel=1e-4)


def test_the_shear_velocity_of_an_unknown_bed_is_that_of_the_log_law_as_steep() -> None:
    # u ~ y^(1/m) is as steep as a log law with ln(h/z0) = m + 1, for which the mean speeds are equal.
    for m in (4.0, 6.0, 8.0):
        z0 = math.exp(-(m + 1))
        log_law = float(shear_velocity(0.8, 1.0, z0, power=False))
        assert float(shear_velocity(0.8, 1.0, m, power=True)) == pytest.approx(log_law, rel=2e-3)
    assert current(1.0, 0.7).shear_velocity.value == pytest.approx(0.41 * 0.7 / 7)
    # To first order, with m = 6 and a doubt of 0.3 of its logarithm: 6/7 x 0.3.
    relative = current(1.0, 0.7).shear_velocity.standard_uncertainty / (0.41 * 0.7 / 7)
    assert relative == pytest.approx(0.3 * 6 / 7, rel=1e-3)


def test_the_law_of_the_bed_is_doubted_beside_the_size_of_its_stones() -> None:
    # One known size of stones misses by a factor of two at the worst (Ferguson 2007, abstract): 95 % within e^(2 x 0.5).
    known = bed_of_stones(exact(0.05))
    assert (known.roughness, known.stone) == (pytest.approx(0.005), 0.05)
    assert 2.0 < math.exp(2 * known.doubt) < 3.0
    # GUM (JCGM 100:2008, 5.1.6): relative doubts of a product add in squares.
    sizes = bed_of_stones(Measured(0.05, 0.02))
    assert sizes.doubt == pytest.approx(math.hypot(known.doubt, 0.4))
    words = {word: bed_named(word) for word in ("sand", "gravel", "cobble", "boulder")}
    assert [bed.roughness for bed in words.values()] == pytest.approx([1e-4, 3e-3, 11e-3, 35e-3])
    doubts = [math.hypot(size, known.doubt) for size in (1.0, 0.5, 0.4, 0.4)]
    assert [bed.doubt for bed in words.values()] == pytest.approx(doubts)
    rough = bed_of_roughness(Measured(0.01, 0.003))
    assert (rough.doubt, rough.tops, rough.word) == (pytest.approx(0.3), pytest.approx(0.02), "z0")
    assert UNKNOWN.tops == 0


def test_a_power_profile_is_slower_near_the_bed_by_its_exponent() -> None:
    speeds, doubts = current(2.0, 1.0).speed([0.0, 1.0, 2.0])
    np.testing.assert_allclose(speeds, [1.0, 0.5 ** (1 / 6), 0.0])
    # d u / d ln m = u ln(2) / 6 at half the depth.
    assert doubts[1] == pytest.approx(0.3 * speeds[1] * math.log(2) / 6, rel=1e-3)


@pytest.mark.parametrize("bed", [UNKNOWN, bed_named("cobble")], ids=lambda one: one.word)
def test_rigs_feel_the_profile_that_is_told(bed: Bed) -> None:
    water = current(1.2, 0.7, bed)
    deep, one = np.array([[0.0], [0.4], [1.0], [1.5]]), np.ones(1)
    found = np.empty_like(deep)
    profile = water.profile(0.7 * one, 1.2 * one, water.shape[0] * one)
    profile.at(deep, found)
    np.testing.assert_allclose(found[:3, 0], water.speed(deep[:3, 0])[0])
    assert found[3, 0] == 0
    many = water.profile(np.array([0.5, 0.7]), np.array([2.0, 1.2]), water.shape[0] * np.ones(2))
    again = np.empty_like(deep)
    many.part(slice(1, 2)).at(deep, again)
    np.testing.assert_array_equal(again, found)


def test_the_doubt_of_the_speeds_meets_a_monte_carlo() -> None:
    water = current(1.2, 0.6, bed_of_roughness(Measured(0.01, 0.003)), doubt=0.08)
    heights = np.array([0.6, 0.2])
    draw = np.random.default_rng(5)
    h, us = 1.2 + 0.096 * draw.standard_normal(40000), 0.6 + 0.048 * draw.standard_normal(40000)
    z0 = 0.01 * np.exp(0.3 * draw.standard_normal(40000))
    made = us * np.log1p(heights[:, None] / z0) / np.log1p(h / z0)
    speeds, doubts = water.speed(1.2 - heights)
    np.testing.assert_allclose(speeds, made.mean(axis=1), rtol=0.01)
    np.testing.assert_allclose(doubts, made.std(axis=1), rtol=0.05)


def test_a_float_tells_the_surface_speed_with_both_doubts() -> None:
    once, thrice = (
        float_speed(Measured(5.0, 0.1), [10.0]),
        float_speed(Measured(5.0, 0.1), [10.0, 10.0, 10.0]),
    )
    assert once.value == thrice.value == 0.5
    # GUM (JCGM 100:2008, 5.1.6): relative doubts of a quotient add in squares; two presses of 0.15 s each.
    assert once.standard_uncertainty / 0.5 == pytest.approx(math.hypot(math.sqrt(2) * 0.15 / 10, 0.02))
    thirds = math.hypot(math.sqrt(2) * 0.15 / 10 / math.sqrt(3), 0.02)
    assert thrice.standard_uncertainty / 0.5 == pytest.approx(thirds)
    # Times that scatter by more than the watch count with their scatter: 1 s here, of three.
    apart = float_speed(Measured(5.0, 0.0), [9.0, 10.0, 11.0])
    assert apart.standard_uncertainty / 0.5 == pytest.approx(1 / math.sqrt(3) / 10)


def test_levels_of_the_fish_lie_in_the_water() -> None:
    water = current(1.0, bed=bed_named("cobble"))  # tops: 0.2 x 0.11
    assert near_bottom(water) == NEAR_BOTTOM == FishLevel(0.0, 0.2)
    assert near_bottom(current(0.15)).high == pytest.approx(0.15)
    assert (middle(water).low, middle(water).high) == (pytest.approx(0.3912), pytest.approx(0.5868))
    assert (around(0.5, water).low, around(0.5, water).high) == (pytest.approx(0.378), pytest.approx(0.578))
    assert around(0.95, water).low == 0.0
    assert around(0.05, water).high == water.floor
    check_level(FishLevel(0.0, water.floor), water)
    for low, high in ((0.3, 0.2), (-0.1, 0.2), (0.0, 0.99), (0.2, 0.2)):
        with pytest.raises(BadValueError) as refused:
            check_level(FishLevel(low, high), water)
        assert str(refused.value) == (
            f"level: {low:g} to {high:g} m above the stones is not a level in 0.978 m of water. Give two heights from 0 "
            "up, the lower first."
        )
    for depth in (0.0, 0.978, 2.0):
        with pytest.raises(BadValueError) as refused:
            around(depth, water)
        assert str(refused.value) == (
            f"level: {depth:g} m is not between the surface and the stones' tops at 0.978 m. Give a depth in this water."
        )


def test_rough_shallow_water_is_flagged() -> None:
    assert "shallow-rough" in current(0.5, bed=bed_named("cobble")).flags
    assert "shallow-rough" not in current(0.6, bed=bed_named("cobble")).flags
    assert "stone-tops" in current(0.6, bed=bed_named("cobble")).flags
    assert current(bed=bed_named("gravel")).flags == ()
    assert current().flags == ("bed-unknown",)


def test_stones_stand_a_fifth_of_their_size_above_still_water() -> None:
    assert current(bed=bed_named("cobble")).floor == pytest.approx(1 - 0.2 * 0.11)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (
            lambda: current(depth=0.0),
            "depth: 0 is outside 0.1 to 6 m. Measure it with the wading staff.",
        ),
        (
            lambda: current(speed=9.0),
            "surface speed: 9 is outside 0.02 to 3 m/s. Time a float over a known distance; the surface of fishable "
            "water runs 0.1 to 1.5 m/s.",
        ),
        (
            lambda: Current(exact(math.nan), exact(0.5), 283.15),
            "depth: nan is outside 0.1 to 6 m. Measure it with the wading staff.",
        ),
        (
            lambda: current(0.3, bed=bed_named("boulder")),
            "bed: stones of 0.35 m stand out of water that is 0.3 m deep. Choose deeper water or smaller stones: no law "
            "of the current covers this.",
        ),
        (
            lambda: bed_named("mud"),
            'bed: there is no bed "mud". Choose one of sand, gravel, cobble, boulder.',
        ),
        (
            lambda: current(doubt=0.6),
            "depth: 1 ± 1.2 says next to nothing. Measure it better: its ± may be as large as the value, no more.",
        ),
        (
            lambda: float_speed(exact(5.0), []),
            "time: none is given. Time a float over the distance, better three times.",
        ),
    ],
)
def test_impossible_water_is_refused(make: Callable[[], object], message: str) -> None:
    with pytest.raises(BadValueError) as refused:
        make()
    assert str(refused.value) == message


def refusal(make: Callable[[], object]) -> str:
    with pytest.raises(BadValueError) as refused:
        make()
    return str(refused.value)


def test_the_ends_of_what_a_bed_may_be_are_taken_and_what_lies_beyond_is_not() -> None:
    for size in (1e-4, 1.0):
        assert bed_of_stones(exact(size)).stone == size
    for size in (0.99e-4, 1.01):
        assert refusal(lambda size=size: bed_of_stones(exact(size))) == (
            f"d84: {size:.6g} is outside 0.0001 to 1 m. Give the size that 84 of 100 stones are smaller than."
        )
    for z0 in (1e-5, 0.1):
        assert bed_of_roughness(exact(z0)).roughness == z0
    for z0 in (0.99e-5, 0.101):
        assert refusal(lambda z0=z0: bed_of_roughness(exact(z0))) == (
            f"z0: {z0:.6g} is outside 1e-05 to 0.1 m. Give the height at which the logarithmic law comes to zero."
        )
    assert Bed(None, 0.0, None, "unknown") == UNKNOWN


def test_the_ends_of_what_water_may_be_are_taken_and_what_lies_beyond_is_not() -> None:
    for depth, speed in ((0.1, 0.02), (6.0, 3.0)):
        assert current(depth, speed).depth.value == depth
    for depth in (0.099, 6.01):
        assert refusal(lambda depth=depth: current(depth)) == (
            f"depth: {depth:g} is outside 0.1 to 6 m. Measure it with the wading staff."
        )
    for speed in (0.019, 3.01):
        assert refusal(lambda speed=speed: current(speed=speed)).startswith(
            f"surface speed: {speed:g} is outside 0.02 to 3 m/s."
        )
    assert current(doubt=0.5).depth.standard_uncertainty == 0.5
    assert refusal(lambda: current(doubt=0.51)).startswith("depth: 1 ± 1.02 says next to nothing.")
    vague = Measured(0.6, 0.31)
    assert refusal(lambda: Current(exact(1.0), vague, 283.15)).startswith(
        "surface speed: 0.6 ± 0.62 says next"
    )
    assert refusal(lambda: current(0.35, bed=bed_named("boulder"))).startswith(
        "bed: stones of 0.35 m stand out"
    )


def test_the_ends_of_what_a_float_may_be_are_taken_and_what_lies_beyond_is_not() -> None:
    assert float_speed(exact(0.5), [1.0]).value == 0.5
    assert float_speed(exact(100.0), [300.0]).value == pytest.approx(1 / 3)
    for distance in (0.49, 101.0):
        assert refusal(lambda distance=distance: float_speed(exact(distance), [10.0])) == (
            f"distance: {distance:g} is outside 0.5 to 100 m. Pace off 3 to 10 m of even water."
        )
    for time in (0.9, 301.0):
        assert refusal(lambda time=time: float_speed(exact(5.0), [10.0, time])) == (
            f"time: {time:g} is outside 1 to 300 s. Choose a distance that takes 5 to 60 s."
        )


def test_flags_of_the_bed_begin_where_they_say() -> None:
    assert "shallow-rough" not in current(0.5, bed=bed_of_stones(exact(0.1))).flags
    assert "shallow-rough" in current(0.49, bed=bed_of_stones(exact(0.1))).flags
    assert "stone-tops" in current(1.0, bed=bed_of_stones(exact(0.1))).flags
    assert "stone-tops" not in current(1.0, bed=bed_of_stones(exact(0.099))).flags


@pytest.mark.parametrize(
    ("depth", "speed", "hard"),
    [
        (0.5, 0.79, False),  # 0.395 m2/s
        (0.5, 0.8, True),
        (0.8, 0.5, True),
        (0.8, 0.49, False),
        (1.19, 0.1, False),
        (1.2, 0.1, True),
        (0.3, 0.81, True),
    ],
)
def test_hard_water_is_where_older_design_rules_for_people_end(
    depth: float, speed: float, hard: bool
) -> None:
    """0.4 m2/s, 1.2 m, 0.8 m/s: Australian practice before 2010, as on the slides of Cox (2011)."""
    water = Current(Measured(depth, 0.0), Measured(speed, 0.0), 283.15)
    assert hard_to_wade(water) is hard


def test_water_that_may_be_hard_counts_as_hard() -> None:
    sure = Current(Measured(0.7, 0.0), Measured(0.5, 0.0), 283.15)
    assert not hard_to_wade(sure)
    assert hard_to_wade(replace(sure, depth=Measured(0.7, 0.14)))
