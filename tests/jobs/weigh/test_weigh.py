"""Weighing a fly on a scale: what is recorded with which doubt, and what is refused."""

from __future__ import annotations

import json
import math

import pytest
from weighed_flies import GRAM, MILLIGRAM, ROOM, STANDARD_GRAVITY, Run, held

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import Catalog
from flybench.errors import BadValueError
from flybench.jobs.shelf.rows import add_row
from flybench.jobs.shelf.weigh import Scale, weigh_fly
from flybench.sinking.weight.gain import GAIN


def test_readings_are_recorded_with_their_doubt(catalog: Catalog) -> None:
    found = weigh_fly(catalog, "M2", 0.213 * GRAM, 0.187 * GRAM, Scale(MILLIGRAM, 0.0), ROOM)
    assert found.recorded
    step = MILLIGRAM / math.sqrt(12)
    assert held(catalog, "M2") == pytest.approx((0.213 * GRAM, step, 0.187 * GRAM, step))
    # A scale adjusted with weights of 8000 kg/m3 in air of 1.2 kg/m3 (OIML D 28, from memory).
    newtons = STANDARD_GRAVITY * (1 - 1.2 / 8000) * 0.187 * GRAM
    assert found.weight.weight.value == pytest.approx(newtons, rel=1e-4)
    assert found.weight.relative_uncertainty == pytest.approx(math.hypot(step / (0.187 * GRAM), GAIN))


def test_several_weighed_together_share_the_last_digit(catalog: Catalog) -> None:
    scale = Scale(10 * MILLIGRAM, 0.0, count=10)
    weigh_fly(catalog, "M2", 2.13 * GRAM, None, scale, ROOM)
    mass, doubt, wet, _ = held(catalog, "M2")
    assert (mass, wet) == (pytest.approx(0.213 * GRAM), None)
    assert doubt == pytest.approx(10 * MILLIGRAM / math.sqrt(12) / 10)


def test_repeatability_adds_as_squares_do(catalog: Catalog) -> None:
    weigh_fly(catalog, "M2", 0.213 * GRAM, None, Scale(MILLIGRAM, 2 * MILLIGRAM), ROOM)
    # JCGM 100:2008, 5.1.2: independent doubts combine as the root of the sum of squares.
    assert held(catalog, "M2")[1] == pytest.approx(math.hypot(1 / math.sqrt(12), 2) * MILLIGRAM)


def test_a_second_reading_joins_the_first(catalog: Catalog) -> None:
    weigh_fly(catalog, "M2", 0.213 * GRAM, None, Scale(), ROOM)
    found = weigh_fly(catalog, "M2", None, 0.187 * GRAM, Scale(), ROOM)
    assert found.weighed.way == "weighed dry and in water"
    assert found.gain is None
    assert held(catalog, "M2")[0] == pytest.approx(0.213 * GRAM)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ("M2 --in-water=-0.01g", "--in-water: the scale shows -0.01 g in water, so the fly floats. Wet it through and weigh it again, or add weight."),
        ("M2 --dry 0.22g --in-water 0g", "--in-water: the scale shows 0 g in water, so the fly floats. Wet it through and weigh it again, or add weight."),
        ("M2 --dry 0.2g --in-water 0.2g", "--in-water: 0.2 g in water is not less than 0.2 g dry. Weigh both again, the hanger tared in the water: water bears part of the weight."),
        ("M2 --in-water 0.3g", "--in-water: 0.3 g in water is not less than 0.22 g dry. Weigh both again, the hanger tared in the water: water bears part of the weight."),
        ("M2 --dry 0.12g", "--dry: 0.12 g is less than its bead alone, 0.15 g. Weigh again, or correct the size or metal of the part."),
        ("M2 --dry 0.12g --in-water 0.1g", "--dry: 0.12 g is less than its bead alone, 0.15 g. Weigh again, or correct the size or metal of the part."),
        ("N1 --in-water 0.02g", "--in-water: 0.02 g is less than its bead alone in water, 0.1416 g. Weigh again, or correct the size or metal of the part."),
        ("M2 --in-water 0.19g --unwetted", "--unwetted: a fly whose dressing still holds air weighs too little in water. Wet it through and weigh it in water again."),
        ("M2 --dry 30g", "--dry: 30 g is outside 0.001 to 20 g. Give the mass of one fly, or say with --count how many lie on the scale together."),
        ("M2 --dry 0.2g --count 0", "--count: 0 flies cannot lie on a scale together. Give 1 to 1000."),
        ("M2 --dry 0.2g --resolution 1g", "--resolution: 1g is outside 0.000001 to 0.1 g. Give the step of the scale's last digit, such as 1 mg."),
        ("M2 --dry 0.2g --repeatability=-1mg", "--repeatability: -1 mg cannot be a standard deviation. Give zero or more, such as 0.5 mg."),
        ("M2 --dry 0.2", '--dry: "0.2" has no unit. Write it with its unit, for example "0.21 g".'),
        ("M2 --dry 0,2g", '--dry: "0,2g" has a comma. Write "0.2g", with a decimal point.'),
        ("M2 --dry nang", '--dry: "nang" is not a mass. Write it with its unit, for example "0.21 g".'),
        ("M2 --dry 0.2g --temperature 90degC", "--temperature: 90degC is outside 0 to 40 degC. Give the temperature of the water in which the fly hangs."),
        ("M9 --dry 0.2g", 'fly: there is no "M9". See what there is: flybench fly list, or add it with: flybench fly add M9 --variant CODE.'),
        ("M9", 'fly: there is no "M9". See what there is: flybench fly list, or add it with: flybench fly add M9 --variant CODE.'),
    ],
)  # fmt: skip
def test_refusals_write_nothing(run: Run, catalog: Catalog, arguments: str, message: str) -> None:
    add_row(catalog, NOUNS["fly"], {"code": "N1", "variant": "MILL-28-14"})
    before = held(catalog, "M2"), held(catalog, "N1")
    said = run("fly", "weigh", *arguments.split())
    assert (said.code, said.out) == (1, "")
    assert said.err == f"Error: {message}\n"
    assert (held(catalog, "M2"), held(catalog, "N1")) == before


def test_what_cannot_be_a_scale_is_refused_without_readings_too(run: Run) -> None:
    said = run("fly", "weigh", "M3", "--resolution", "0 mg")
    step = "Give the step of the scale's last digit, such as 1 mg."
    assert (said.code, said.err) == (1, f"Error: --resolution: 0 mg is outside 0.001 to 100 mg. {step}\n")
    said = run("fly", "weigh", "M3", "--count", "0")
    assert (said.code, said.err) == (
        1,
        "Error: --count: 0 flies cannot lie on a scale together. Give 1 to 1000.\n",
    )


def test_water_that_is_none_is_refused(run: Run, catalog: Catalog) -> None:
    before = held(catalog, "M2")
    said = run("fly", "weigh", "M2", "--dry", "0.213 g", "--temperature", "90 degC")
    assert (said.code, said.out) == (1, "")
    assert said.err == (
        "Error: --temperature: 90 degC is outside 0 to 40 degC. Give the temperature of the water in which the fly hangs.\n"
    )
    assert held(catalog, "M2") == before


def test_what_is_shown_is_twice_what_is_kept(run: Run, catalog: Catalog) -> None:
    """Steps of 1 mg: standard uncertainty 1 mg / sqrt(12) = 0.289 mg; shown as +- twice that, 0.58 mg, k = 2.

    A scale's gain, known to 0.5 %, makes 1.07 mg of 213: hypot(0.289, 1.065), twice, is 2.2 mg. Of 187 mg in water
    the digit is 0.154 %, with the gain 0.52 %; half of that, 0.26 %, of a speed, which goes with the root of the weight.
    """
    readings = "--dry", "0.213 g", "--in-water", "0.187 g", "--resolution", "1 mg", "--repeatability", "0 mg"
    said = run("fly", "weigh", "M2", *readings)
    text = " ".join(said.out.split())
    assert "dry 0.2130 ± 0.0022 g" in text
    assert "standard uncertainty of that weight is 0.5%" in text
    assert "0.3% of a predicted sink speed" in text
    kept = held(catalog, "M2")[1]
    assert kept == pytest.approx(0.2887 * MILLIGRAM, rel=1e-3)
    assert json.loads(run("fly", "show", "M2", "--json").out)["mass_u_kg"] == kept
    assert "213.0 ± 0.6 mg" in run("fly", "show", "M2").out


def test_what_is_typed_behind_plus_minus_is_twice_what_is_kept(run: Run, catalog: Catalog) -> None:
    run("fly", "change", "M2", "--mass", "0.213 g +- 1 mg")
    assert held(catalog, "M2")[1] == pytest.approx(0.5 * MILLIGRAM)
    assert "213.0 ± 1.0 mg" in run("fly", "show", "M2").out


def test_json_of_a_recorded_weighing(run: Run) -> None:
    said = run("fly", "weigh", "m2", "--dry", "0.213 g", "--in-water", "0.187 g", "--json")
    found = json.loads(said.out)
    assert (found["fly"], found["way"], found["recorded"], found["gain"]) == (
        "M2",
        "weighed-twice",
        True,
        None,
    )
    # CRC handbook: water of 20 degC has 998.2 kg/m3.
    assert found["water_density_kg_m3"] == pytest.approx(998.2, abs=0.05)
    assert found["displaced_m3"] == pytest.approx(26 * MILLIGRAM / 998.2, rel=2e-3)
    assert found["density_kg_m3"] == pytest.approx(213 / 26 * 998.2, rel=2e-3)


def test_an_impossible_count_is_refused_by_the_job(catalog: Catalog) -> None:
    with pytest.raises(BadValueError) as refused:
        Scale(count=1001).read(GRAM)
    assert str(refused.value) == "--count: 1001 flies cannot lie on a scale together. Give 1 to 1000."
