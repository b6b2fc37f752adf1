"""The uncertainty tools against the worked examples of JCGM 100:2008 (GUM), annex H."""

import math

import numpy as np
import pytest
from rows import rows
from scipy.stats import t as student

from flybench.errors import BadValueError
from flybench.statistics.budget import (
    BudgetLine,
    combined,
    effective_degrees_of_freedom,
    propagate,
    sensitivities,
)

# H.1: readings of the comparator [nm]: repeatability, calibration, its random effects.
COMPARATOR = [BudgetLine("readings", 5.8, 24), BudgetLine("random", 3.9, 5), BudgetLine("systematic", 6.7, 8)]
# H.2: five readings of voltage [V], current [A] and phase [rad].
VOLTAGE = [5.007, 4.994, 5.005, 4.990, 4.999]
CURRENT = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3]
PHASE = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]
# H.3: thermometer reading and its correction [C].
READING = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
CORRECTION = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]


def printed(quantity: str) -> dict[str, object]:
    return {row.text("of") if row.inputs else "": row for row in rows("gum.csv", quantity)}


def check(quantity: str, computed: dict[str, float]) -> None:
    for name, row in printed(quantity).items():
        row.check(computed[name])


def end_gauge(inputs: np.ndarray) -> float:
    """Return the length of the gauge [nm]; it and the standard differ in expansion and temperature."""
    standard, difference, expansion, expansion_difference, temperature_difference, temperature = inputs
    shift = expansion_difference * temperature + expansion * temperature_difference
    return standard + difference - standard * shift


def test_h1_end_gauge() -> None:
    comparator = combined(COMPARATOR)
    check("H.1 comparator uncertainty", {"": comparator})
    values = [50000623.0, 215.0, 11.5e-6, 0.0, 0.0, -0.1]
    widths = np.array([25.0, comparator, 2e-6 / 3**0.5, 1e-6 / 3**0.5, 0.05 / 3**0.5, 0.41])
    length, covariance = propagate(end_gauge, values, widths**2)
    uncertainty = math.sqrt(covariance[0, 0])
    check("H.1 length", {"": length[0]})
    check("H.1 standard uncertainty", {"": uncertainty})

    shares = np.abs(sensitivities(end_gauge, values, widths)[0]) * widths
    degrees = [18, effective_degrees_of_freedom(COMPARATOR), math.inf, 50, 2, math.inf]
    lines = [BudgetLine(str(index), *line) for index, line in enumerate(zip(shares, degrees, strict=True))]
    assert combined(lines) == pytest.approx(uncertainty)
    freedom = math.floor(effective_degrees_of_freedom(lines))
    check("H.1 degrees of freedom", {"": freedom})
    check("H.1 expanded uncertainty", {"": student.ppf(0.995, freedom) * uncertainty})


def impedance(inputs: np.ndarray) -> np.ndarray:
    voltage, current, phase = inputs
    return voltage / current * np.array([np.cos(phase), np.sin(phase), 1.0])


def test_h2_simultaneous_resistance_and_reactance() -> None:
    readings = np.array([VOLTAGE, CURRENT, PHASE])
    values, covariance = propagate(impedance, readings.mean(axis=1), np.cov(readings) / 5)
    widths = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(widths, widths)
    check("H.2 value", dict(zip("RXZ", values, strict=True)))
    check("H.2 uncertainty", dict(zip("RXZ", widths, strict=True)))
    check("H.2 correlation", {"R,X": correlation[0, 1], "R,Z": correlation[0, 2], "X,Z": correlation[1, 2]})

    _, alone = propagate(impedance, readings.mean(axis=1), np.diag(np.cov(readings)) / 5)
    check("H.2 uncertainty without correlation", dict(zip("RXZ", np.sqrt(np.diag(alone)), strict=True)))


def test_h3_calibration_line() -> None:
    away = np.array(READING) - 20

    def line(corrections: np.ndarray) -> np.ndarray:
        slope, intercept = np.polyfit(away, corrections, 1)
        return np.array([intercept, slope, intercept + 10 * slope])

    intercept, slope, _ = line(np.array(CORRECTION))
    scatter = math.sqrt(np.sum((CORRECTION - intercept - slope * away) ** 2) / 9)
    check("H.3 scatter", {"": scatter})
    values, covariance = propagate(line, CORRECTION, np.full(11, scatter**2))
    names = ("intercept", "slope", "prediction")
    widths = np.sqrt(np.diag(covariance))
    check("H.3 value", dict(zip(names, values, strict=True)))
    check("H.3 uncertainty", dict(zip(names, widths, strict=True)))
    check("H.3 correlation", {"": covariance[0, 1] / widths[0] / widths[1]})

    _, prediction = propagate(lambda fit: fit[0] + 10 * fit[1], values[:2], covariance[:2, :2])
    assert prediction[0, 0] == pytest.approx(covariance[2, 2])


def test_exact_sources_leave_infinite_degrees_of_freedom() -> None:
    assert effective_degrees_of_freedom([BudgetLine("a", 1.0), BudgetLine("b", 0.0, 3)]) == math.inf
    assert effective_degrees_of_freedom([]) == math.inf
    assert effective_degrees_of_freedom([BudgetLine("a", 1e-120, 4)]) == pytest.approx(4)
    assert combined([]) == 0


def test_an_input_known_exactly_still_has_a_sensitivity() -> None:
    slopes = sensitivities(lambda x: x[0] ** 2 * x[1], [3.0, 0.0], [0.0, 0.0])
    assert slopes == pytest.approx(np.array([[0.0, 9.0]]), abs=1e-6)
    assert sensitivities(lambda x: x[0] ** 3, [1.0], [0.0], steps=[1e-4])[0, 0] == pytest.approx(3, rel=1e-7)


@pytest.mark.parametrize(("width", "degrees"), [(-1.0, 3.0), (math.nan, 3.0), (1.0, 0.0)])
def test_impossible_budget_lines_are_refused(width: float, degrees: float) -> None:
    with pytest.raises(BadValueError) as told:
        BudgetLine("scale", width, degrees)
    assert str(told.value) == (
        f"scale: a standard uncertainty of {width:g} with {degrees:g} degrees of freedom cannot be. "
        "Give an uncertainty of zero or more, with more than zero degrees of freedom."
    )
