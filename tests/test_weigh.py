"""Weighing a fly: readings recorded with their doubt, refusals that write nothing, what a scale would gain.

Readings count as rectangles of one step: JCGM 100:2008, F.2.2.1 (step / sqrt(12)). All flies are invented.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path

import pytest
from console import Said, flybench
from shop import shop

from flybench.catalog.flies import Fly
from flybench.catalog.nouns import NOUNS
from flybench.catalog.shelf import get
from flybench.catalog.store import Catalog
from flybench.errors import BadValueError
from flybench.hydraulics.water import Water
from flybench.jobs.recipes import import_recipes
from flybench.jobs.shelf import add_row
from flybench.jobs.weigh import Scale, weigh_fly
from flybench.jobs.weights import weight_of

Run = Callable[..., Said]
RECIPES = Path(__file__).parents[1] / "catalog"
ROOM = 293.15
GRAM = 1e-3
MILLIGRAM = 1e-6
STANDARD_GRAVITY = 9.80665
"""Standard acceleration of free fall, 3rd CGPM (1901)."""
MASSES = ("mass_kg", "mass_u_kg", "mass_in_water_kg", "mass_in_water_u_kg")


@pytest.fixture
def catalog(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Catalog:
    monkeypatch.setenv("FLYBENCH_CATALOG", str(tmp_path / "shop.sqlite"))
    return shop(tmp_path / "shop.sqlite")


@pytest.fixture
def run(catalog: Catalog, capsys: pytest.CaptureFixture[str]) -> Run:
    return lambda *arguments: flybench(capsys, *arguments)


def held(catalog: Catalog, code: str) -> tuple[float | None, ...]:
    """Return what the catalog holds of a fly's weighings."""
    with catalog.reading() as session:
        fly: Fly = get(session, NOUNS["fly"], code)
        return tuple(getattr(fly, name) for name in MASSES)


def test_readings_are_recorded_with_their_doubt(catalog: Catalog) -> None:
    found = weigh_fly(catalog, "M2", 0.213 * GRAM, 0.187 * GRAM, Scale(MILLIGRAM), ROOM)
    assert found.recorded
    step = MILLIGRAM / math.sqrt(12)
    assert held(catalog, "M2") == pytest.approx((0.213 * GRAM, step, 0.187 * GRAM, step))
    # A scale adjusted with weights of 8000 kg/m3 in air of 1.2 kg/m3 (OIML D 28, from memory).
    newtons = STANDARD_GRAVITY * (1 - 1.2 / 8000) * 0.187 * GRAM
    assert found.weight.weight.value == pytest.approx(newtons, rel=1e-4)
    assert found.weight.relative_uncertainty == pytest.approx(step / (0.187 * GRAM))


def test_several_weighed_together_share_the_last_digit(catalog: Catalog) -> None:
    scale = Scale(10 * MILLIGRAM, count=10)
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
        ("M2 --in-water=-0.01g", "fly.mass_in_water: -0.01 g in water: it floats. Wet it through and weigh again, or give it more weight."),
        ("M2 --dry 0.22g --in-water 0g", "fly.mass_in_water: 0 g in water: it floats. Wet it through and weigh again, or give it more weight."),
        ("M2 --dry 0.2g --in-water 0.2g", "fly.mass_in_water: 0.2 g in water is not less than 0.2 g dry. Weigh both again: water bears part of the weight."),
        ("M2 --in-water 0.3g", "fly.mass_in_water: 0.3 g in water is not less than 0.22 g dry. Weigh both again: water bears part of the weight."),
        ("M2 --dry 0.12g", "fly M2: fly.mass: 0.12 g is less than its bead alone, 0.15 g. Weigh again, or correct the size or metal of the part."),
        ("M2 --dry 0.12g --in-water 0.1g", "fly M2: fly.mass: 0.12 g is less than its bead alone, 0.15 g. Weigh again, or correct the size or metal of the part."),
        ("M2 --dry 30g", "fly.mass: 30 g is outside 0.001 to 20 g. Give the mass of one fly; of several together with --count."),
        ("M2 --dry 0.2g --count 0", "count: 0 flies cannot be. Give 1 to 1000."),
        ("M2 --dry 0.2g --resolution 1g", "resolution: 1000 mg is outside 0.001 to 100 mg. Give the step of the last digit, such as 1 mg."),
        ("M2 --dry 0.2g --repeatability=-1mg", "repeatability: -1 mg is no standard deviation. Give zero or more."),
        ("M2 --dry 0.2", 'dry: "0.2" has no unit. Write it with its unit, for example "0.21 g".'),
        ("M2 --dry nang", 'dry: "nang" is not a mass. Write it with its unit, for example "0.21 g".'),
        ("M9 --dry 0.2g", 'fly: there is no "M9".'),
        ("M9", 'fly: there is no "M9".'),
    ],
)  # fmt: skip
def test_refusals_write_nothing(run: Run, catalog: Catalog, arguments: str, message: str) -> None:
    before = held(catalog, "M2")
    said = run("fly", "weigh", *arguments.split())
    assert (said.code, said.out) == (1, "")
    assert said.err.startswith(f"Error: {message}")
    assert held(catalog, "M2") == before


def test_what_cannot_be_a_scale_is_refused_without_readings_too(run: Run) -> None:
    said = run("fly", "weigh", "M3", "--resolution", "0 mg")
    assert said.code == 1
    assert said.err.startswith("Error: resolution: 0 mg is outside 0.001 to 100 mg.")
    assert run("fly", "weigh", "M3", "--count", "0").code == 1


def test_water_that_is_none_is_refused(run: Run, catalog: Catalog) -> None:
    before = held(catalog, "M2")
    said = run("fly", "weigh", "M2", "--dry", "0.213 g", "--temperature", "90 degC")
    assert (said.code, said.out) == (1, "")
    assert "temperature" in said.err
    assert held(catalog, "M2") == before


def test_a_hundredth_of_a_gram_is_too_coarse_for_a_light_fly(run: Run) -> None:
    said = run("fly", "weigh", "M3", "--dry", "0.15 g", "--resolution", "10 mg")
    assert said.code == 0
    line = next(line for line in said.out.splitlines() if "too coarse" in line)
    # 10 mg / sqrt(12) is 2.89 mg: 1.9 % of 0.15 g in air, more of its weight in water.
    share = float(line.split("alone makes ")[1].split(" %")[0].rstrip("%").split("%")[0])
    assert 1.9 < share < 2.9
    assert f"{share / 2:.1f}"[:3] in line.split("weight and drag, ")[1]
    assert "Use one of 5 mg, or weigh 10 like flies together (--count 10)." in line


def test_ten_together_are_enough_on_that_scale(run: Run) -> None:
    said = run("fly", "weigh", "M3", "--dry", "1.5 g", "--resolution", "10 mg", "--count", "10")
    assert said.code == 0
    assert "too coarse" not in said.out


def test_both_readings_on_a_coarse_scale_are_told_so_too(run: Run) -> None:
    said = run(
        "fly", "weigh", "M3", "--dry", "0.15 g", "--in-water", "0.12 g", "--resolution", "10 mg", "--json"
    )
    scale = json.loads(said.out)["scale"]
    assert scale["too_coarse"]
    assert scale["last_digit"] == pytest.approx(10 / math.sqrt(12) / 120, rel=1e-3)
    assert scale["needed_resolution_kg"] == pytest.approx(5 * MILLIGRAM)


def test_a_fine_scale_is_not_called_coarse(run: Run) -> None:
    assert "too coarse" not in run("fly", "weigh", "M3", "--dry", "0.15 g", "--resolution", "1 mg").out


def test_without_readings_it_tells_the_gain_and_writes_nothing(run: Run, catalog: Catalog) -> None:
    before = held(catalog, "M3")
    said = run("fly", "weigh", "M3")
    assert said.code == 0
    assert "from its parts alone" in said.out
    assert "On a scale of 1 mg: weighed dry" in said.out
    assert "Recorded." not in said.out
    assert "H16: a usual hook of size 16; weigh ten for better" in said.err
    found = json.loads(run("fly", "weigh", "M3", "--json").out)
    assert found["recorded"] is False
    assert found["way"] == "from-parts"
    assert found["gain"]["weighed_twice"] < found["gain"]["weighed_dry"] < found["gain"]["now"]
    assert held(catalog, "M3") == before


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


@pytest.mark.parametrize(
    ("masses", "way"),
    [
        ({}, "from its parts alone"),
        ({"mass": "0.22 g"}, "weighed dry, volume from its parts"),
        ({"mass": "0.22 g", "mass-in-water": "0.19 g"}, "weighed dry and in water"),
    ],
)
def test_the_best_way_that_is_known_is_taken(catalog: Catalog, masses: dict[str, str], way: str) -> None:
    add_row(catalog, NOUNS["fly"], {"code": "W1", "variant": "MILL-28-14", **masses})
    with catalog.reading() as session:
        weighed = weight_of(get(session, NOUNS["fly"], "W1"), Water(ROOM))
    assert weighed.way == way
    assert sum("taken as read on a scale of 1 mg" in line for line in weighed.remarks) == len(masses)


def test_a_reading_in_water_alone_is_the_weight(catalog: Catalog) -> None:
    found = weigh_fly(catalog, "M3", None, 0.1 * GRAM, Scale(), ROOM)
    assert found.weight.weight.value == pytest.approx(
        STANDARD_GRAVITY * (1 - 1.2 / 8000) * 0.1 * GRAM, rel=1e-4
    )
    assert found.weight.mass.value > 0.1 * GRAM


def test_a_dressing_that_holds_air_weighs_less_and_less_surely(catalog: Catalog) -> None:
    import_recipes(catalog, [RECIPES / "moss-hackle.toml"])
    add_row(catalog, NOUNS["fly"], {"code": "W2", "variant": "moss-hackle-12"})
    wet, dry = (
        weigh_fly(catalog, "W2", None, None, Scale(), ROOM, soaked).weight for soaked in (True, False)
    )
    assert dry.weight.value < wet.weight.value
    assert dry.weight.standard_uncertainty > wet.weight.standard_uncertainty
    assert "air-held" in dry.flags
    # Archimedes: what the held air displaces is what is lost.
    lost = (dry.displaced.value - wet.displaced.value) * 998.2 * STANDARD_GRAVITY
    assert wet.weight.value - dry.weight.value == pytest.approx(lost, rel=1e-3)


def test_an_impossible_count_is_refused_by_the_job(catalog: Catalog) -> None:
    with pytest.raises(BadValueError, match="count"):
        Scale(count=1001).read(GRAM)
