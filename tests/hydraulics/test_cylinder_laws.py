"""Laws that drag across and friction along a line must obey whatever their constants."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from flybench.errors import BadValueError
from flybench.hydraulics.cylinder import LAWS, cylinder_coefficient, cylinder_slope, friction_along

lines = st.floats(1.01, 990.0)


@pytest.mark.parametrize("law", LAWS)
@given(reynolds=lines, more=st.floats(1.01, 3.0))
def test_faster_is_a_smaller_coefficient_but_more_drag(law: str, reynolds: float, more: float) -> None:
    faster = min(reynolds * more, 999.0)
    slow, fast = (float(cylinder_coefficient(one, law)) for one in (reynolds, faster))
    assert fast < slow
    assert fast * faster**2 > slow * reynolds**2


@pytest.mark.slow
@pytest.mark.parametrize("law", LAWS)
@given(reynolds=lines)
def test_drag_goes_between_speed_and_its_square(law: str, reynolds: float) -> None:
    """Creeping flow has drag as the speed (slope -1), a blunt body in fast flow as its square (slope 0)."""
    assert -1.0 < float(cylinder_slope(reynolds, law)) < 0.0


@pytest.mark.parametrize("law", LAWS)
def test_the_slope_adds_up_to_the_coefficient(law: str) -> None:
    logs = np.linspace(np.log(2.0), np.log(900.0), 4001)
    slopes = cylinder_slope(np.exp(logs), law)
    risen = float(np.sum((slopes[1:] + slopes[:-1]) / 2 * np.diff(logs)))
    ends = cylinder_coefficient(np.array([2.0, 900.0]), law)
    assert risen == pytest.approx(float(np.log(ends[1] / ends[0])), rel=1e-5)


@pytest.mark.parametrize("law", LAWS)
def test_every_law_is_refused_just_outside_its_range(law: str) -> None:
    low, high = LAWS[law].lowest, LAWS[law].highest
    for reynolds in (low * 0.99, high * 1.01, np.nan):
        with pytest.raises(BadValueError) as told:
            cylinder_coefficient(reynolds, law)
        assert str(told.value) == (
            f"Reynolds number: {reynolds:.6g} is outside {low:.6g} to {high:.6g}. Use a law whose range holds it."
        )
    assert np.all(np.isfinite(cylinder_coefficient([LAWS[law].lowest, LAWS[law].highest], law)))


@given(across=st.floats(0.0, 300.0), more=st.floats(0.1, 300.0), viscosity=st.floats(0.7e-3, 1.8e-3))
def test_friction_along_grows_with_what_crosses_and_with_viscosity(
    across: float, more: float, viscosity: float
) -> None:
    assert friction_along(across + more, viscosity) > friction_along(across, viscosity)
    assert float(friction_along(across, 2 * viscosity)) == pytest.approx(
        2 * float(friction_along(across, viscosity))
    )


def test_friction_along_is_least_where_nothing_crosses() -> None:
    assert float(friction_along(0.0, 1e-3)) == pytest.approx(pi * 0.65e-3)
    with pytest.raises(BadValueError) as told:
        friction_along(-1.0, 1e-3)
    assert str(told.value) == (
        "Reynolds number across: -1 is outside 0 to 10000. Use a thin line at river speeds."
    )
