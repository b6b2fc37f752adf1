"""The range of speeds that a label and a price list tell, whatever its ends are rounded to."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import pytest

from flybench.paper.label.content import LabelSpeed

TWICE = 0.9544
"""Share of a normal law within two standard deviations."""


@pytest.mark.parametrize("expanded", [0.3, 0.99, 1.0, 1.2, 1.5, 1.99, 2.0, 2.5, 4.0])
def test_rounding_takes_nothing_off_the_range(expanded: float) -> None:
    """How likely the speed lies between the told ends, by the normal law of the standard library."""
    for speed in np.arange(20.0, 22.0, 0.01):
        low, high = map(float, LabelSpeed(speed / 100, expanded / 100).end_numbers)
        law = NormalDist(float(speed), expanded / 2)
        assert law.cdf(high) - law.cdf(low) > TWICE, (speed, low, high)


def test_a_wide_range_is_told_in_whole_numbers() -> None:
    assert LabelSpeed(0.2871, 0.0412).end_numbers == ("24", "33")  # 24.59 and 32.83
    assert LabelSpeed(0.28, 0.02).end_numbers == ("26", "30")  # no wider where the ends are whole
    assert LabelSpeed(0.2871, 0.0062).end_numbers == ("28.0", "29.4")  # 28.09 and 29.33
