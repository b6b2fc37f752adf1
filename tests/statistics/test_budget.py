"""Laws of the uncertainty budget: steps, correlations, degrees of freedom, refusals (worked examples: published/test_gum)."""

import math

import numpy as np
import pytest

from flybench.errors import BadValueError
from flybench.statistics.budget import (
    BudgetLine,
    combined,
    effective_degrees_of_freedom,
    propagate,
    sensitivities,
)


@pytest.mark.parametrize(
    ("width", "degrees", "told"),
    [
        (-1.0, 3.0, "scale: a standard uncertainty of -1 with 3 degrees of freedom cannot be. Give an uncertainty of zero or more, with more than zero degrees of freedom."),
        (math.nan, 3.0, "scale: a standard uncertainty of nan with 3 degrees of freedom cannot be. Give an uncertainty of zero or more, with more than zero degrees of freedom."),
        (1.0, 0.0, "scale: a standard uncertainty of 1 with 0 degrees of freedom cannot be. Give an uncertainty of zero or more, with more than zero degrees of freedom."),
        (1.0, -2.0, "scale: a standard uncertainty of 1 with -2 degrees of freedom cannot be. Give an uncertainty of zero or more, with more than zero degrees of freedom."),
    ],
)  # fmt: skip
def test_what_cannot_be_a_budget_line_is_refused(width: float, degrees: float, told: str) -> None:
    with pytest.raises(BadValueError) as caught:
        BudgetLine("scale", width, degrees)
    assert str(caught.value) == told


def test_half_a_degree_of_freedom_and_no_uncertainty_are_taken() -> None:
    assert BudgetLine("scale", 0.0, 0.5).standard_uncertainty == 0.0
    assert BudgetLine("scale", 0.0).degrees_of_freedom == math.inf


def test_three_sources_by_hand() -> None:
    """JCGM 100:2008, 5.1.2 and G.4.1: hypot(2, 3, 6) = 7; 7^4 / (2^4 / 2 + 3^4 / 4 + 6^4 / 6)."""
    lines = [BudgetLine("a", 2.0, 2), BudgetLine("b", 3.0, 4), BudgetLine("c", 6.0, 6)]
    assert combined(lines) == pytest.approx(7.0, rel=1e-12)
    assert effective_degrees_of_freedom(lines) == pytest.approx(
        7**4 / (16 / 2 + 81 / 4 + 1296 / 6), rel=1e-12
    )


@pytest.mark.parametrize("size", [1e-120, 1e-3, 1.0, 7.0])
def test_one_source_alone_keeps_its_degrees_of_freedom(size: float) -> None:
    assert effective_degrees_of_freedom([BudgetLine("a", size, 4)]) == pytest.approx(4, rel=1e-12)


def test_a_slope_is_taken_over_a_tenth_of_the_doubt_on_either_side() -> None:
    """x^3 by central differences of the step h: 3 x^2 + h^2, h a tenth of the standard uncertainty."""
    asked: list[float] = []

    def cube(x: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
        asked.append(float(x[0]))
        return np.asarray(x[0] ** 3)

    slope = sensitivities(cube, [2.0], [0.5])
    assert slope[0, 0] == pytest.approx(12.0 + 0.05**2, rel=1e-9)
    assert sorted(asked) == pytest.approx([1.95, 2.05], rel=1e-12)


def test_a_tiny_doubt_does_not_drown_in_rounding() -> None:
    """Steps are never below the root of a float's last digit, 1.5e-8, of the input."""
    slopes = sensitivities(np.sin, [1000.0], [1e-13])
    assert slopes[0, 0] == pytest.approx(math.cos(1000.0), rel=1e-4)
    asked: list[float] = []
    sensitivities(lambda x: asked.append(float(x[0])) or x, [1000.0], [1e-13])  # type: ignore[func-returns-value]
    assert max(asked) - 1000.0 == pytest.approx(1000.0 * 2**-26, rel=1e-3)


def test_an_exact_zero_is_stepped_from_as_if_it_were_one() -> None:
    asked: list[float] = []
    slopes = sensitivities(lambda x: asked.append(float(x[0])) or 3 * x, [0.0], [0.0])  # type: ignore[func-returns-value]
    assert slopes[0, 0] == pytest.approx(3.0)
    assert max(asked) == pytest.approx(2**-26)
    asked.clear()
    for doubt in (1e-3, 1e-12):
        asked.clear()
        sensitivities(lambda x: asked.append(float(x[0])) or x, [0.0], [doubt])  # type: ignore[func-returns-value]
        assert max(asked) == pytest.approx(doubt / 10)


def test_steps_that_are_given_are_taken() -> None:
    """x^3 with the step 0.1: 3 + 0.01."""
    assert sensitivities(lambda x: x**3, [1.0], [0.5], [0.1])[0, 0] == pytest.approx(3.01)
    _, covariance = propagate(lambda x: x**3, [1.0], [1.0], [0.1])
    assert covariance[0, 0] == pytest.approx(3.01**2)
    slopes = sensitivities(lambda x: x[0] ** 3 + x[1] ** 3, [1.0, 1.0], [0.5, 0.5], 0.1)  # one step for all
    assert slopes[0] == pytest.approx([3.01, 3.01])


def test_correlated_inputs_by_hand() -> None:
    """JCGM 100:2008, 5.2.2: the variance of x - y is u1^2 + u2^2 - 2 r u1 u2; of x + y with the other sign."""
    covariance = [[0.04, 0.03], [0.03, 0.09]]
    values, found = propagate(lambda x: np.array([x[0] - x[1], x[0] + x[1]]), [5.0, 3.0], covariance)
    assert values == pytest.approx([2.0, 8.0])
    assert found[0, 0] == pytest.approx(0.04 + 0.09 - 0.06, rel=1e-6)
    assert found[1, 1] == pytest.approx(0.04 + 0.09 + 0.06, rel=1e-6)
    assert found[0, 1] == pytest.approx(0.04 - 0.09, rel=1e-6)
    assert found[1, 0] == pytest.approx(found[0, 1])


def test_a_single_number_is_an_array_of_one() -> None:
    values, covariance = propagate(lambda x: 2.0 * x[0], 3.0, 0.25)
    assert values.tolist() == [6.0]
    assert covariance == pytest.approx(np.array([[1.0]]))
