"""Laws of weighing: the four ways agree, their doubts match draws, and what cannot be is refused."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from usual_bead import usual_bead

from flybench.errors import BadValueError
from flybench.hydraulics.sphere import GRAVITY
from flybench.hydraulics.water import Water
from flybench.quantity import Measured
from flybench.sinking.weight.bead import Bore
from flybench.sinking.weight.flags import FLAGS
from flybench.sinking.weight.hook_and_ballast import ballast, usual_hook
from flybench.sinking.weight.parts import PartMetal, SolidPart, dressing, sized_part
from flybench.sinking.weight.scale import (
    check_scale,
    hydrostatic,
    reading,
    true_mass,
    weighing_gain,
    weight_of_reading,
)
from flybench.sinking.weight.submerged import SubmergedWeight, Way, weight_of_mass
from flybench.sinking.weight.ways import (
    refuse_lighter,
    weight_from_mass,
    weight_from_parts,
    weight_weighed_in_water,
    weight_weighed_twice,
)

# No time limit an example: the first one loads what is loaded lazily, and machines stall.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")

ROOM = Water(293.15)
MILLIGRAM = 1e-6
MM, MM3 = 1e-3, 1e-9


def exact(value: float) -> Measured:
    return Measured(value, 0.0)


def a_fly() -> list[SolidPart]:
    bead = usual_bead(Measured(2.8 * MM, 0.02 * MM), PartMetal.TUNGSTEN, Bore.SLOTTED)
    wire = ballast(
        Measured(8.0, 0.3), Measured(0.6 * MM, 0.05 * MM), Measured(0.3 * MM, 5e-6), PartMetal.LEAD
    )
    return [bead, usual_hook(14).part, wire, dressing(Measured(12 * MILLIGRAM, 3 * MILLIGRAM))]


@given(st.floats(5e-6, 2e-3), st.floats(1200.0, 19000.0), st.floats(274.0, 312.0))
def test_the_four_ways_agree_on_a_fly_known_exactly(mass: float, density: float, kelvin: float) -> None:
    water = Water(kelvin)
    volume = mass / density
    k = 1 - 1.2 / 8000
    dry, wet = exact((mass - 1.2 * volume) / k), exact((mass - water.density * volume) / k)
    part = SolidPart("all", exact(mass), exact(volume))
    records = [
        weight_weighed_twice(dry, wet, water),
        weight_weighed_in_water(wet, [part], water),
        weight_from_mass(dry, [part], water),
        weight_from_parts([part], water),
    ]
    assert [record.way for record in records] == list(Way)
    for record in records:
        assert record.weight.value == pytest.approx(GRAVITY * (mass - water.density * volume), rel=1e-9)
        assert record.displaced.value == pytest.approx(volume, rel=1e-7)
        # in water alone the mass is r + rho V: the air's 0.015 % of the reading stays out
        assert record.mass.value == pytest.approx(
            mass, rel=2e-4 if record.way is Way.WEIGHED_IN_WATER else 1e-9
        )
        assert record.density.value == pytest.approx(density, rel=2e-4)
        assert record.apparent_mass == pytest.approx(mass - water.density * volume, rel=1e-9)
        assert record.weight.standard_uncertainty == 0
        assert record.flags == ()


def test_each_ways_doubt_matches_drawn_readings() -> None:
    # JCGM 101:2008: first-order uncertainties against draws.
    rng = np.random.default_rng(3)
    dry, wet = Measured(260e-6, 2e-6), Measured(232e-6, 2e-6)
    record = weight_weighed_twice(dry, wet, ROOM)
    k = 1 - 1.2 / 8000
    r1, r2 = rng.normal(260e-6, 2e-6, 100_000), rng.normal(232e-6, 2e-6, 100_000)
    assert np.std(GRAVITY * k * r2) == pytest.approx(record.weight.standard_uncertainty, rel=0.01)
    volume = k * (r1 - r2) / (ROOM.density - 1.2)
    assert np.std(volume) == pytest.approx(record.displaced.standard_uncertainty, rel=0.01)
    assert np.std(k * r1 + 1.2 * volume) == pytest.approx(record.mass.standard_uncertainty, rel=0.01)
    density = hydrostatic(Measured(260e-6, 2e-7), Measured(232e-6, 2e-7), ROOM.density)[2]
    ratio = (r1 - 260e-6) / 10 + 260e-6
    ratio = ratio / (ratio - ((r2 - 232e-6) / 10 + 232e-6)) * (ROOM.density - 1.2)
    assert np.std(ratio) == pytest.approx(density.standard_uncertainty, rel=0.02)

    solid = SolidPart("all", Measured(260e-6, 1e-6), Measured(28e-9, 2e-9))
    once = weight_from_mass(dry, [solid], ROOM, air=Measured(1e-9, 0.5e-9))
    v, held = rng.normal(28e-9, 2e-9, 100_000), rng.normal(1e-9, 0.5e-9, 100_000)
    drawn = GRAVITY * (k * r1 + 1.2 * v - ROOM.density * (v + held))
    assert np.std(drawn) == pytest.approx(once.weight.standard_uncertainty, rel=0.01)
    assert np.mean(drawn) == pytest.approx(once.weight.value, rel=1e-3)


def test_air_takes_weight_away_and_water_only_adds_inertia() -> None:
    plain = weight_from_parts(a_fly(), ROOM)
    airy = weight_from_parts(a_fly(), ROOM, air=exact(2 * MM3))
    wet = weight_from_parts(a_fly(), ROOM, soaked=Measured(10 * MM3, 2 * MM3))
    assert plain.weight.value - airy.weight.value == pytest.approx(GRAVITY * ROOM.density * 2 * MM3)
    assert airy.displaced.value == pytest.approx(plain.displaced.value + 2 * MM3)
    assert wet.weight == plain.weight
    assert wet.moving_mass.value == pytest.approx(plain.mass.value + 10 * MM3 * ROOM.density)
    assert set(airy.flags) - set(plain.flags) == {"air-held"}
    assert set(wet.flags) - set(plain.flags) == {"water-soaked"}


def test_parts_alone_warn_and_a_finer_way_does_not() -> None:
    alone = weight_from_parts(a_fly(), ROOM)
    assert alone.relative_uncertainty > 0.03
    assert "weight-uncertain" in alone.flags
    shown = reading(alone.mass.value, 0.1 * MILLIGRAM)
    assert weight_from_mass(shown, a_fly(), ROOM).flags == ()
    assert set(FLAGS) == {
        "weight-uncertain",
        "parts-missing",
        "unlike-parts",
        "readings-differ",
        "air-held",
        "water-soaked",
    }


def test_a_part_left_out_is_flagged() -> None:
    parts = a_fly()[:1]
    heavy = reading(parts[0].mass.expanded * 1.2 + parts[0].mass.value, MILLIGRAM)
    assert "parts-missing" in weight_from_mass(heavy, parts, ROOM).flags


def _bead() -> SolidPart:
    """Return a bead of 0.1 g and 10 mm3, known exactly."""
    return SolidPart("bead", exact(100e-6), exact(10e-9))


def _reading(milligrams: float) -> Measured:
    return reading(milligrams * MILLIGRAM, 0.01 * MILLIGRAM)


FOAM = SolidPart("foam", exact(10e-6), exact(100e-9))
LIGHT = [SolidPart(f"bead {i}", exact(85e-6), exact(1e-8)) for i in (1, 2)]


@pytest.mark.parametrize(
    ("refused", "told"),
    [
        (lambda: weight_weighed_twice(_reading(170), _reading(200), ROOM), "fly.mass_in_water: 0.2 g in water is not less than 0.17 g dry. Weigh both again, the hanger tared in the water: water bears part of the weight."),
        (lambda: weight_weighed_twice(_reading(200), _reading(200), ROOM), "fly.mass_in_water: 0.2 g in water is not less than 0.2 g dry. Weigh both again, the hanger tared in the water: water bears part of the weight."),
        (lambda: weight_weighed_twice(_reading(200), exact(-10e-6), ROOM), "fly.mass_in_water: the scale shows -0.01 g in water, so the fly floats. Wet it through and weigh it again, or add weight."),
        (lambda: weight_weighed_in_water(exact(0.0), [_bead()], ROOM), "fly.mass_in_water: the scale shows 0 g in water, so the fly floats. Wet it through and weigh it again, or add weight."),
        (lambda: weight_weighed_in_water(_reading(80), [_bead()], ROOM), "fly.mass_in_water: 0.08 g is less than its bead alone in water, 0.09002 g. Weigh again, or correct the size or metal of the part."),
        (lambda: weight_weighed_in_water(_reading(80), [], ROOM), "fly.parts: no part with a volume is known. Name the bead, the hook, the wire and the dressing."),
        (lambda: weight_weighed_twice(_reading(200), _reading(195), ROOM), "fly.mass_in_water: the fly's density comes to 39881 kg/m3, more than tungsten's. Weigh again, hanging free of the vessel."),
        (lambda: weight_from_mass(_reading(90), [_bead()], ROOM), "fly.mass: 0.09 g is less than its bead alone, 0.1 g. Weigh again, or correct the size or metal of the part."),
        (lambda: weight_weighed_twice(_reading(90), _reading(80), ROOM, [_bead()]), "fly.mass: 0.09 g is less than its bead alone, 0.1 g. Weigh again, or correct the size or metal of the part."),
        (lambda: weight_from_mass(_reading(100), LIGHT, ROOM), "fly.mass: 0.1 g is less than its parts together, 0.17 g. Weigh again, or correct the size or metal of the part."),
        (lambda: weight_from_mass(_reading(100), [SolidPart("x", exact(1e-6), exact(1e-9))], ROOM), "fly.mass: the fly's density comes to 99986 kg/m3, more than tungsten's. Weigh again, or name the part left out."),
        (lambda: weight_from_mass(_reading(50), [FOAM], ROOM), "fly: its weight in water comes to -0.487 mN, so it floats. Check its masses and volumes, or add weight: it must sink."),
        (lambda: weight_from_parts([FOAM], ROOM), "fly: its weight in water comes to -0.881 mN, so it floats. Check its masses and volumes, or add weight: it must sink."),
        (lambda: weight_from_parts([_bead()], ROOM, air=exact(500 * MM3)), "fly: its weight in water comes to -4.01 mN, so it floats. Check its masses and volumes, or add weight: it must sink."),
        (lambda: weight_from_parts([], ROOM), "fly.parts: no part with a volume is known. Name the bead, the hook, the wire and the dressing."),
        (lambda: weight_from_parts([_bead()], ROOM, air=exact(-1 * MM3)), "fly.air: a volume of -1 mm3 cannot be held in the dressing. Give zero or more."),
        (lambda: weight_from_parts([_bead()], ROOM, soaked=exact(-1 * MM3)), "fly.soaked: a volume of -1 mm3 cannot be held in the dressing. Give zero or more."),
        (lambda: weight_from_parts([_bead()], ROOM, soaked=exact(np.inf)), "fly.soaked: a volume of inf mm3 cannot be held in the dressing. Give zero or more."),
        (lambda: check_scale(MILLIGRAM, 0.0), "scale.mass: a mass of 0 g cannot be weighed. Give a mass above zero."),
        (lambda: check_scale(MILLIGRAM, np.inf), "scale.mass: a mass of inf g cannot be weighed. Give a mass above zero."),
    ],
)  # fmt: skip
def test_flies_that_cannot_be_are_refused(refused: Callable[[], object], told: str) -> None:
    with pytest.raises(BadValueError) as caught:
        refused()
    assert str(caught.value) == told


def test_a_fly_that_would_float_in_other_water_is_refused_there() -> None:
    """1020 kg/m3 sinks in fresh water, not in sea water of 1025 (from memory)."""
    barely = weight_from_parts([SolidPart("x", exact(1.02e-4), exact(1e-7))], ROOM)
    with pytest.raises(BadValueError) as caught:
        barely.in_water(Water(293.15, 0.035))
    assert str(caught.value) == (
        "fly: its weight in water comes to -0.00455 mN, so it floats. Check its masses and volumes, or add weight: it "
        "must sink."
    )


def test_two_standard_uncertainties_are_let_pass_and_no_more() -> None:
    """JCGM 100:2008, G.1: k = 2. A bead of 100 mg with a doubt of 3 mg, a reading known to 4 mg: hypot 5, so 10 mg."""
    bead = SolidPart("bead", Measured(100e-6, 3e-6), exact(10e-9))
    for short, passes in ((9.9, True), (10.1, False)):
        # the scale shows 1.2 V less than 0.015 % more than the mass: 0.3 microgram here
        shown = Measured((100 - short) * MILLIGRAM, 4 * MILLIGRAM)
        if passes:
            assert weight_from_mass(shown, [bead], ROOM).mass.value == pytest.approx(shown.value, rel=1e-3)
        else:
            with pytest.raises(BadValueError):
                weight_from_mass(shown, [bead], ROOM)


def test_a_doubtful_volume_may_make_a_fly_too_dense_within_two_doubts() -> None:
    """0.2 g over 19 400 kg/m3 are 10.31 mm3: a volume of 9 mm3 may be, if two of its doubts reach that far."""
    for doubt, passes in ((0.70, True), (0.60, False)):
        part = SolidPart("x", exact(1e-4), Measured(9e-9, doubt * 1e-9))
        if passes:
            assert weight_from_mass(_reading(200), [part], ROOM).displaced.value == 9e-9
        else:
            with pytest.raises(BadValueError):
                weight_from_mass(_reading(200), [part], ROOM)


def test_in_water_alone_no_fly_weighs_less_than_its_heaviest_part_less_what_floats() -> None:
    """Archimedes by hand, water of 998.2 kg/m3: a bead of 100 mg weighs 90.0 mg, foam of 100 mm3 lifts 89.8 mg."""
    thread = SolidPart("thread", exact(30e-6), exact(20e-9))
    assert weight_weighed_in_water(_reading(90.1), [thread, _bead()], ROOM).weight.value > 0
    with pytest.raises(BadValueError):
        weight_weighed_in_water(_reading(89.9), [thread, _bead()], ROOM)
    lifted = weight_weighed_in_water(_reading(0.3), [_bead(), FOAM], ROOM)
    assert lifted.displaced.value == pytest.approx(110e-9)
    with pytest.raises(BadValueError):
        weight_weighed_in_water(_reading(0.1), [_bead(), FOAM], ROOM)


def test_the_doubt_of_a_weighing_in_water_alone() -> None:
    """JCGM 100:2008, 5.1.2, by hand: mass r + rho V; density from the mass, its volume taken as exact."""
    part = SolidPart("all", exact(100e-6), Measured(10e-9, 2e-9))
    found = weight_weighed_in_water(Measured(95e-6, 1e-6), [part], ROOM)
    assert found.weight == weight_of_reading(Measured(95e-6, 1e-6))
    assert found.weight.value == pytest.approx(9.80665 * 95e-6 * (1 - 1.2 / 8000), rel=1e-12)
    assert found.mass.standard_uncertainty == pytest.approx(np.hypot(1e-6, ROOM.density * 2e-9))
    assert found.density.standard_uncertainty == pytest.approx(found.mass.standard_uncertainty / 10e-9)
    assert found.moving_mass == found.mass


def test_mass_and_volume_of_a_sheet_make_a_weight() -> None:
    """By hand: 9.80665 (m - rho V), its doubt 9.80665 hypot(u(m), rho u(V)) (JCGM 100:2008, 5.1.2)."""
    weight = weight_of_mass(Measured(210e-6, 1e-6), Measured(22e-9, 3e-9), ROOM)
    assert weight.value == pytest.approx(9.80665 * (210e-6 - 998.2067 * 22e-9), rel=1e-7)
    assert weight.standard_uncertainty == pytest.approx(9.80665 * np.hypot(1e-6, 998.2067 * 3e-9), rel=1e-7)


def test_the_doubt_of_a_weighing_in_air_by_hand() -> None:
    """JCGM 100:2008, 5.1.2: a doubt of the volume counts with water less air, u(W) = g (rho - 1.2) u(V).

    The air that the volume displaced is in the mass already. Density: relative doubts add in squares.
    """
    part = SolidPart("all", exact(200e-6), Measured(40e-9, 4e-9))
    found = weight_from_mass(exact(200e-6), [part], ROOM)
    assert found.weight.standard_uncertainty == pytest.approx(9.80665 * (998.2067 - 1.2) * 4e-9, rel=1e-6)
    mass = found.mass.standard_uncertainty / found.mass.value
    assert found.density.standard_uncertainty / found.density.value == pytest.approx(np.hypot(mass, 0.1))


def test_what_is_just_as_heavy_is_not_lighter() -> None:
    refuse_lighter("fly.mass", exact(0.0), exact(0.0), "nothing")
    with pytest.raises(BadValueError) as refused:
        refuse_lighter("fly.mass", exact(1e-3), exact(1.001e-3), "its bead alone")
    assert str(refused.value) == (
        "fly.mass: 1 g is less than its bead alone, 1.001 g. Weigh again, or correct the size or metal of the part."
    )


def test_a_part_left_out_is_flagged_beyond_two_doubts_and_a_hundredth() -> None:
    def flags(milligrams: float, doubt: float) -> tuple[str, ...]:
        return weight_from_mass(Measured(milligrams * MILLIGRAM, doubt * MILLIGRAM), [_bead()], ROOM).flags

    assert "parts-missing" not in flags(100.9, 0.1)  # nine parts in a thousand
    assert "parts-missing" not in flags(100.98, 0.1)
    assert "parts-missing" in flags(101.05, 0.1)
    assert "parts-missing" in flags(101.2, 0.1)
    assert "parts-missing" not in flags(105.8, 3.0)  # within two doubts
    assert "parts-missing" in flags(106.2, 3.0)


@pytest.mark.parametrize("part", [0.0, 1.0])
def test_a_density_s_doubt_knows_that_mass_and_volume_err_together(part: float) -> None:
    """JCGM 101:2008: against draws. A bead's mass is its volume times its density: all but the metal's doubt cancels."""
    rng = np.random.default_rng(8)
    beads = [
        sized_part("bead", Measured(10e-9, 1e-9), Measured(8000.0, 40.0)),
        dressing(Measured(10e-6, part * 2e-6)),
    ]
    found = weight_from_parts(beads, ROOM).density
    volume, density = rng.normal(10e-9, 1e-9, 200_000), rng.normal(8000.0, 40.0, 200_000)
    fur, fur_density = rng.normal(10e-6, part * 2e-6, 200_000), rng.normal(1300.0, 120.0, 200_000)
    drawn = (volume * density + fur) / (volume + fur / fur_density)
    assert found.standard_uncertainty == pytest.approx(float(np.std(drawn)), rel=0.04)


def test_water_soaked_up_adds_its_mass_and_its_doubt() -> None:
    found = weight_from_parts([_bead()], ROOM, soaked=Measured(10 * MM3, 2 * MM3)).moving_mass
    assert found.standard_uncertainty == pytest.approx(998.2067 * 2 * MM3, rel=1e-7)


def test_in_other_water_a_weight_changes_by_what_its_volume_displaces() -> None:
    """Archimedes: W - (rho' - rho) V g; the doubt of V once more for the change (JCGM 100:2008, 5.1.2)."""
    sea = Water(293.15, 0.035)
    part = SolidPart("all", exact(200e-6), Measured(40e-9, 4e-9))
    fresh = weight_from_mass(Measured(200e-6, 1e-6), [part], ROOM)
    salt = fresh.in_water(sea)
    change = (sea.density - ROOM.density) * 9.80665
    assert salt.weight.value == pytest.approx(fresh.weight.value - change * 40e-9, rel=1e-12)
    doubt = np.hypot(fresh.weight.standard_uncertainty, change * 4e-9)
    assert salt.weight.standard_uncertainty == pytest.approx(doubt, rel=1e-12)
    assert salt.water_density == sea.density


def test_what_was_flagged_stays_flagged_in_other_water() -> None:
    part = SolidPart("all", exact(200e-6), exact(40e-9))
    airy = weight_from_mass(Measured(200e-6, 1e-6), [part], ROOM, air=exact(1 * MM3))
    assert airy.in_water(Water(275.15)).flags == airy.flags == ("air-held",)


@pytest.mark.parametrize(("share", "flagged"), [(0.0299, False), (0.0301, True)])
def test_three_hundredths_of_doubt_are_told(share: float, flagged: bool) -> None:
    found: SubmergedWeight = weight_weighed_in_water(Measured(100e-6, share * 100e-6), [_bead()], ROOM)
    assert found.relative_uncertainty == pytest.approx(share)
    assert ("weight-uncertain" in found.flags) is flagged


def test_what_hovers_does_not_sink_and_three_hundredths_exactly_are_let_pass() -> None:
    hovering = SolidPart("x", exact(ROOM.density * 1e-9), exact(1e-9))
    with pytest.raises(BadValueError) as caught:
        weight_from_parts([hovering], ROOM)
    assert str(caught.value) == (
        "fly: its weight in water comes to 0 mN, so it floats. Check its masses and volumes, or add weight: it must sink."
    )
    assert weight_weighed_in_water(Measured(100e-6, 0.03 * 100e-6), [_bead()], ROOM).flags == ()


def test_a_coarse_scale_warns_and_says_which_would_do() -> None:
    """1.5 % of 90 mg are 1.35 mg; a step of 4.68 mg leaves that, step / sqrt(12) (JCGM 100:2008, F.2.2.1)."""
    coarse = check_scale(10 * MILLIGRAM, 90 * MILLIGRAM)
    assert coarse.too_coarse
    assert coarse.relative_uncertainty == pytest.approx(10 / 12**0.5 / 90)
    assert coarse.needed_resolution == pytest.approx(4.6765 * MILLIGRAM, rel=1e-4)
    assert coarse.fine_enough == pytest.approx(2 * MILLIGRAM)
    assert not check_scale(coarse.needed_resolution * 0.999, 90 * MILLIGRAM).too_coarse
    assert check_scale(coarse.needed_resolution * 1.001, 90 * MILLIGRAM).too_coarse
    dry, wet = reading(100e-6, 1e-5), reading(80e-6, 1e-5)
    assert "weight-uncertain" in weight_weighed_twice(dry, wet, ROOM).flags


@pytest.mark.parametrize(("mass", "step"), [(100, 5), (90, 2), (30, 1), (19.3, 1), (19.2, 0.5)])
def test_scales_count_in_ones_twos_and_fives(mass: float, step: float) -> None:
    """OIML R 76-1 (from memory); by hand: 1.5 % of the mass times sqrt(12), rounded down."""
    assert check_scale(MILLIGRAM, mass * MILLIGRAM).fine_enough == pytest.approx(step * MILLIGRAM)


def test_several_on_one_scale_share_its_step() -> None:
    """By hand: 10 mg / sqrt(12) are 2.887 mg, 1.5 % of 192.5 mg, which are 9.6 flies of 20 mg: ten."""
    together = check_scale(10 * MILLIGRAM, 20 * MILLIGRAM, 5)
    assert together.relative_uncertainty == pytest.approx(10 / 12**0.5 / 100)
    assert together.too_coarse
    assert together.enough_together(1000) == 10
    assert together.enough_together(10) == 10
    assert together.enough_together(9) is None
    assert check_scale(10 * MILLIGRAM, 19 * MILLIGRAM, 5).enough_together(1000) == 20


def test_a_finer_scale_gains_and_speed_gains_half() -> None:
    fly = weight_from_parts(a_fly(), ROOM)
    gains = [
        weighing_gain(fly.weight, fly.displaced, ROOM.density, step * MILLIGRAM) for step in (0.1, 1, 10, 100)
    ]
    factors = [gain.factor for gain in gains]
    assert factors == sorted(factors, reverse=True)
    assert factors[0] > 5
    assert factors[-1] == 1
    for gain in gains:
        assert gain.weighed_twice.weight <= gain.weighed_dry.weight
        assert gain.now.weight == pytest.approx(fly.relative_uncertainty)
        assert gain.now.drag_area == gain.now.weight
        assert gain.now.speed == gain.now.weight / 2


@given(st.floats(1e-5, 1e-3), st.floats(1100.0, 19300.0))
def test_air_buoyancy_leaves_steel_alone_and_lifts_light_things(mass: float, density: float) -> None:
    shown = true_mass(exact(mass), exact(mass / density)).value
    assert (shown > mass) == (density < 8000) or shown == pytest.approx(mass, rel=1e-12)
