"""Units in and out: what is read, what is refused and in which words, what is told in the unit typed."""

import math
import subprocess
import sys

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from flybench.errors import BadValueError
from flybench.quantity import (
    Measured,
    in_unit_of,
    inside,
    parse,
    parse_inside,
    parse_inside_with_uncertainty,
    parse_with_uncertainty,
)
from flybench.units import plainly_in_si, registry, si_unit

# No time limit an example: the first one loads what is loaded lazily, and machines stall.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")


@pytest.mark.parametrize(
    ("text", "unit", "si"),
    [
        ("620 mm", "m", 0.62),
        ("620mm", "m", 0.62),
        (" 24.5 in ", "m", 0.6223),
        ("8 ms", "s", 0.008),
        ("240 Hz", "Hz", 240),
        ("240 fps", "Hz", 240),
        ("18 degC", "K", 291.15),
        ("18 °C", "K", 291.15),
        ("-1 degC", "K", 272.15),
        ("64 degF", "K", 290.927778),
        ("291 K", "K", 291),
        ("0.21 g", "kg", 2.1e-4),
        ("22 mm**3", "m**3", 2.2e-8),
        ("22 mm^3", "m**3", 2.2e-8),
        ("22 mm3", "m**3", 2.2e-8),
        ("22 mm³", "m**3", 2.2e-8),
        ("31 cm/s", "m/s", 0.31),
        ("12 in/s", "m/s", 0.3048),
        ("8.5 g/cm3", "kg/m**3", 8500),
        ("35 g/kg", "kg/kg", 0.035),
        ("3.5 %", "kg/kg", 0.035),
        ("2.0 mN", "N", 2e-3),
        ("150 µm", "m", 1.5e-4),
        ("0.6", "1", 0.6),
        ("60 %", "1", 0.6),
        ("1.5e-1 m", "m", 0.15),
    ],
)
def test_units_are_read(text: str, unit: str, si: float) -> None:
    assert parse(text, unit, "key") == pytest.approx(si, rel=1e-8)


@pytest.mark.parametrize(
    ("text", "unit", "message"),
    [
        ("620", "m", '"620" has no unit. Write it with its unit, for example "620 mm".'),
        ("", "m", 'is empty. Write it with its unit, for example "620 mm".'),
        ("18 s", "K", '"18 s" is not a temperature. Write it with its unit, for example "18 degC".'),
        ("18 C", "K", '"18 C" has the unknown unit "C". Write "18 degC".'),
        ("nan mm", "m", '"nan mm" is not a length. Write it with its unit, for example "620 mm".'),
        ("inf mm", "m", '"inf mm" is not a length. Write it with its unit, for example "620 mm".'),
        ("18 °F ", "m", '"18 °F " is not a length. Write it with its unit, for example "620 mm".'),
        ("18C", "K", '"18C" has the unknown unit "C". Write "18 degC".'),
        ("64 F", "K", '"64 F" has the unknown unit "F". Write "64 degF".'),
        ("18 Celsius", "K", '"18 Celsius" has the unknown unit "Celsius". Write "18 degC".'),
        ("18 deg C", "K", '"18 deg C" is not a temperature. Write "18 degC".'),
        ("18° C", "K", '"18° C" is not a temperature. Write "18 degC".'),
        ("64 degrees F", "K", '"64 degrees F" is not a temperature. Write "64 degF".'),
        ("18 deg C", "m", '"18 deg C" is not a length. Write it with its unit, for example "620 mm".'),
        ("18 k", "K", '"18 k" has the unknown unit "k". Write "18 K".'),
        (
            "18 warm",
            "K",
            '"18 warm" has the unknown unit "warm". Write it with its unit, for example "18 degC".',
        ),
        ("0,62 m", "m", '"0,62 m" has a comma. Write "0.62 m", with a decimal point.'),
        ("2,8", "m", '"2,8" has a comma. Write "2.8", with a decimal point.'),
        ("1,000 m", "m", '"1,000 m" has a comma. Write "1000 m", or "1.000 m" with a decimal point.'),
        ("1,2,3 m", "m", '"1,2,3 m" is not a length. Write it with its unit, for example "620 mm".'),
        ("20 MM", "m", '"20 MM" has the unknown unit "MM". Write "20 mm".'),
        ("20 G", "m", '"20 G" has the unknown unit "G". Write it with its unit, for example "620 mm".'),
        ("mm", "m", '"mm" is a unit without a number. Write it with its unit, for example "620 mm".'),
        ("1 m +- 2 cm", "m", '"1 m +- 2 cm" has an uncertainty, and none is used here. Write "1 m".'),
        ("1,5 ± 2 cm", "m", '"1,5 ± 2 cm" has an uncertainty, and none is used here. Write "1.5 cm".'),
        ("?? +- 2 cm", "m", '"?? +- 2 cm" has an uncertainty, and none is used here. Write "620 mm".'),
        ("1e999 m", "m", '"1e999 m" is not a finite number. Write it with its unit, for example "620 mm".'),
        (
            "3 furl",
            "m",
            '"3 furl" has the unknown unit "furl". Write it with its unit, for example "620 mm".',
        ),
        ("five", "1", '"five" is not a plain number. Write it as "0.6".'),
        ("NAN", "m", '"NAN" is not a length. Write it with its unit, for example "620 mm".'),
        ("5 nan", "m", '"5 nan" has the unknown unit "nan". Write it with its unit, for example "620 mm".'),
        ("2 m", "1", '"2 m" is not a plain number. Write it as "0.6".'),
        ("0.035", "kg/kg", '"0.035" has no unit. Write it with its unit, for example "35 g/kg".'),
        ("1 mm + 2 mm", "m", '"1 mm + 2 mm" is not a length. Write it with its unit, for example "620 mm".'),
    ],
)
def test_what_cannot_be_read_is_refused_in_full_words(text: str, unit: str, message: str) -> None:
    with pytest.raises(BadValueError) as told:
        parse(text, unit, "tank.width")
    assert str(told.value) == f"tank.width: {message}"
    assert told.value.key == "tank.width"


@pytest.mark.parametrize(
    ("text", "unit", "value", "standard"),
    [
        ("620 mm", "m", 0.62, None),
        ("620 mm +- 5 mm", "m", 0.62, 0.0025),
        ("620 +- 5 mm", "m", 0.62, 0.0025),
        ("620 mm ± 0.5 cm", "m", 0.62, 0.0025),
        ("620 ± 5 mm", "m", 0.62, 0.0025),
        ("620 +/- 5 mm", "m", 0.62, 0.0025),
        ("620 mm ± 0 mm", "m", 0.62, 0.0),
        ("18 degC +- 1 degC", "K", 291.15, 0.5),
        ("18 +- 1 degC", "K", 291.15, 0.5),
        ("18 degC +- 1 K", "K", 291.15, 0.5),
        ("64 degF +- 1.8 degF", "K", 290.927778, 0.5),
        ("0.6 ± 0.1", "1", 0.6, 0.05),
    ],
)
def test_an_uncertainty_is_read_as_expanded(
    text: str, unit: str, value: float, standard: float | None
) -> None:
    read, uncertainty = parse_with_uncertainty(text, unit, "key")
    assert read == pytest.approx(value, rel=1e-8)
    assert uncertainty == (None if standard is None else pytest.approx(standard, rel=1e-8))


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("620 mm +- -5 mm", '"620 mm +- -5 mm" has a negative uncertainty'),
        ("620 mm +- 5 s", '"620 mm +- 5 s" is not a length'),
        ("620 mm +- 5 mm +- 1 mm", '"620 mm +- 5 mm +- 1 mm" has more than one uncertainty'),
        ("620 mm +-", '"620 mm +-" lacks a number'),
        ("+- 5 mm", '"+- 5 mm" lacks a number'),
    ],
)
def test_a_bad_uncertainty_is_refused(text: str, problem: str) -> None:
    with pytest.raises(BadValueError) as told:
        parse_with_uncertainty(text, "m", "gap")
    assert str(told.value) == f'gap: {problem}. Write it with its unit, for example "620 mm".'


def test_an_uncertainty_without_its_unit_is_shown_with_it() -> None:
    with pytest.raises(BadValueError) as told:
        parse_with_uncertainty("100mm +- 0", "m", "--bar")
    assert str(told.value) == '--bar: "100mm +- 0" has no unit after the ±. Write "100mm +- 0 mm".'


def test_an_error_shows_an_example_that_fits_its_key() -> None:
    with pytest.raises(BadValueError) as told:
        parse("1.2", "m", "--depth", example="1.2 m")
    assert str(told.value) == '--depth: "1.2" has no unit. Write it with its unit, for example "1.2 m".'
    with pytest.raises(BadValueError) as told:
        parse_with_uncertainty("deep +- 1 m", "m", "--depth", example="1.2 m +- 0.2 m")
    assert str(told.value) == (
        '--depth: "deep +- 1 m" is not a length. Write it with its unit, for example "1.2 m +- 0.2 m".'
    )


@pytest.mark.parametrize(
    ("text", "unit", "limits", "problem"),
    [
        ("300 m", "m", (0.05, 20.0), "300 m is outside 0.05 to 20 m"),
        ("1cm", "m", (0.05, 20.0), "1cm is outside 5 to 2000 cm"),
        ("9 ft", "m", (0.1, 1.0), "9 ft is outside 0.3281 to 3.28 ft"),
        ("-1 degC", "K", (273.15, 313.15), "-1 degC is outside 0 to 40 degC"),
        ("300 °F", "K", (273.15, 313.15), "300 °F is outside 32 to 104 °F"),
        ("1 K", "K", (273.15, 313.15), "1 K is outside 273.2 to 313.1 K"),
        ("150 %", "1", (0.0, 1.0), "150 % is outside 0 to 100 %"),
        ("1.5", "1", (0.0, 1.0), "1.5 is outside 0 to 1"),
        ("-1 s", "s", (0.0, math.inf), "-1 s is below 0 s"),
        ("5 m", "m", (-math.inf, 2.0), "5 m is above 2 m"),
        ("-1", "1", (0.0, math.inf), "-1 is below 0"),
        ("3", "1", (-math.inf, 2.0), "3 is above 2"),
        ("300 +- 3 mm", "m", (1e-5, 0.1), "300 mm is outside 0.01 to 100 mm"),
        ("1e30 m", "m", (1e-5, 0.1), "1e30 m is outside 0.00001 to 0.1 m"),
    ],
)
def test_limits_are_told_in_the_unit_typed(
    text: str, unit: str, limits: tuple[float, float], problem: str
) -> None:
    with pytest.raises(BadValueError) as told:
        parse_inside_with_uncertainty(text, unit, "--depth", *limits, "Measure it.")
    assert str(told.value) == f"--depth: {problem}. Measure it."


def test_a_value_on_its_limit_is_inside() -> None:
    """One inch is 25.4 mm by definition, and 0 degC is 273.15 K (NIST SP 811)."""
    assert parse_inside("25.4 mm", "m", "key", 0.0254, 1.0, "") == 0.0254
    assert parse_inside("0 degC", "K", "key", 0.0, 273.15, "") == 273.15
    assert parse_inside_with_uncertainty("1 m +- 2 cm", "m", "key", 1.0, 1.0, "") == (1.0, 0.01)
    with pytest.raises(BadValueError) as told:
        parse_inside("1 m +- 2 cm", "m", "key", 0.0, 2.0, "")
    assert str(told.value) == 'key: "1 m +- 2 cm" has an uncertainty, and none is used here. Write "1 m".'


@pytest.mark.slow
@given(st.floats(1e-4, 1e4), st.floats(1.001, 1e3), st.sampled_from(["m", "cm", "in", "ft"]))
def test_a_limit_is_never_told_wider_than_it_is(low: float, ratio: float, unit: str) -> None:
    high = low * ratio
    with pytest.raises(BadValueError) as told:
        parse_inside(f"-1 {unit}", "m", "key", low, high, "Cure.")
    least, most = (float(told.value.problem.split()[place]) for place in (4, 6))
    metre = {"m": 1.0, "cm": 0.01, "in": 0.0254, "ft": 0.3048}[unit]
    assert low * (1 - 1e-8) <= least * metre <= low * 1.00101
    assert high * 0.99899 <= most * metre <= high * (1 + 1e-8)


@pytest.mark.parametrize(
    ("value", "typed", "unit", "text"),
    [
        (0.5, "40 cm", "m", "50 cm"),
        (0.5, "2 ft +- 1 ft", "m", "1.64 ft"),
        (279.15, "3 degC", "K", "6 degC"),
        (0.5, "0.3", "1", "0.5"),
        (0.5, "30 %", "1", "50 %"),
        (0.0, "30 mm", "m", "0 mm"),
        (123456.0, "1 m", "m", "123456 m"),
        (1.23456, "1 m", "m", "1.235 m"),
    ],
)
def test_a_value_is_told_in_the_unit_of_another(value: float, typed: str, unit: str, text: str) -> None:
    assert in_unit_of(value, typed, unit) == text


def test_an_error_can_be_told_under_another_name() -> None:
    error = BadValueError("tank.width", "9 m is outside 0.02 to 5 m", "Measure it").named("--tank-width")
    assert str(error) == "--tank-width: 9 m is outside 0.02 to 5 m. Measure it."
    assert (error.key, error.problem, error.cure) == (
        "--tank-width",
        "9 m is outside 0.02 to 5 m",
        "Measure it",
    )


@pytest.mark.slow
@given(st.text(max_size=20) | st.from_regex(r"[0-9]{1,3} ?[a-zA-Z*/^23°µ]{0,8}", fullmatch=True))
def test_any_text_is_read_or_refused_and_nothing_else(text: str) -> None:
    try:
        value, uncertainty = parse_with_uncertainty(text, "m", "key")
    except BadValueError:
        return
    assert math.isfinite(value)
    assert uncertainty is None or uncertainty >= 0


@given(st.floats(0.0, 1e3), st.floats(0.0, 1e3))
def test_parsing_reads_back_what_was_written(value: float, spread: float) -> None:
    read, standard = parse_with_uncertainty(f"{value!r} cm +- {spread!r} cm", "m", "key")
    assert read == pytest.approx(value / 100)
    assert standard is not None
    assert Measured(read, standard).expanded == pytest.approx(spread / 100)


def test_a_measured_value_cannot_have_a_negative_uncertainty() -> None:
    with pytest.raises(BadValueError) as told:
        Measured(1.0, -0.1)
    assert str(told.value) == "uncertainty: -0.1 cannot be an uncertainty. Give zero or more."


@given(st.floats(allow_nan=True))
def test_a_range_lets_in_only_what_is_inside(value: float) -> None:
    assume(not 0 <= value <= 1)
    with pytest.raises(BadValueError) as told:
        inside("share", [0.5, value], 0.0, 1.0, "", "Cure.")
    assert str(told.value) == f"share: {value:.6g} is outside 0 to 1. Cure."


@pytest.mark.parametrize(
    ("written", "unit"),
    [
        ("mm", "m"),
        ("cm", "m"),
        ("ms", "s"),
        ("mg", "kg"),
        ("g", "kg"),
        ("degC", "K"),
        ("K", "K"),
        ("Hz", "Hz"),
        ("", "1"),
    ],
)
@given(st.floats(-1e4, 1e4))
def test_usual_units_are_worth_to_the_last_digit_what_pint_makes_of_them(
    written: str, unit: str, number: float
) -> None:
    pints = registry().Quantity(number, written or "dimensionless").to(si_unit(unit)).magnitude
    assert plainly_in_si(number, written, unit) == pints
    assert plainly_in_si(number, "in", "m") is None


def test_neither_importing_nor_usual_units_load_the_unit_registry() -> None:
    code = (
        "import sys, flybench.quantity as q; q.parse_with_uncertainty('620 mm +- 5 mm', 'm', 'key');"
        "q.parse('18 degC', 'K', 'key'); sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
