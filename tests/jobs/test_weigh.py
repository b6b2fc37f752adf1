"""Weighing a fly: readings recorded with their doubt, refusals that write nothing, what a scale would gain.

Readings count as rectangles of one step: JCGM 100:2008, F.2.2.1 (step / sqrt(12)). All flies are invented.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from console import Said, flybench
from shop import measured, shop

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import BenchRun, Fly
from flybench.catalog.tables.vocabulary import Verdict
from flybench.errors import BadValueError, FlybenchError
from flybench.hydraulics.water import Water
from flybench.jobs.shelf.recipes import import_recipes
from flybench.jobs.shelf.rows import add_row
from flybench.jobs.shelf.weigh import Scale, weigh_fly
from flybench.jobs.sink.drags import drags
from flybench.jobs.sink.learn import measured_flies
from flybench.quantity import Measured
from flybench.shop.fly.weights import Readings, weigh, weight_of
from flybench.shop.speeds.measured_flies import Remarks
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.telling.shelf import weighing

Run = Callable[..., Said]
RECIPES = Path(__file__).parents[2] / "catalog"
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


def test_a_hundredth_of_a_gram_is_too_coarse_for_a_light_fly(run: Run) -> None:
    said = run("fly", "weigh", "M3", "--dry", "0.15 g", "--resolution", "10 mg")
    assert said.code == 0
    line = " ".join(said.out.split("too coarse")[1].split())
    # 10 mg / sqrt(12) is 2.89 mg: 1.9 % of 0.15 g in air, more of its weight in water.
    share = float(line.split("alone makes ")[1].split("%")[0])
    assert 1.9 < share < 2.9
    # Speed goes with the root of the weight (Newton's drag), so its doubt is half.
    assert float(line.split("weight and drag, ")[1].split("%")[0]) == pytest.approx(share / 2, abs=0.0501)
    assert "Use one that counts in steps of 5 mg, or weigh 10 like flies together (--count 10)." in line


def test_a_predicted_speed_is_half_as_uncertain_as_the_weight(run: Run) -> None:
    """Newton's drag: speed goes with the root of the weight. 20 mg / sqrt(12) are 5.774 mg, 4.8 % of 0.12 g."""
    said = run("fly", "weigh", "M3", "--dry", "0.15 g", "--in-water", "0.12 g", "--resolution", "20 mg")
    assert said.code == 0
    words = " ".join(said.out.split())
    assert (
        "The standard uncertainty of that weight is 4.8%: the same share of a drag area worked out from it, 2.4% of a "
        "predicted sink speed."
    ) in words
    assert "its last digit alone makes 4.8% of weight and drag, 2.4% of a predicted speed." in words


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
    assert "On a scale that counts in steps of 1 mg it would be" in " ".join(said.out.split())
    assert "Recorded." not in said.out
    assert "a usual hook of size 16 was taken." in " ".join(said.err.split())
    found = json.loads(run("fly", "weigh", "M3", "--json").out)
    assert found["recorded"] is False
    assert found["way"] == "from-parts"
    assert found["gain"]["weighed_twice"] < found["gain"]["weighed_dry"] < found["gain"]["now"]
    assert held(catalog, "M3") == before


def test_what_is_shown_is_twice_what_is_kept(run: Run, catalog: Catalog) -> None:
    """Steps of 1 mg: standard uncertainty 1 mg / sqrt(12) = 0.289 mg; shown as +- twice that, 0.58 mg, k = 2.

    Of 187 mg in water that is 0.154 %, and half of it, 0.077 %, of a speed, which goes with the root of the weight.
    """
    said = run("fly", "weigh", "M2", "--dry", "0.213 g", "--in-water", "0.187 g", "--resolution", "1 mg")
    text = " ".join(said.out.split())
    assert "dry 0.2130 ± 0.0006 g" in text
    assert "standard uncertainty of that weight is 0.2%" in text
    assert "0.1% of a predicted sink speed" in text
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
    with pytest.raises(BadValueError) as refused:
        Scale(count=1001).read(GRAM)
    assert str(refused.value) == "--count: 1001 flies cannot lie on a scale together. Give 1 to 1000."


# --- weighed in water alone


@pytest.fixture
def unweighed(catalog: Catalog) -> str:
    """Return a fly with a bead of tungsten, 150 mg, that was never weighed."""
    add_row(catalog, NOUNS["fly"], {"code": "N1", "variant": "MILL-28-14"})
    return "N1"


def test_a_reading_in_water_alone_is_not_called_two(catalog: Catalog, unweighed: str) -> None:
    found = weigh_fly(catalog, unweighed, None, 0.17 * GRAM, Scale(), ROOM)
    assert found.weighed.way == "weighed in water, dry mass and volume from its parts"
    assert weighing.record(found)["way"] == "weighed-in-water"
    assert found.weight.flags == ()


def test_a_coarse_reading_in_water_alone_is_flagged(catalog: Catalog, unweighed: str) -> None:
    # 20 mg / sqrt(12) is 5.8 mg, 3.4 % of 170 mg.
    coarse = weigh_fly(catalog, unweighed, None, 0.17 * GRAM, Scale(20 * MILLIGRAM), ROOM)
    assert coarse.weight.flags == ("weight-uncertain",)


def test_in_water_no_fly_weighs_less_than_its_bead(catalog: Catalog, unweighed: str) -> None:
    """150 mg of tungsten, 17 to 19.3 g/cm3 by alloy (from memory), weigh 141.2 to 142.2 mg in water."""
    for share, refused in ((0.93, True), (1.0, False)):
        shown = share * 142.2 * MILLIGRAM
        if refused:
            with pytest.raises(FlybenchError) as told:
                weigh_fly(catalog, unweighed, None, shown, Scale(0.1 * MILLIGRAM), ROOM)
            assert str(told.value) == (
                "--in-water: 0.1322 g is less than its bead alone in water, 0.1416 g. Weigh again, or correct the size "
                "or metal of the part."
            )
            assert held(catalog, unweighed) == (None, None, None, None)
        else:
            assert weigh_fly(catalog, unweighed, None, shown, Scale(0.1 * MILLIGRAM), ROOM).recorded


def test_a_told_volume_does_not_excuse_less_than_the_bead(catalog: Catalog) -> None:
    light = Readings(Measured(50 * MILLIGRAM, MILLIGRAM), None, Measured(20e-9, 1e-9))
    with catalog.reading() as session, pytest.raises(BadValueError) as caught:
        weigh(get(session, NOUNS["variant"], "MILL-28-14"), light, Water(ROOM))
    assert str(caught.value) == (
        "fly.mass: 0.05 g is less than its bead alone, 0.15 g. Weigh again, or correct the size or metal of the part."
    )


# --- what a weighing leaves open is told


def test_a_mean_of_several_is_told_to_be_one(catalog: Catalog) -> None:
    mean = "M2: this is the mean of 10 flies; its ± is that of the scale, not of how the flies differ."
    ten = weigh_fly(catalog, "M2", 2.2 * GRAM, None, Scale(10 * MILLIGRAM, count=10), ROOM)
    assert mean in ten.weighed.remarks
    assert not any(
        "mean" in line for line in weigh_fly(catalog, "M2", None, None, Scale(), ROOM).weighed.remarks
    )


def test_held_air_is_not_counted_where_the_fly_was_weighed_in_water(catalog: Catalog) -> None:
    weigh_fly(catalog, "M2", 0.22 * GRAM, 0.2 * GRAM, Scale(), ROOM)
    wet, airy = (weigh_fly(catalog, "M2", None, None, Scale(), ROOM, soaked) for soaked in (True, False))
    assert airy.weight == wet.weight
    assert (
        "M2: its reading in water is used, so air still held in the dressing is not counted."
        in airy.weighed.remarks
    )


@pytest.mark.parametrize("step", [5, 10, 20, 50, 100])
def test_as_many_together_as_it_advises_are_enough(catalog: Catalog, step: int) -> None:
    scale = Scale(step * MILLIGRAM)
    alone = weigh_fly(catalog, "M3", None, None, scale, ROOM)
    assert alone.enough_together is not None
    together = weigh_fly(
        catalog, "M3", None, None, Scale(scale.resolution, count=alone.enough_together), ROOM
    )
    assert not together.too_coarse
    finer = weigh_fly(catalog, "M3", None, None, Scale(alone.fine_enough), ROOM)
    assert not finer.too_coarse


def test_no_number_is_advised_that_a_weighing_may_not_hold(catalog: Catalog) -> None:
    add_row(catalog, NOUNS["fly"], {"code": "A2", "variant": "A-0-16"})
    found = weigh_fly(catalog, "A2", None, None, Scale(100 * MILLIGRAM), ROOM)
    assert found.enough_together is None or found.enough_together <= 1000


# --- measured flies by water


def dropped(
    catalog: Catalog, fly: str, kelvin: float, salt: str = "0 g/kg", day: int = 1, **weighed: str
) -> None:
    """Add an invented run; weighed, of the sheet."""
    sheet = {
        "water": {"temperature": f"{kelvin} K", "salinity": salt},
        "scale": {"card": "in water", "gap": "0 mm", "bar": "100 mm"},
        "fly": weighed,
    }
    with catalog.writing() as session:
        run = BenchRun(
            clip_name="invented.mp4",
            clip_sha256="0" * 64,
            measured_at=datetime(2026, 3, day, tzinfo=UTC),
            software="0",
            verdict=Verdict.GOOD,
            sink_speed_m_s=0.4,
            uncertainty_m_s=0.004,
            free_speed_m_s=0.4,
            free_uncertainty_m_s=0.005,
            shared_uncertainty_m_s=0.003,
            temperature_k=kelvin,
            drops_used=5,
            flags=[],
            sheet=sheet,
            result={},
            track=b"",
            track_sha256=f"{fly}{kelvin}{salt}{day}",
        )
        found: Fly = get(session, NOUNS["fly"], fly)
        found.runs.append(run)


def records(catalog: Catalog, fly: str) -> list[MeasuredFly]:
    measured(catalog, fly, 0.4, 0.005)
    with catalog.reading() as session:
        return measured_flies(session, [f"code:{fly}"], Remarks())


def test_runs_pool_within_a_kelvin(catalog: Catalog) -> None:
    for kelvin in (283.15, 283.95, 284.3):
        dropped(catalog, "M1", kelvin)
    found = records(catalog, "M1")
    assert [(one.runs, one.drops) for one in found] == [(2, 10), (1, 5)]
    assert [one.temperature for one in found] == pytest.approx([283.55, 284.3])
    assert [one.shared for one in found] == pytest.approx([0.003, 0.003])
    assert found[1].own == pytest.approx(0.004)  # 3, 4, 5: own^2 = whole^2 - shared^2


def test_fresh_and_salt_water_are_not_pooled(catalog: Catalog) -> None:
    for salt in ("35 g/kg", "0 g/kg", "0.4 g/kg"):
        dropped(catalog, "M1", 283.15, salt)
    found = records(catalog, "M1")
    assert [(one.runs, round(one.salinity, 6)) for one in found] == [(2, 0.0002), (1, 0.035)]
    fresh, salt = (one.weight for one in found)
    assert fresh is not None and salt is not None
    # 10 degC, from memory: 999.70 kg/m3 fresh, 1026.95 kg/m3 at 35 (EOS-80).
    assert salt.water_density - fresh.water_density == pytest.approx(27.2, abs=0.3)
    assert salt.weight.value < fresh.weight.value


def test_the_newest_sheet_says_what_the_fly_weighs(catalog: Catalog, unweighed: str) -> None:
    dropped(catalog, unweighed, 283.15, day=2, mass_in_water="0.180 g")
    dropped(catalog, unweighed, 283.55, day=1, mass_in_water="0.160 g")
    (found,) = records(catalog, unweighed)
    assert found.weight is not None
    assert found.weight.weight.value == pytest.approx(
        STANDARD_GRAVITY * (1 - 1.2 / 8000) * 0.18 * GRAM, rel=1e-4
    )


def test_the_catalog_s_weighing_goes_before_the_sheet_s(catalog: Catalog, unweighed: str) -> None:
    weigh_fly(catalog, unweighed, 0.2 * GRAM, 0.175 * GRAM, Scale(), ROOM)
    dropped(catalog, unweighed, 283.15, mass_in_water="0.16 g")
    (found,) = records(catalog, unweighed)
    assert found.weight is not None
    assert found.weight.weight.value == pytest.approx(
        STANDARD_GRAVITY * (1 - 1.2 / 8000) * 0.175 * GRAM, rel=1e-4
    )


def test_a_sheet_lighter_than_the_bead_gives_no_drag_and_the_rest_goes_on(
    catalog: Catalog, unweighed: str
) -> None:
    dropped(catalog, unweighed, 283.15, mass_in_water="0.02 g")
    measured(catalog, unweighed, 0.4, 0.005)
    measured(catalog, "M1", 0.4, 0.005)
    found = drags(catalog)
    assert [(one.measured.fly, one.drag is None) for one in found.flies] == [("M1", False), (unweighed, True)]
    assert found.remarks[-1] == (
        "fly N1: no weight, so no drag: fly.mass_in_water: 0.02 g is less than its bead alone in water, 0.1416 g. "
        "Weigh again, or correct the size or metal of the part."
    )


def test_a_speed_without_runs_is_all_its_own(catalog: Catalog) -> None:
    (found,) = records(catalog, "M1")
    assert (found.own, found.shared, found.salinity, found.runs) == (0.005, 0.0, 0.0, 1)


def test_what_is_too_uncertain_in_salt_water_is_flagged_there(catalog: Catalog) -> None:
    """A fly of 1.1 g/cm3 loses a third of its weight from fresh to sea water of 2 degC: Archimedes."""
    water, sea = Water(275.15), Water(275.15, 0.035)
    light = Readings(Measured(110 * MILLIGRAM, 0.2 * MILLIGRAM), None, Measured(100e-9, 0.15e-9))
    with catalog.reading() as session:
        fresh = weigh(get(session, NOUNS["variant"], "A-0-16"), light, water).weight
    salt = fresh.in_water(sea)
    assert "weight-uncertain" not in fresh.flags
    assert salt.relative_uncertainty > 0.03
    assert salt.flags[0] == "weight-uncertain"
    assert fresh.in_water(water).flags == fresh.flags
    assert salt.in_water(water).weight.value == pytest.approx(fresh.weight.value)
