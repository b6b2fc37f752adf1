"""A part at its edges: exact sizes, full correlation, light stuff; and the doubts of the metals entered a second time."""

import math

import pytest

from flybench.quantity import Measured
from flybench.sinking.weight.parts import PartMetal, SolidPart, density_of, sized_part, weighed_part

BEAD = (Measured(2e-4, 3e-6), Measured(2e-8, 4e-9))

# Standard uncertainties [kg/m3], the product's judgement from the spread of the tables and alloys that each source names;
# entered here a second time, so that a slip of a digit is noticed.
JUDGED = {
    PartMetal.PURE_TUNGSTEN: 40.0,
    PartMetal.BRASS: 50.0,
    PartMetal.STEEL: 25.0,
    PartMetal.STAINLESS: 70.0,
    PartMetal.LEAD: 80.0,
    PartMetal.TIN: 20.0,
    PartMetal.GLASS: 80.0,
    PartMetal.COPPER: 20.0,
    PartMetal.HOOK_STEEL: 40.0,
    PartMetal.LEAD_FREE: 250.0,
}


def test_the_doubts_of_the_metals_are_those_that_were_judged() -> None:
    found = {metal: density_of(metal).standard_uncertainty for metal in PartMetal}
    tungsten = found.pop(PartMetal.TUNGSTEN)
    assert found == JUDGED
    assert tungsten == pytest.approx(
        1000 / math.sqrt(3), abs=0.5
    )  # classes 1 to 4 of ASTM B777-15, a rectangle


@pytest.mark.parametrize(("correlation", "doubt"), [(0.0, 5e-6), (1.0, 1e-6), (-1.0, 7e-6)])
def test_mass_and_volume_may_err_apart_together_or_against_each_other(
    correlation: float, doubt: float
) -> None:
    """JCGM 100:2008, 5.2.2, by hand: 3 mg and 1000 kg/m3 x 4 mm3: hypot, difference and sum."""
    assert SolidPart("bead", *BEAD, correlation).apparent_mass(1000.0).standard_uncertainty == pytest.approx(
        doubt
    )


def test_mass_and_volume_err_apart_unless_something_else_is_said() -> None:
    assert SolidPart("bead", *BEAD).apparent_mass(1000.0).standard_uncertainty == pytest.approx(5e-6)


def test_what_is_known_exactly_has_no_correlation() -> None:
    exact = sized_part("bead", Measured(1e-8, 0.0), Measured(8000.0, 0.0))
    assert (exact.correlation, exact.apparent_mass(1000.0).standard_uncertainty) == (0.0, 0.0)
    assert weighed_part("bead", Measured(8e-5, 0.0), Measured(8000.0, 0.0)).correlation == 0.0


def test_stuff_lighter_than_air_is_a_part_all_the_same() -> None:
    assert weighed_part("gas", Measured(1e-9, 0.0), Measured(0.5, 0.0)).volume.value == pytest.approx(2e-9)
