"""One water for the ladder, lists and labels: which it is, what is brought to it, and that it is said. Flies are invented."""

from __future__ import annotations

import json
import math
from collections.abc import Callable

import pytest
from console import Said
from invented_runs import add_run
from sinking_shop import flat, refused

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.store.open import Catalog
from flybench.hydraulics.water import Water
from flybench.jobs.printed.labels import labels_for
from flybench.jobs.shelf.one_water import set_water, shown_water
from flybench.jobs.shelf.rows import show_row
from flybench.jobs.sink.ladder import ladder
from flybench.jobs.sink.other_water import in_other_water
from flybench.jobs.sink.predict import prediction_of_known
from flybench.shop.fly.builds import build_of
from flybench.shop.speeds.one_water import usual_water
from flybench.shop.speeds.run_parts import RunParts
from flybench.shop.speeds.sides import FlyRuns, fly_side, variant_side
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.model.other_water import change_to_other_water, speed_in_other_water
from flybench.sinking.model.viscosity import ViscosityLaw
from flybench.statistics.comparing import Side, compare

Run = Callable[..., Said]


def parts(celsius: float, speed: float = 0.3, step: float = 1.0, doubt: float = 0.0) -> RunParts:
    return RunParts("f", speed, 0.01, {}, celsius + 273.15, 5, correction=step, correction_doubt=doubt)


@pytest.mark.parametrize(
    ("celsius", "wanted"),
    [((18.0, 18.4, 4.0, 17.6), 18.0), ((4.0, 24.0), 4.0), ((24.0, 4.0, 24.5), 24.25), ((10.0, 11.0), 10.5)],
)
def test_the_usual_water_is_that_of_most_runs(celsius: tuple[float, ...], wanted: float) -> None:
    found = usual_water([parts(one) for one in celsius])
    assert found is not None
    assert found.temperature == pytest.approx(wanted + 273.15)
    assert usual_water([]) is None


def test_steps_from_both_sides_cancel_in_part() -> None:
    """One law for both: where it is too steep, the colder run comes out too fast and the warmer one too slow."""
    one_side = fly_side(FlyRuns("f", (parts(4.0, doubt=0.05), parts(4.0, doubt=0.05))))
    both = fly_side(FlyRuns("f", (parts(4.0, doubt=0.05), parts(24.0, doubt=-0.05))))
    assert {part.source for part in both.parts} == {"drops", "runs"}
    water = [part.uncertainty for part in one_side.parts if part.source == "water"]
    assert water == [pytest.approx(0.05 * one_side.speed)]


def test_a_run_near_the_water_counts_for_more_than_one_brought_from_afar() -> None:
    found = fly_side(FlyRuns("f", (parts(18.0, 0.30), parts(4.0, 0.27, 1.2, 0.10))))
    assert 0.300 < found.speed < 0.302
    assert found.uncertainty < 0.05 * found.speed


def test_the_fast_step_is_that_of_sink_at(catalog: Catalog) -> None:
    with catalog.reading() as session:
        build = build_of(get(session, NOUNS["fly"], "M1").variant)
    fly = MeasuredFly("M1", build, None, 0.3, 1e-6, 1e-6, 291.15, 0.0, 1, 5)
    for water in (Water(276.15), Water(301.15), Water(291.15, 0.035)):
        change, doubt = change_to_other_water(ViscosityLaw(()), fly, water)
        found = speed_in_other_water(ViscosityLaw(()), fly, water)
        assert change == pytest.approx(found.change, rel=4e-3)
        assert abs(doubt) == pytest.approx(found.change_uncertainty / found.change, rel=0.12)
        assert (doubt > 0) == (water.kinematic_viscosity > fly.water.kinematic_viscosity)


def test_a_shop_in_one_water_sees_its_numbers_as_before(catalog: Catalog, run: Run) -> None:
    for number, (code, speed) in enumerate((("M1", 0.30), ("M2", 0.31), ("A1", 0.20)), 1):
        add_run(catalog, code, speed, number, celsius=17.5 + 0.3 * number)
    found = ladder(catalog)
    assert [(rung.code, rung.speed, rung.brought) for rung in found.rungs] == [
        ("A1", pytest.approx(0.20), False),
        ("M1", pytest.approx(0.30), False),
        ("M2", pytest.approx(0.31), False),
    ]
    assert "water" not in run("ladder").out
    assert "water" not in run("fly", "list").err


def test_a_run_in_cold_water_is_brought_and_named(catalog: Catalog, run: Run) -> None:
    """The fly of 4 degC sinks faster at 18; its ± is wider by the step; list and ladder show one number."""
    for number, (code, speed, celsius) in enumerate(
        (("M1", 0.30, 18.0), ("M2", 0.31, 18.0), ("A1", 0.20, 4.0)), 1
    ):
        add_run(catalog, code, speed, number, celsius=celsius)
    found = {rung.code: rung for rung in ladder(catalog).rungs}
    assert 0.205 < found["A1"].speed < 0.225
    relative = {code: one.uncertainty / one.speed for code, one in found.items()}
    assert relative["A1"] > 1.9 * relative["M1"]
    assert found["A1"].mostly_water
    assert found["M1"].speed == pytest.approx(0.30)
    assert show_row(catalog, NOUNS["fly"], "A1")["sink"] == pytest.approx(found["A1"].speed)
    assert (
        "Speeds are for water of 18 °C (the water of most runs of the shop). Runs in other water were brought to it, "
        "and the ± holds the doubt of that step: A1. More than half of the ± comes from that step: A1. Measure in water "
        "of 18 °C, or one fly of the pattern in both waters: flybench sink at --help For other water add --temperature "
        '"8 degC", or set it for good: flybench catalog water "8 degC"' in flat(run("ladder").out)
    )
    told = json.loads(run("ladder", "--json").out)
    assert (told["water"]["why"], told["water"]["brought"]) == ("usual", ["A1"])
    assert [one["brought_to_this_water"] for one in told["rungs"]] == [True, False, False]
    assert flat(run("fly", "list", "--columns", "code,sink").err) == (
        "Speeds are for water of 18 °C (the water of most runs of the shop). Runs in other water were brought to it, and "
        "the ± holds the doubt of that step: A1."
    )


def test_runs_at_4_and_24_degrees_do_not_pool_as_if_alike(catalog: Catalog) -> None:
    """Brought to 14 degC by one law: the slow cold run and the fast warm one come near each other."""
    add_run(catalog, "M1", 0.18, 1, celsius=4.0)
    add_run(catalog, "M1", 0.21, 2, celsius=24.0)
    mixed = ladder(catalog, temperature=287.15).rungs[0]
    assert 0.19 < mixed.speed < 0.20
    assert mixed.brought
    assert mixed.uncertainty < 0.05 * mixed.speed


def test_the_water_is_set_for_good_and_let_go(catalog: Catalog, run: Run) -> None:
    add_run(catalog, "M1", 0.30, 1)
    assert run("catalog", "water").out == (
        "Speeds are shown for water of 18 °C (the water of most runs of the shop).\n"
    )
    assert run("catalog", "water", "8 degC").out == (
        "Speeds are shown for water of 8 °C (as set with flybench catalog water).\n"
        "Flies with runs in other water, brought to it: M1.\n"
    )
    cold = show_row(catalog, NOUNS["fly"], "M1")["sink"]
    assert 0.27 < cold < 0.30
    assert ladder(catalog).rungs[0].speed == pytest.approx(cold)
    assert ladder(catalog, temperature=281.15).rungs[0].speed == pytest.approx(cold)
    set_water(catalog, None)
    assert shown_water(catalog).why == "usual"
    assert show_row(catalog, NOUNS["fly"], "M1")["sink"] == pytest.approx(0.30)


def test_water_that_cannot_be_set(run: Run) -> None:
    refused(
        run("catalog", "water", "35 degC"),
        "--temperature: 35 degC is outside 0 to 30 degC. Give the temperature of the river.",
    )
    refused(
        run("catalog", "water", "8 degC", "--usual"),
        "--usual: a temperature was given as well. Give one of the two.",
    )
    assert run("catalog", "water").out == (
        "No run counts yet. Speeds will be shown for the water in which most runs are made.\n"
    )


def test_a_label_and_the_ladder_state_one_speed(catalog: Catalog) -> None:
    """In the shop's water, in a given one and in one set for good; the label names the water where it is not the shop's."""
    for number, (code, speed, celsius) in enumerate(
        (("M1", 0.30, 18.0), ("M3", 0.31, 18.0), ("A1", 0.20, 4.0)), 1
    ):
        add_run(catalog, code, speed, number, celsius=celsius)

    def both(kelvin: float | None) -> list[tuple[str, float, float, float | None]]:
        rungs = {
            rung.code: rung for rung in ladder(catalog, ["sink:any"], variants=True, temperature=kelvin).rungs
        }
        labels = {one.code: one.speed for one in labels_for(catalog, ["sink:any"], temperature=kelvin)}
        assert set(labels) == set(rungs)
        for code, speed in labels.items():
            assert speed is not None
            assert speed.value == pytest.approx(rungs[code].speed, rel=1e-9)
            assert speed.expanded == pytest.approx(rungs[code].expanded, rel=1e-9)
        return sorted(
            (code, one.value, one.expanded, one.water) for code, one in labels.items() if one is not None
        )

    usual = both(None)
    assert [(code, water) for code, _, _, water in usual] == [
        ("A-0-16", pytest.approx(291.15)),
        ("MILL-24-16", None),
        ("MILL-28-14", None),
    ]
    cold = both(281.15)
    assert all(water == 281.15 for *_, water in cold)
    assert cold[2][1] < usual[2][1]
    set_water(catalog, 281.15)
    assert both(None) == cold


@pytest.mark.slow
def test_a_vague_prediction_is_no_speed_on_a_label(catalog: Catalog) -> None:
    """Of what is known by style and parts alone, 95 of 100 flies are not within a factor of 2 of the middle."""
    with catalog.reading() as session:
        predicted = prediction_of_known(session, ["MILL-28-14", "A-0-16"])
    assert predicted is not None
    found = {one.build.code: one.forecast for one in predicted.flies}
    vague = {
        code
        for code, one in found.items()
        if one.interval[1] > 2 * one.speed or one.interval[0] < one.speed / 2
    }
    labels = {one.code: one.speed for one in labels_for(catalog, [], predict=True)}
    assert vague
    assert {code for code in found if labels[code] is None} == vague


def test_no_step_to_other_water_makes_a_fly_surer(catalog: Catalog) -> None:
    """Both runs were made at 4 degC, so that one law takes both to other water, and is off by the same for both: what they
    scatter by stays, and the step's doubt comes on top. What sink at says of the fly is reckoned on another way."""
    for number, speed in enumerate((0.30, 0.315), 1):
        add_run(catalog, "M2", speed, number, celsius=4.0)
    here = ladder(catalog).rungs[0]
    for celsius in (5.5, 8.0, 12.0, 24.0):
        there = ladder(catalog, temperature=273.15 + celsius).rungs[0]
        assert there.uncertainty / there.speed > here.uncertainty / here.speed
        at = in_other_water(catalog, ["M2"], 273.15 + celsius).flies[0]
        assert there.speed == pytest.approx(at.speed, rel=0.005)
        assert there.uncertainty == pytest.approx(at.uncertainty, rel=0.04)


def test_runs_of_one_water_scatter_as_much_after_the_step() -> None:
    """Three at 4 degC that contradict each other, and one at 18: the step's doubt explains nothing of what the three show."""
    three = [parts(4.0, speed, 1.1, 0.08) for speed in (0.26, 0.30, 0.34)]
    shows = math.log(0.34 / 0.26) / 2
    believed = math.sqrt(
        (2 * 0.02**2 + 2 * shows**2) / 4
    )  # with what is usual: 2 % of two degrees of freedom
    for runs in (three, [*three, parts(18.0, 0.33)]):
        side = fly_side(FlyRuns("f", tuple(runs)))
        spread = next(part.uncertainty for part in side.parts if part.source == "runs")
        assert spread > 0.95 * believed * side.speed / math.sqrt(len(runs))


def test_a_step_makes_no_difference_surer() -> None:
    """Two runs each: the few degrees of freedom of their spread are not made more by a doubt that is known well."""

    def difference(doubt: float) -> float:
        sides = [
            fly_side(FlyRuns(code, (parts(4.0, speed, 1.0, doubt), parts(4.0, speed * 1.05, 1.0, doubt))))
            for code, speed in (("f", 0.30), ("g", 0.36))
        ]
        return compare(sides[0], sides[1]).uncertainty

    found = [difference(doubt) for doubt in (0.0, 0.005, 0.01, 0.02, 0.04, 0.08)]
    assert found == sorted(found)


def test_flies_of_a_variant_differ_as_much_after_the_step() -> None:
    """Two flies of 4 degC, 12 % apart: what lies between them is the same share of the speed in any water."""

    def side(doubt: float) -> Side:
        flies = [
            FlyRuns(code, (parts(4.0, speed, 1.1, doubt),)) for code, speed in (("f", 0.3), ("g", 0.336))
        ]
        return variant_side("v", flies)

    before, after = side(0.0), side(0.06)
    apart = [
        next(one.uncertainty for one in found.parts if one.source == "flies") for found in (before, after)
    ]
    assert apart[1] == pytest.approx(apart[0])
    assert after.uncertainty == pytest.approx(math.hypot(before.uncertainty, 0.06 * after.speed), rel=1e-3)


def test_the_ladder_says_when_the_spread_between_runs_was_assumed(catalog: Catalog, run: Run) -> None:
    said = "No fly of the shop has two runs to compare, so how much runs of a fly differ was assumed: 2.0 %."
    assert "was assumed" not in run("ladder").out
    add_run(catalog, "M1", 0.30, 1)
    assert said in flat(run("ladder").out)
    assert said in flat(run("ladder", "--variants").out)
    add_run(catalog, "M1", 0.31, 2)
    assert "was assumed" not in run("ladder").out


def test_a_fly_that_would_float_there_stays_in_its_own_water_and_harms_no_other(
    catalog: Catalog, run: Run
) -> None:
    """A1 weighs 1 mg in fresh water and displaces 99 mg of it, so it floats in the sea, which is 2.7 % denser."""
    for number, code in enumerate(("M1", "M2", "M3"), 1):
        add_run(catalog, code, 0.3 + 0.05 * number, number, salt=35.0)
    add_run(catalog, "A1", 0.02, 4, celsius=12.0, doubt=0.0004)
    weighed = run("fly", "weigh", "A1", "--dry", "100 mg", "--in-water", "1 mg", "--in-water", "1 mg")
    assert weighed.code == 0, weighed.err
    found = ladder(catalog)
    assert [rung.code for rung in found.rungs] == ["A1", "M1", "M2"]  # M3 is retired
    assert found.rungs[0].speed == pytest.approx(0.02)
    assert not found.rungs[0].brought
    assert found.water is not None
    assert (found.water.brought, found.water.floating) == ((), ("A1",))
    said = run("ladder")
    assert (
        "By their weight these would float in water of 18 °C with 35 g/kg of salt, so they are shown as measured in their "
        "own: A1. Weigh them again, or measure them in that water."
    ) in flat(said.out)
    for words in (("fly", "list"), ("catalog", "water"), ("run", "set-aside", "1", "--why", "a bubble")):
        assert run(*words).code == 0

    (label,) = labels_for(catalog, ("A1",), flies=True)
    assert label.speed is not None
    assert (label.speed.value, label.speed.water) == (pytest.approx(0.02), pytest.approx(285.15))


@pytest.mark.slow
def test_a_list_names_what_would_float_beside_what_was_brought(catalog: Catalog, run: Run) -> None:
    """A1 displaces 99 mg and weighs 1 mg in fresh water, so it floats in the sea; M2 is brought there from 4 degC."""
    for number, (code, celsius) in enumerate((("M1", 18.0), ("M3", 18.0), ("M2", 4.0)), 1):
        add_run(catalog, code, 0.4, number, celsius=celsius, salt=35.0)
    add_run(catalog, "A1", 0.02, 4, celsius=12.0, doubt=0.0004)
    run("fly", "weigh", "A1", "--dry", "100 mg", "--in-water", "1 mg", "--in-water", "1 mg")
    said = flat(run("fly", "list").err + run("fly", "list").out)
    assert "the ± holds the doubt of that step: M2." in said
    assert (
        "would float in water of 18 °C with 35 g/kg of salt, so they are shown as measured in their own: A1."
        in said
    )
    assert "flybench catalog water" not in said  # how to ask for another water is said by the ladder


@pytest.mark.slow
def test_sink_at_says_same_water_and_leaves_out_what_would_float(catalog: Catalog, run: Run) -> None:
    """A1 weighs 1 mg in fresh water and displaces 99 mg of it, so it floats in the sea, which is 2.7 % denser."""
    add_run(catalog, "M1", 0.45, 1, salt=35.0)
    add_run(catalog, "A1", 0.02, 2, doubt=0.0004)
    run("fly", "weigh", "A1", "--dry", "100 mg", "--in-water", "1 mg", "--in-water", "1 mg")
    said = run("sink", "at", "--temperature", "18 degC", "--salinity", "35 g/kg")
    assert said.code == 0, said.err
    assert [line.split()[0] for line in said.out.splitlines() if line.startswith(("M1", "A1"))] == ["M1"]
    assert "same water" in flat(said.out)
    assert (
        "By their weight these would float in that water, so they are not shown: A1. Weigh them again: "
        "flybench fly weigh CODE"
    ) in flat(said.err + said.out)
