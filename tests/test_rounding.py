"""Values and their uncertainties as they are printed: rounded to the place the uncertainty deserves."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flybench.errors import BadValueError
from flybench.rounding import rounded, speed_text


@pytest.mark.parametrize(
    ("value", "uncertainty", "texts"),
    [
        (31.4159, 0.4, ("31.4", "0.4")),
        (31.4159, 0.16, ("31.42", "0.16")),
        (31.4159, 0.34, ("31.4", "0.4")),
        (31.4159, 0.298, ("31.4", "0.3")),
        (31.4159, 0.2949, ("31.42", "0.29")),  # the last that is nearer to 0.29 than to 0.3
        (31.4159, 0.295, ("31.4", "0.3")),
        (31.4159, 0.9, ("31.4", "0.9")),
        (31.4159, 0.306, ("31.4", "0.3")),
        (31.4159, 0.3157, ("31.4", "0.3")),  # rounding down takes 4.97 %, and 5 % is allowed
        (31.4159, 0.3158, ("31.4", "0.4")),  # here it would take 5.003 %
        (31.4159, 0.0995, ("31.42", "0.10")),
        (31.4159, 0.95, ("31.4", "1.0")),
        (31.25, 0.4, ("31.2", "0.4")),
        (31.4159, 0.96, ("31.4", "1.0")),
        (31.4159, 0.104, ("31.42", "0.10")),
        (1234.5, 96.0, ("1230", "100")),
        (1234.5, 34.0, ("1230", "40")),
        (-0.001, 0.4, ("0.0", "0.4")),
        (2.5e-7, 1.2e-8, ("0.000000250", "0.000000012")),
    ],
)
def test_values_are_rounded_where_their_uncertainty_ends(
    value: float, uncertainty: float, texts: tuple[str, str]
) -> None:
    assert rounded(value, uncertainty) == texts


@given(st.floats(-1e9, 1e9), st.floats(1e-9, 1e9))
def test_rounding_never_flatters(value: float, uncertainty: float) -> None:
    short, spread = rounded(value, uncertainty)
    assert float(spread) >= 0.95 * uncertainty * (1 - 1e-12)
    assert float(spread) <= 1.34 * uncertainty
    assert len(spread.replace(".", "").strip("0")) <= 2
    assert abs(float(short) - value) <= 0.51 * float(spread)


@pytest.mark.parametrize(
    ("value", "uncertainty"), [(1.0, 0.0), (1.0, -1.0), (1.0, math.nan), (1.0, math.inf), (math.nan, 1.0)]
)
def test_what_cannot_be_rounded_is_refused(value: float, uncertainty: float) -> None:
    with pytest.raises(BadValueError) as told:
        rounded(value, uncertainty)
    assert str(told.value) == (
        f"uncertainty: cannot round {value:g} with the uncertainty {uncertainty:g}. "
        "Give finite numbers, the uncertainty above zero."
    )


def test_even_the_largest_over_the_smallest_number_is_rounded() -> None:
    assert rounded(1.7e308, 5e-324)[1].endswith("5")


def test_a_speed_is_shown_in_both_units() -> None:
    assert speed_text(0.314, 0.004) == "31.4 ± 0.4 cm/s (12.36 ± 0.16 in/s)"
