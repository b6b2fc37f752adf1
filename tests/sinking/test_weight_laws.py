"""Laws of weighing: the three ways agree, their doubts match draws, and what cannot be is refused."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flybench.errors import BadValueError
from flybench.hydraulics.sphere import GRAVITY
from flybench.hydraulics.water import Water
from flybench.quantity import Measured
from flybench.sinking.weight.bead import Bore
from flybench.sinking.weight.hook import typical_hook
from flybench.sinking.weight.metals import Metal
from flybench.sinking.weight.parts import Part, dressing
from flybench.sinking.weight.scale import check_scale, reading, true_mass, weighing_gain
from flybench.sinking.weight.submerged import (
    FLAGS,
    Way,
    hydrostatic,
    weight_from_mass,
    weight_from_parts,
    weight_weighed_twice,
)
from flybench.sinking.weight.usual_beads import usual_bead
from flybench.sinking.weight.wire import ballast

# No time limit an example: the first one loads what is loaded lazily, and machines stall.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")

ROOM = Water(293.15)
MILLIGRAM = 1e-6
MM, MM3 = 1e-3, 1e-9


def exact(value: float) -> Measured:
    return Measured(value, 0.0)


def a_fly() -> list[Part]:
    bead = usual_bead(Measured(2.8 * MM, 0.02 * MM), Metal.TUNGSTEN, Bore.SLOTTED)
    wire = ballast(Measured(8.0, 0.3), Measured(0.6 * MM, 0.05 * MM), Measured(0.3 * MM, 5e-6), Metal.LEAD)
    return [bead, typical_hook(14).part, wire, dressing(Measured(12 * MILLIGRAM, 3 * MILLIGRAM))]


@given(st.floats(5e-6, 2e-3), st.floats(1200.0, 19000.0), st.floats(274.0, 312.0))
def test_the_three_ways_agree_on_a_fly_known_exactly(mass: float, density: float, kelvin: float) -> None:
    water = Water(kelvin)
    volume = mass / density
    k = 1 - 1.2 / 8000
    dry, wet = exact((mass - 1.2 * volume) / k), exact((mass - water.density * volume) / k)
    part = Part("all", exact(mass), exact(volume))
    records = [
        weight_weighed_twice(dry, wet, water),
        weight_from_mass(dry, [part], water),
        weight_from_parts([part], water),
    ]
    assert [record.way for record in records] == list(Way)
    for record in records:
        assert record.weight.value == pytest.approx(GRAVITY * (mass - water.density * volume), rel=1e-9)
        assert record.displaced.value == pytest.approx(volume, rel=1e-7)
        assert record.mass.value == pytest.approx(mass, rel=1e-9)
        assert record.density.value == pytest.approx(density, rel=1e-7)
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

    solid = Part("all", Measured(260e-6, 1e-6), Measured(28e-9, 2e-9))
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
    assert set(FLAGS) == {"weight-uncertain", "parts-missing", "air-held", "water-soaked"}


def test_a_part_left_out_is_flagged() -> None:
    parts = a_fly()[:1]
    heavy = reading(parts[0].mass.expanded * 1.2 + parts[0].mass.value, MILLIGRAM)
    assert "parts-missing" in weight_from_mass(heavy, parts, ROOM).flags


def test_flies_that_cannot_be_are_refused() -> None:
    dry, wet = reading(200e-6, MILLIGRAM), reading(170e-6, MILLIGRAM)
    with pytest.raises(BadValueError) as told:
        weight_weighed_twice(wet, dry, ROOM)
    assert str(told.value) == (
        "fly.mass_in_water: 0.2 g is not less than the 0.17 g of the dry fly. "
        "Weigh both again: water bears part of the weight; tare the hanger in the water."
    )
    with pytest.raises(BadValueError, match="not less than"):
        weight_weighed_twice(dry, dry, ROOM)
    with pytest.raises(BadValueError, match=r"submerged weight is -0.0981 mN: it floats"):
        weight_weighed_twice(dry, Measured(-10e-6, 0.0), ROOM)
    with pytest.raises(BadValueError, match="above that of tungsten"):
        weight_weighed_twice(reading(200e-6, 1e-8), reading(195e-6, 1e-8), ROOM)
    bead = usual_bead(exact(3 * MM), Metal.TUNGSTEN, Bore.STRAIGHT)
    with pytest.raises(BadValueError, match=r"fly.mass: 0.1 g is less than its bead alone, 0\.2"):
        weight_from_mass(reading(100e-6, MILLIGRAM), [bead], ROOM)
    with pytest.raises(BadValueError, match="less than its bead alone"):
        weight_weighed_twice(reading(100e-6, MILLIGRAM), reading(90e-6, MILLIGRAM), ROOM, [bead])
    brass = [Part(f"bead {i}", exact(85e-6), exact(1e-8)) for i in (1, 2)]
    with pytest.raises(BadValueError, match=r"less than its parts together, 0.17 g"):
        weight_from_mass(reading(100e-6, MILLIGRAM), brass, ROOM)
    with pytest.raises(BadValueError, match="a density of"):
        weight_from_mass(reading(100e-6, MILLIGRAM), [Part("x", exact(1e-6), exact(1e-9))], ROOM)
    foam = Part("foam", exact(10e-6), exact(100e-9))
    with pytest.raises(BadValueError, match="it floats"):
        weight_from_parts([foam], ROOM)
    with pytest.raises(BadValueError, match="it floats"):
        weight_from_parts([typical_hook(16).part], ROOM, air=exact(500 * MM3))
    with pytest.raises(BadValueError, match="there are none"):
        weight_from_parts([], ROOM)
    with pytest.raises(BadValueError, match=r"fly.air"):
        weight_from_parts([bead], ROOM, air=exact(-1 * MM3))


def test_a_coarse_scale_warns_and_says_which_would_do() -> None:
    coarse = check_scale(10 * MILLIGRAM, 90 * MILLIGRAM)
    assert coarse.too_coarse
    assert not check_scale(coarse.needed_resolution * 0.999, 90 * MILLIGRAM).too_coarse
    dry, wet = reading(100e-6, 1e-5), reading(80e-6, 1e-5)
    assert "weight-uncertain" in weight_weighed_twice(dry, wet, ROOM).flags


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
