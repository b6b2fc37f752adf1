"""Wall formulas against values worked apart, and how they are brought together."""

import numpy as np
import pytest
from rows import Row, rows

from flybench.errors import BadValueError
from flybench.hydraulics.walls import FORMULAS, factor_limits, wall_factor


@pytest.mark.parametrize("row", rows("walls.csv"), ids=str)
def test_formulas_are_as_worked_apart(row: Row) -> None:
    formula = FORMULAS[row.text("formula")]
    row.check(float(formula.factor(np.asarray(row["ratio"]), np.asarray(row["re"]))))


def test_a_tenth_of_the_tank_costs_one_to_six_percent_at_fly_speeds() -> None:
    lowest, highest = factor_limits(0.1, 1e4)
    assert float(lowest) == pytest.approx(0.9406, abs=5e-5)  # Di Felice
    assert float(highest) == pytest.approx(0.9926, abs=5e-5)  # JSME, straight fall


@pytest.mark.parametrize("reynolds", [50.0, 100.0, 500.0, 1e3, 1e4])
def test_creeping_formulas_never_take_part_at_fly_speeds(reynolds: float) -> None:
    for name in ("haberman-sayre", "francis"):
        assert float(FORMULAS[name].weight(np.asarray(reynolds))) == 0
    assert wall_factor(0.1, reynolds).value > 0.91


def test_creeping_flow_has_the_creeping_factor() -> None:
    assert wall_factor(0.1, 0.01).value == pytest.approx(0.79, abs=0.015)


@pytest.mark.parametrize("ratio", [0.01, 0.03, 0.1, 0.3])
def test_nothing_jumps_as_the_reynolds_number_passes_from_one_set_to_the_next(ratio: float) -> None:
    for band in factor_limits(ratio, np.geomspace(1e-3, 2e5, 20001)):
        assert np.max(np.abs(np.diff(band))) < 2e-3 * ratio


def test_no_wall_no_correction() -> None:
    for reynolds in (0.01, 1.0, 300.0, 1e4):
        factor = wall_factor(0.0, reynolds)
        assert (factor.value, factor.standard_uncertainty) == (1.0, 0.0)


def test_one_formula_alone_is_not_taken_as_certain() -> None:
    factor = wall_factor(0.1, 50.0)
    assert factor.standard_uncertainty == pytest.approx(0.1 * (1 - factor.value))


def test_half_the_spread_of_the_laws_is_the_doubt() -> None:
    """Worked apart for a ratio of 0.1 at Re 10 000: Di Felice's 0.9406 is the lowest, JSME's 0.9926 the highest."""
    factor = wall_factor(0.1, 1e4)
    assert factor.value == pytest.approx((0.9406 + 0.9926) / 2, abs=5e-5)
    assert factor.standard_uncertainty == pytest.approx((0.9926 - 0.9406) / 2, abs=5e-5)


def test_a_narrow_tank_is_refused() -> None:
    with pytest.raises(BadValueError) as told:
        wall_factor(0.31, 1000.0)
    assert str(told.value) == (
        "ratio of fly to tank width: 0.31 is outside 0 to 0.3. "
        "The tank is too narrow: use one at least 3.3, better 30, times as wide as the fly."
    )
