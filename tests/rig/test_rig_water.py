"""Water in front of you: speeds over depth against hand calculation and tables, and what is refused."""

from __future__ import annotations

import doctest
import importlib
import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import quad

from flybench.errors import BadValueError
from flybench.quantity import Measured
from flybench.rig.water.bed import UNKNOWN, Bed, bed_named, bed_of_roughness, bed_of_stones
from flybench.rig.water.current import Current, float_speed


@pytest.mark.parametrize("name", ["bed", "current", "diameter", "run", "takes"])
def test_the_examples_in_the_descriptions_hold(name: str) -> None:
    result = doctest.testmod(importlib.import_module(f"flybench.rig.{name}"))
    assert result.attempted
    assert not result.failed


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
    assert thrice.standard_uncertainty < once.standard_uncertainty


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
            "bed: stones of 0.35 m stand out of water 0.3 m deep. Choose deeper water or a finer bed: no law covers "
            "this.",
        ),
        (
            lambda: bed_named("mud"),
            'bed: there is no bed "mud". Choose one of sand, gravel, cobble, boulder.',
        ),
        (
            lambda: current(doubt=0.6),
            "depth: 1 ± 1.2 says nothing. Measure it better: ± at most the value itself.",
        ),
        (
            lambda: float_speed(exact(5.0), []),
            "time: no time is given. Time a float over the distance, better three times.",
        ),
    ],
)
def test_impossible_water_is_refused(make: Callable[[], object], message: str) -> None:
    with pytest.raises(BadValueError) as refused:
        make()
    assert str(refused.value) == message
