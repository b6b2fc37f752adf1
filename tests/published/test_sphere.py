"""Sphere drag and terminal speeds against printed, measured and independently computed values."""

import fluids
import numpy as np
import pytest
from rows import Row, rows
from scipy.optimize import brentq

from flybench.errors import BadValueError
from flybench.hydraulics.sphere import LAWS, drag_coefficient, terminal_speed
from flybench.hydraulics.water import Water

ROOM = Water(293.15)


def water_of(kinematic_viscosity: float) -> Water:
    """Return fresh water warm enough to be that thin."""
    return Water(brentq(lambda kelvin: Water(kelvin).kinematic_viscosity - kinematic_viscosity, 274.0, 312.0))


@pytest.mark.parametrize("row", rows("sphere.csv", "drag coefficient", "measured drag coefficient"), ids=str)
def test_drag_is_as_printed(row: Row) -> None:
    row.check(float(drag_coefficient(row["re"], row.text("law"))))


@pytest.mark.parametrize("row", rows("sphere.csv", "terminal speed"), ids=str)
def test_terminal_speeds_are_as_worked_apart(row: Row) -> None:
    row.check(float(terminal_speed(row["mm"] / 1e3, row["rho"], ROOM, row.text("law"))))


@pytest.mark.parametrize("row", rows("sphere.csv", "measured terminal speed"), ids=str)
def test_terminal_speeds_are_as_measured_in_water(row: Row) -> None:
    water = water_of(row["nu"])
    row.check(float(terminal_speed(row["mm"] / 1e3, row["ratio"] * water.density, water)))


@pytest.mark.parametrize(
    ("law", "oracle"),
    [("clift-grace-weber", "Clift"), ("haider-levenspiel", "Haider_Levenspiel"), ("cheng", "Cheng")],
)
def test_laws_follow_another_implementation(law: str, oracle: str) -> None:
    for reynolds in np.geomspace(0.011, 0.99 * LAWS[law].highest, 60):
        there = fluids.drag_sphere(reynolds, Method=oracle)
        assert float(drag_coefficient(reynolds, law)) == pytest.approx(there, rel=1e-9)


@pytest.mark.parametrize(("diameter", "density"), [(0.001, 2500.0), (0.003, 19300.0), (0.004, 8500.0)])
def test_terminal_speed_follows_another_solver(diameter: float, density: float) -> None:
    there = fluids.v_terminal(D=diameter, rhop=density, rho=ROOM.density, mu=ROOM.viscosity, Method="Clift")
    assert float(terminal_speed(diameter, density, ROOM, "clift-grace-weber")) == pytest.approx(
        there, rel=1e-8
    )


@pytest.mark.parametrize("law", LAWS)
def test_drag_is_refused_outside_the_laws_range(law: str) -> None:
    for reynolds in (0.0, 1.01 * LAWS[law].highest, np.nan):
        with pytest.raises(BadValueError) as told:
            drag_coefficient(reynolds, law)
        assert str(told.value) == (
            f"Reynolds number: {reynolds:.6g} is outside 0.01 to {LAWS[law].highest:.6g}. "
            "Use a law whose range holds it."
        )


def test_errors_say_what_to_do() -> None:
    with pytest.raises(BadValueError) as told:
        terminal_speed(0.003, 900.0, ROOM)
    assert str(told.value) == (
        "density: the sphere has 0.901617 times the density of the water, so it does not sink. "
        "Give a density above that of the water."
    )
    with pytest.raises(BadValueError) as told:
        drag_coefficient(10.0, "stokes")
    assert str(told.value) == f'law: there is no drag law "stokes". Choose one of {", ".join(LAWS)}.'
    with pytest.raises(BadValueError) as told:
        terminal_speed(0.0, 8000.0, ROOM)
    assert str(told.value) == "diameter: a sphere of 0 mm cannot be. Give a diameter above zero."
    with pytest.raises(BadValueError) as told:
        terminal_speed(0.2, 19300.0, ROOM)
    assert str(told.value) == (
        "sphere: it would sink at a Reynolds number outside 0.01 to 200000. "
        "Use a sphere of 0.1 to 20 mm that sinks, or a law with a wider range."
    )
