"""Units in and out: what is read, what is refused and in which words, what is printed."""

import math
import subprocess
import sys

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from flybench.errors import BadValueError
from flybench.quantity import Measured, inside, parse, parse_with_uncertainty, rounded, speed_text

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
        ("18 C", "K", '"18 C" has the unknown unit "C". Write it with its unit, for example "18 degC".'),
        ("nan mm", "m", '"nan mm" is not a length. Write it with its unit, for example "620 mm".'),
        ("inf mm", "m", '"inf mm" is not a length. Write it with its unit, for example "620 mm".'),
        ("0,62 m", "m", '"0,62 m" is not a length. Write it with its unit, for example "620 mm".'),
        ("1e999 m", "m", '"1e999 m" is not a finite number. Write it with its unit, for example "620 mm".'),
        (
            "3 furl",
            "m",
            '"3 furl" has the unknown unit "furl". Write it with its unit, for example "620 mm".',
        ),
        ("five", "1", '"five" is not a plain number. Write it as "0.6".'),
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
        ("620 mm +- 5", '"620 mm +- 5" has no unit'),
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


@given(st.text(max_size=20) | st.from_regex(r"[0-9]{1,3} ?[a-zA-Z*/^23°µ]{0,8}", fullmatch=True))
def test_any_text_is_read_or_refused_and_nothing_else(text: str) -> None:
    try:
        value, uncertainty = parse_with_uncertainty(text, "m", "key")
    except BadValueError:
        return
    assert math.isfinite(value)
    assert uncertainty is None or uncertainty >= 0


@pytest.mark.parametrize(
    ("value", "uncertainty", "texts"),
    [
        (31.4159, 0.4, ("31.4", "0.4")),
        (31.4159, 0.16, ("31.42", "0.16")),
        (31.4159, 0.34, ("31.4", "0.4")),
        (31.4159, 0.298, ("31.4", "0.3")),
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
    with pytest.raises(BadValueError, match="cannot round"):
        rounded(value, uncertainty)


def test_even_the_largest_over_the_smallest_number_is_rounded() -> None:
    assert rounded(1.7e308, 5e-324)[1].endswith("5")


def test_a_speed_is_shown_in_both_units() -> None:
    assert speed_text(0.314, 0.004) == "31.4 ± 0.4 cm/s (12.36 ± 0.16 in/s)"


@given(st.floats(0.0, 1e3), st.floats(0.0, 1e3))
def test_parsing_reads_back_what_was_written(value: float, spread: float) -> None:
    read, standard = parse_with_uncertainty(f"{value!r} cm +- {spread!r} cm", "m", "key")
    assert read == pytest.approx(value / 100)
    assert standard is not None
    assert Measured(read, standard).expanded == pytest.approx(spread / 100)


def test_a_measured_value_cannot_have_a_negative_uncertainty() -> None:
    with pytest.raises(BadValueError, match="cannot be an uncertainty"):
        Measured(1.0, -0.1)


@given(st.floats(allow_nan=True))
def test_a_range_lets_in_only_what_is_inside(value: float) -> None:
    assume(not 0 <= value <= 1)
    with pytest.raises(BadValueError, match=r"share: .* is outside 0 to 1\. Cure\."):
        inside("share", [0.5, value], 0.0, 1.0, "", "Cure.")


def test_importing_does_not_load_the_unit_registry() -> None:
    code = "import sys, flybench.quantity; sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
