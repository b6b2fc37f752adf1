"""Laws the physics must obey whatever its constants: limits, monotony, scaling, round trips."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flybench.hydraulics.falling_body import depth, response_time, speed, time_to_share
from flybench.hydraulics.refractive_index import refractive_index
from flybench.hydraulics.sphere import GRAVITY, LAWS, drag_coefficient, drag_slope, terminal_speed
from flybench.hydraulics.walls import WIDEST_RATIO, factor_limits, wall_factor
from flybench.hydraulics.water import FREEZING, Water, density, viscosity

# No time limit an example: the first one loads what is loaded lazily, and machines stall.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")

ROOM = Water(293.15)
SMOOTH = [law for law in LAWS if law != "clift-grace-weber"]

kelvins = st.floats(273.15, 313.15)
diameters = st.floats(0.5e-3, 8e-3)
densities = st.floats(1050.0, 19300.0)
reynolds = st.floats(1.0, 1e4)
ratios = st.floats(0.0, WIDEST_RATIO)
speeds = st.floats(0.02, 2.0)
taus = st.floats(0.005, 0.5)
starts = st.floats(-3.0, 6.0)


def test_fresh_water_is_densest_at_four_degrees() -> None:
    celsius = np.linspace(0.0, 40.0, 4001)
    assert celsius[np.argmax(density(celsius + FREEZING))] == pytest.approx(3.98, abs=0.011)


@given(kelvins, st.floats(0.0, 0.041))
def test_salt_makes_water_denser_and_thicker(kelvin: float, salt: float) -> None:
    assert density(kelvin, salt + 0.001) > density(kelvin, salt)
    assert viscosity(kelvin, salt + 0.001) > viscosity(kelvin, salt)


@given(st.floats(273.15, 312.15))
def test_warm_water_is_thinner(kelvin: float) -> None:
    assert viscosity(kelvin + 1) < viscosity(kelvin)


@given(kelvins, st.floats(400e-9, 690e-9))
def test_red_light_is_bent_less_than_blue(kelvin: float, wavelength: float) -> None:
    dense = density(kelvin)
    assert refractive_index(kelvin, dense, wavelength + 10e-9) < refractive_index(kelvin, dense, wavelength)


@pytest.mark.parametrize("law", LAWS)
def test_creeping_drag_is_stokes_drag(law: str) -> None:
    # Abraham's form is for higher Reynolds numbers and only nears 24/Re.
    allowed = 0.25 if law == "abraham" else 0.025
    assert float(drag_coefficient(0.01, law)) == pytest.approx(2400.0, rel=allowed)
    assert float(drag_slope(0.01, law)) == pytest.approx(-1.0, abs=0.06)


@given(st.floats(1.0, 1e3))
def test_the_laws_agree_within_an_eighth(value: float) -> None:
    laws = [float(drag_coefficient(value, law)) for law in LAWS]
    assert max(laws) / min(laws) < 1.125


@given(reynolds, st.sampled_from(SMOOTH))
def test_the_drag_force_rises_with_speed(value: float, law: str) -> None:
    if value <= LAWS[law].highest:
        assert -1.0 <= float(drag_slope(value, law)) < 0.4
        assert float(drag_slope(value, law)) + 2 > 0


@given(reynolds)
def test_the_slope_is_the_derivative_of_the_formula(value: float) -> None:
    coefficient = 24 / value + 3.6 * value**-0.319 + 0.407 * value / (value + 8710)
    rise = -24 / value - 0.319 * 3.6 * value**-0.319 + 0.407 * 8710 * value / (value + 8710) ** 2
    assert float(drag_slope(value)) == pytest.approx(rise / coefficient, abs=1e-7)


@pytest.mark.slow
@given(diameters, densities, kelvins, st.sampled_from(sorted(set(LAWS) - {"abraham", "schiller-naumann"})))
def test_weight_and_drag_balance_at_terminal_speed(
    size: float, dense: float, kelvin: float, law: str
) -> None:
    water = Water(kelvin)
    fall = float(terminal_speed(size, dense, water, law))
    coefficient = float(drag_coefficient(fall * size / water.kinematic_viscosity, law))
    balance = 4 / 3 * GRAVITY * size * (dense / water.density - 1) / (coefficient * fall**2)
    # The Clift-Grace-Weber law jumps at its joints, where no speed balances exactly.
    assert balance == pytest.approx(1.0, rel=0.008 if law == "clift-grace-weber" else 1e-9)


@given(diameters, densities, st.floats(1.0, 1.5))
def test_a_heavier_sphere_is_never_slower(size: float, dense: float, more: float) -> None:
    assert terminal_speed(size, dense * more, ROOM) >= terminal_speed(size, dense, ROOM) * (1 - 1e-12)


@given(diameters, densities, st.floats(1.0, 1.5))
@pytest.mark.slow
def test_a_larger_sphere_is_never_slower(size: float, dense: float, more: float) -> None:
    assert terminal_speed(size * more, dense, ROOM) >= terminal_speed(size, dense, ROOM) * (1 - 1e-12)


def test_terminal_speeds_broadcast() -> None:
    table = terminal_speed(np.array([[0.002], [0.003]]), np.array([2500.0, 8500.0, 19300.0]), ROOM)
    assert table.shape == (2, 3)
    assert table[1, 1] == pytest.approx(float(terminal_speed(0.003, 8500.0, ROOM)), rel=1e-14)


@given(ratios, ratios, st.floats(0.001, 2e5))
def test_a_narrower_tank_never_speeds_the_fall(one: float, other: float, value: float) -> None:
    wide, narrow = wall_factor(min(one, other), value), wall_factor(max(one, other), value)
    assert 0 < narrow.value <= wide.value <= 1


@given(ratios, st.floats(0.001, 2e5))
def test_the_factor_lies_between_its_limits(ratio: float, value: float) -> None:
    lowest, highest = factor_limits(ratio, value)
    factor = wall_factor(ratio, value)
    assert lowest <= factor.value <= highest
    assert factor.value + factor.standard_uncertainty >= highest - 1e-12


@given(speeds, taus, starts, st.floats(0.0, 3.0), st.floats(0.0, 3.0))
def test_a_fall_can_be_taken_in_two_steps(
    terminal: float, tau: float, start: float, first: float, second: float
) -> None:
    halfway = float(depth(first, terminal, tau, start))
    onward = float(depth(second, terminal, tau, speed(first, terminal, tau, start)))
    assert float(depth(first + second, terminal, tau, start)) == pytest.approx(halfway + onward, abs=1e-9)


@given(speeds, taus, starts, st.floats(0.0, 3.0))
def test_the_speed_never_leaves_the_way_to_terminal(
    terminal: float, tau: float, start: float, t: float
) -> None:
    now = float(speed(t, terminal, tau, start))
    assert min(start, terminal) - 1e-9 <= now <= max(start, terminal) + 1e-9


@given(speeds, taus, starts, st.floats(0.0, 10.0))
def test_scaling_time_and_length_scales_the_fall(terminal: float, tau: float, start: float, t: float) -> None:
    plain = float(depth(t, 1.0, 1.0, start))
    scaled = float(depth(t * tau, terminal, tau, start * terminal))
    assert scaled == pytest.approx(plain * terminal * tau, abs=1e-12, rel=1e-9)


@given(speeds, taus, st.floats(-3.0, 4.0), st.floats(0.001, 0.999))
def test_the_time_to_a_share_gives_that_share(terminal: float, tau: float, start: float, way: float) -> None:
    share = start + way * (1 - start)
    t = time_to_share(share, terminal, tau, start * terminal)
    assert float(speed(t, terminal, tau, start * terminal)) == pytest.approx(share * terminal, abs=1e-8)


@given(speeds, st.floats(1.05, 20.0), st.floats(0.0, 1.0))
def test_added_mass_slows_the_start(fall: float, ratio: float, added: float) -> None:
    bare = float(response_time(fall, ratio, 0.0))
    assert float(response_time(fall, ratio, added)) >= bare
    # The first instant's acceleration from rest is weight over all the mass that must move.
    assert fall / bare == pytest.approx(GRAVITY * (ratio - 1) / ratio)
