"""A scale at its edges: what is just fine enough, what its doubts come to by hand, what it cannot be."""

import math

import pytest

from flybench.errors import BadValueError
from flybench.quantity import Measured
from flybench.sinking.weight.scale import (
    LAST_DIGIT,
    ScaleCheck,
    check_scale,
    hydrostatic,
    reading,
    weighing_gain,
)

GRAM, MILLIGRAM = 1e-3, 1e-6


def test_just_fine_enough_is_fine_enough() -> None:
    """The limit itself is within the limit, for the share of a weight and for each step that scales count in."""
    assert not ScaleCheck(1.0, 1, LAST_DIGIT, 1.0).too_coarse
    assert ScaleCheck(1.0, 1, math.nextafter(LAST_DIGIT, 1.0), 1.0).too_coarse
    for step in (1.0, 2.0, 5.0):
        assert ScaleCheck(1.0, 1, 0.01, step).fine_enough == step
        assert ScaleCheck(1.0, 1, 0.01, math.nextafter(step, 9.0)).fine_enough == step


def test_twenty_flies_are_more_than_nineteen() -> None:
    """By hand: 10 mg / sqrt(12) are 1.5 % of 192.5 mg, 10.1 flies of 19 mg: two tens."""
    scale = check_scale(10 * MILLIGRAM, 19 * MILLIGRAM, 5)
    assert (scale.enough_together(19), scale.enough_together(20)) == (None, 20)


def test_what_weighing_leaves_of_a_doubt_by_hand() -> None:
    """JCGM 100:2008, 5.1.2: hypot(step / sqrt(12), (rho - 1.2) u(V)) over 0.2 g dry, the step alone where weighed twice."""
    weight, volume = Measured(9.80665 * 0.2 * GRAM, 9.80665 * 0.01 * GRAM), Measured(3e-8, 4e-9)
    gain = weighing_gain(weight, volume, 1001.2, 3.6 * MILLIGRAM)
    step = 3.6 / math.sqrt(12) / 200
    assert gain.now.weight == pytest.approx(0.05)
    assert gain.weighed_twice.weight == pytest.approx(step)
    assert gain.weighed_dry.weight == pytest.approx(math.hypot(step, 4.0 / 200))
    assert gain.factor == pytest.approx(0.05 / step)


def test_the_mass_of_a_hydrostatic_weighing_is_known_as_its_readings_are() -> None:
    """JCGM 100:2008, 5.1.2, in air a tenth as dense as the water less the air, so that nothing of it is lost in rounding:

    m = k [r1 + a (r1 - r2)], a = 100 / (1100 - 100): d m / d r1 = k (1 + a), d m / d r2 = -k a, k = 1 - 100 / 8000.
    """
    mass, volume, _ = hydrostatic(Measured(8 * GRAM, 2e-6), Measured(6 * GRAM, 3e-6), 1100.0, 100.0)
    k = 1 - 100 / 8000
    assert mass.value == pytest.approx(k * 8.2 * GRAM)
    assert mass.standard_uncertainty == pytest.approx(k * math.hypot(1.1 * 2e-6, 0.1 * 3e-6))
    assert volume.standard_uncertainty == pytest.approx(k * math.hypot(2e-6, 3e-6) / 1000)


def test_what_no_scale_can_be_is_told_in_its_own_numbers() -> None:
    with pytest.raises(BadValueError) as refused:
        reading(1e-3, -2 * MILLIGRAM)
    assert str(refused.value) == (
        "scale.resolution: -2 mg cannot be the step of a scale's last digit. Give a step above zero, such as 1 mg."
    )
    with pytest.raises(BadValueError) as refused:
        check_scale(MILLIGRAM, -2 * GRAM)
    assert str(refused.value) == "scale.mass: a mass of -2 g cannot be weighed. Give a mass above zero."
