"""Water against printed and independently computed values."""

import numpy as np
import pytest
from chemicals.iapws import iapws95_rho
from chemicals.viscosity import mu_IAPWS
from rows import Row, rows

from flybench.errors import BadValueError
from flybench.hydraulics.water import Water, density, viscosity

PROPERTIES = {
    "density": (lambda water: water.density, 1.0),
    "viscosity": (lambda water: water.viscosity, 1e3),
    "kinematic viscosity": (lambda water: water.kinematic_viscosity, 1e6),
}


@pytest.mark.parametrize("row", rows("water.csv"), ids=str)
def test_water_is_as_printed(row: Row) -> None:
    read, factor = PROPERTIES[row.quantity]
    row.check(read(Water(row["t"] + 273.15, row["s"])) * factor)


def test_fresh_water_follows_the_full_iapws_equations_over_the_whole_range() -> None:
    for kelvin in np.linspace(273.15, 313.15, 21):
        full = iapws95_rho(kelvin, 101325.0)
        assert abs(float(density(kelvin)) - full) < 0.0013
        assert float(viscosity(kelvin)) == pytest.approx(mu_IAPWS(kelvin, full), rel=4e-5)


def test_water_is_refused_outside_the_formulas_range() -> None:
    with pytest.raises(BadValueError) as told:
        Water(320.0)
    assert str(told.value) == (
        "temperature: 46.85 is outside 0 to 40 degC. Give the temperature measured in the water."
    )
    with pytest.raises(BadValueError) as told:
        Water(290.0, 0.05)
    assert str(told.value) == "salinity: 50 is outside 0 to 42 g/kg. The open sea has about 35 g/kg."
    for kelvin, salt in ((273.15, 0.0), (313.15, 0.042)):
        assert Water(kelvin, salt).density > 990.0


def test_arrays_give_what_their_elements_give() -> None:
    kelvin, salt = np.array([[275.0], [300.0]]), np.array([0.0, 0.01, 0.035])
    for formula in (density, viscosity):
        table = formula(kelvin, salt)
        assert table.shape == (2, 3)
        assert table[1, 2] == formula(300.0, 0.035)
