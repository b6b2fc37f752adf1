"""Refractive index against independently computed values."""

import pytest
from chemicals.iapws import iapws95_rho
from chemicals.refractivity import RI_IAPWS
from rows import Row, rows

from flybench.errors import BadValueError
from flybench.hydraulics.refractive_index import DAYLIGHT, WALL_INDEX, refractive_index
from flybench.hydraulics.water import density


@pytest.mark.parametrize("row", rows("refraction.csv"), ids=str)
def test_refractive_index_is_as_printed(row: Row) -> None:
    kelvin = row["t"] + 273.15
    dense = row["rho"] if "rho=" in row.inputs else iapws95_rho(kelvin, 101325.0)
    row.check(float(refractive_index(kelvin, dense, row["nm"] * 1e-9)))


@pytest.mark.parametrize("kelvin", [274.0, 293.0, 312.0])
@pytest.mark.parametrize("wavelength", [400e-9, DAYLIGHT, 700e-9])
def test_refractive_index_follows_another_implementation(kelvin: float, wavelength: float) -> None:
    dense = float(density(kelvin))
    oracle = RI_IAPWS(kelvin, dense, wavelength)
    assert float(refractive_index(kelvin, dense, wavelength)) == pytest.approx(oracle, abs=1e-9)


def test_no_matter_no_refraction() -> None:
    assert float(refractive_index(293.15, 0.0)) == 1.0


def test_invisible_light_is_refused() -> None:
    with pytest.raises(BadValueError) as told:
        refractive_index(293.15, 998.0, 1200e-9)
    assert str(told.value) == "wavelength: 1200 is outside 200 to 1100 nm. Use visible light, 400 to 700 nm."
    for end in (200e-9, 1100e-9):
        assert float(refractive_index(293.15, 998.0, end)) > 1.3


def test_walls_bend_light_more_than_water() -> None:
    assert all(1.4 < index < 1.7 for index in WALL_INDEX.values())
