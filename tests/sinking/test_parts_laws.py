"""Laws the parts of a fly must obey: limits, monotony, scaling, refusals."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from flybench.errors import BadValueError
from flybench.hydraulics.water import Water
from flybench.quantity import Measured
from flybench.sinking.weight.bead import (
    LARGEST,
    SMALLEST,
    BeadSizes,
    Bore,
    Mouth,
    bead_mass,
    bead_volume,
    default_bores,
    frontal_area,
    trade_diameter,
    volume_of,
)
from flybench.sinking.weight.hook_and_ballast import (
    helix_length,
    hook_mass,
    hook_wire_length,
    usual_hook,
    wire_length,
    wire_volume,
)
from flybench.sinking.weight.parts import (
    PartMetal,
    SolidPart,
    density_of,
    metal_part,
    sized_part,
    weighed_part,
)
from flybench.sinking.weight.scale import reading

# No time limit an example: the first one loads what is loaded lazily, and machines stall.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")

ROOM = Water(293.15)
MM = 1e-3

diameters = st.floats(0.5e-3, 20e-3)
shares = st.floats(0.0, 0.98)
metals = st.sampled_from(list(PartMetal))


def exact(value: float) -> Measured:
    return Measured(value, 0.0)


@given(diameters)
def test_without_a_bore_a_bead_is_a_sphere(d: float) -> None:
    sphere = math.pi / 6 * d**3
    assert bead_volume(d, Bore.STRAIGHT, 0.0) == pytest.approx(sphere, rel=1e-12)
    assert bead_volume(d, Bore.STRAIGHT, 1e-6 * d) == pytest.approx(sphere, rel=1e-11)
    assert bead_volume(d, Bore.SLOTTED, 0.0, slot_width=0.0) == pytest.approx(sphere, rel=1e-12)
    assert bead_volume(d, Bore.COUNTERSUNK, 0.0, 0.0, 0.0) == pytest.approx(sphere, rel=1e-12)


@given(diameters, shares)
def test_a_narrow_slot_leaves_the_straight_bore(d: float, share: float) -> None:
    straight = bead_volume(d, Bore.STRAIGHT, share * d)
    assert bead_volume(d, Bore.SLOTTED, share * d, slot_width=0.0) == straight
    assert bead_volume(d, Bore.SLOTTED, share * d, slot_width=1e-9 * d) == pytest.approx(straight, rel=1e-6)


@given(diameters, shares, shares, st.floats(0.0, 0.99))
def test_a_mouth_as_narrow_as_the_bore_changes_nothing_but_the_rim(
    d: float, share: float, other: float, deep: float
) -> None:
    hole, wide = sorted((share * d, other * d))
    straight = bead_volume(d, Bore.STRAIGHT, hole)
    depth = deep * math.sqrt(d**2 - wide**2)
    assert bead_volume(d, Bore.COUNTERSUNK, hole, hole, depth) == pytest.approx(straight, rel=1e-9)
    cone = bead_volume(d, Bore.COUNTERSUNK, hole, wide, depth)
    cylinder = bead_volume(d, Bore.COUNTERSUNK, hole, wide, depth, mouth=Mouth.CYLINDER)
    slack = 1e-12 * d**3
    assert -slack <= cylinder <= cone + slack
    assert cone <= straight + slack
    assert bead_volume(d, Bore.REVERSED, hole, wide, depth) == cone


@given(diameters, shares, st.floats(0.0, 0.95), st.floats(0.001, 0.02))
def test_more_drilled_is_less_left(d: float, share: float, slot: float, more: float) -> None:
    assume((share + more) * d < d)  # a bore as wide as the bead leaves none, and is refused
    assert bead_volume(d, Bore.STRAIGHT, share * d) > bead_volume(d, Bore.STRAIGHT, (share + more) * d)
    narrow = bead_volume(d, Bore.SLOTTED, share * d, slot_width=slot * d)
    assert narrow > bead_volume(d, Bore.SLOTTED, share * d, slot_width=(slot + more) * d) > 0


@given(shares, st.floats(0.0, 0.99), st.floats(1.1, 5.0))
def test_beads_scale_with_the_cube(hole: float, slot: float, times: float) -> None:
    small = bead_volume(MM, Bore.SLOTTED, hole * MM, slot_width=slot * MM)
    large = bead_volume(times * MM, Bore.SLOTTED, hole * times * MM, slot_width=slot * times * MM)
    assert large == pytest.approx(times**3 * small, rel=1e-6)


@given(diameters, st.floats(1e-6, 0.98))
def test_the_slot_is_smooth_where_it_is_as_wide_as_the_bore(d: float, share: float) -> None:
    below, above = (
        bead_volume(d, Bore.SLOTTED, share * d, slot_width=share * d * (1 + e)) for e in (-1e-7, 1e-7)
    )
    assert below == pytest.approx(above, abs=1e-6 * d**3)


@given(st.floats(1e-9, 1e-6), metals, metals)
def test_a_heavier_metal_makes_a_heavier_bead(volume: float, one: PartMetal, other: PartMetal) -> None:
    heavy, light = sorted((one, other), key=lambda metal: -density_of(metal).value)
    assert bead_mass(exact(volume), heavy).value >= bead_mass(exact(volume), light).value
    assert metal_part("bead", exact(volume), heavy).apparent_mass(ROOM.density).value > 0


@pytest.mark.parametrize("bore", Bore)
@given(d=st.floats(1.5e-3, 8e-3))
def test_a_usual_bead_can_be_and_knows_its_doubt(bore: Bore, d: float) -> None:
    volume = volume_of(default_bores(trade_diameter(d), bore))
    assert 0.3 * math.pi / 6 * d**3 < volume.value < math.pi / 6 * d**3
    assert 0.01 < volume.standard_uncertainty / volume.value < 0.35


def test_a_beads_doubt_matches_drawn_sizes() -> None:
    # JCGM 101:2008: the first-order uncertainty against draws of the sizes.
    sizes = default_bores(Measured(3.0 * MM, 0.03 * MM), Bore.SLOTTED)
    rng = np.random.default_rng(7)
    drawn = [
        bead_volume(
            rng.normal(3.0 * MM, 0.03 * MM),
            Bore.SLOTTED,
            rng.normal(sizes.bore_diameter.value, sizes.bore_diameter.standard_uncertainty),
            slot_width=rng.normal(sizes.slot_width.value, sizes.slot_width.standard_uncertainty),
        )
        * (1 + rng.normal(0.0, sizes.shape_doubt))
        for _ in range(4000)
    ]
    volume = volume_of(sizes)
    assert np.mean(drawn) == pytest.approx(volume.value, rel=0.01)
    assert np.std(drawn) == pytest.approx(volume.standard_uncertainty, rel=0.06)


def test_exact_sizes_leave_the_doubt_of_the_shape() -> None:
    volume = volume_of(BeadSizes(Bore.STRAIGHT, exact(3 * MM), exact(1 * MM), shape_doubt=0.02))
    assert volume.standard_uncertainty == pytest.approx(0.02 * volume.value)


SIZED = "Give at least the bore, 1 mm, and less than the bead, 3 mm."


@pytest.mark.parametrize(
    ("sizes", "told"),
    [
        ((3e-3, Bore.STRAIGHT, 3e-3), "bead.bore_diameter: a bore of 3 mm does not fit in a bead of 3 mm. Give zero or more, less than the bead's diameter."),
        ((3e-3, Bore.STRAIGHT, -1e-3), "bead.bore_diameter: a bore of -1 mm does not fit in a bead of 3 mm. Give zero or more, less than the bead's diameter."),
        ((3e-3, Bore.STRAIGHT, math.nan), "bead.bore_diameter: a bore of nan mm does not fit in a bead of 3 mm. Give zero or more, less than the bead's diameter."),
        ((3.0, Bore.STRAIGHT, 1e-3), "bead.diameter: 3000 is outside 0.5 to 20 mm. Give the diameter of a bead."),
        ((math.nan, Bore.STRAIGHT, 1e-3), "bead.diameter: nan is outside 0.5 to 20 mm. Give the diameter of a bead."),
        ((3e-3, Bore.SLOTTED, 1e-3), "bead.slot_width: a slotted bead needs this size. Measure it, or leave out all sizes but the diameter."),
        ((3e-3, Bore.SLOTTED, 1e-3, None, None, 3e-3), "bead.slot_width: a slot of 3 mm does not fit in a bead of 3 mm. Give zero or more, less than the bead's diameter."),
        ((3e-3, Bore.COUNTERSUNK, 1e-3, 2e-3), "bead.mouth_depth: a countersunk bead needs this size. Measure it, or leave out all sizes but the diameter."),
        ((3e-3, Bore.COUNTERSUNK, 1e-3, 0.9e-3, 1e-3), f"bead.mouth_diameter: a mouth of 0.9 mm is not between the bore and the bead. {SIZED}"),
        ((3e-3, Bore.COUNTERSUNK, 1e-3, 3e-3, 1e-3), f"bead.mouth_diameter: a mouth of 3 mm is not between the bore and the bead. {SIZED}"),
        ((3e-3, Bore.REVERSED, 1e-3, 2e-3, 2.6e-3), "bead.mouth_depth: a mouth 2.6 mm deep does not fit in the bead. Give 0 to 2.532 mm, from the rim inwards."),
        ((3e-3, Bore.STRAIGHT, 1e-3, 2e-3, 1e-3), "bead.mouth_diameter: a straight bead has no such size. Leave it out, or name another bore."),
        ((3e-3, Bore.STRAIGHT, 1e-3, None, None, 1e-3), "bead.slot_width: a straight bead has no such size. Leave it out, or name another bore."),
    ],
)  # fmt: skip
def test_impossible_beads_are_refused(sizes: tuple[object, ...], told: str) -> None:
    with pytest.raises(BadValueError) as caught:
        bead_volume(*sizes)  # type: ignore[arg-type]
    assert str(caught.value) == told


def test_a_counterbore_through_the_side_is_refused() -> None:
    deepest = math.sqrt(9.0 - 4.0) * MM
    assert bead_volume(3 * MM, Bore.COUNTERSUNK, 1 * MM, 2 * MM, deepest, mouth=Mouth.CYLINDER) > 0
    with pytest.raises(BadValueError) as caught:
        bead_volume(3 * MM, Bore.COUNTERSUNK, 1 * MM, 2 * MM, 1.001 * deepest, mouth=Mouth.CYLINDER)
    assert str(caught.value) == (
        "bead.mouth_depth: a mouth 2.238 mm deep does not fit in the bead. Give 0 to 2.236 mm, from the rim inwards."
    )


def test_a_mouth_no_wider_than_its_bore_and_a_bore_of_nothing_are_beads() -> None:
    """The ends of the ranges are taken: pi/6 d^3 for no bore, the ring (MathWorld, "Spherical Ring") for no mouth."""
    ring = math.pi / 6 * (9.0 - 1.0) ** 1.5
    assert bead_volume(3 * MM, Bore.COUNTERSUNK, 1 * MM, 1 * MM, 0.0) / MM**3 == pytest.approx(ring)
    assert bead_volume(3 * MM, Bore.SLOTTED, 1 * MM, slot_width=0.0) / MM**3 == pytest.approx(ring)


@pytest.mark.parametrize("size", [SMALLEST, LARGEST])
def test_beads_from_half_a_millimetre_to_twenty_are_taken(size: float) -> None:
    assert frontal_area(size) == pytest.approx(math.pi / 4 * size**2)
    for outside in (0.999 * SMALLEST, 1.001 * LARGEST):
        with pytest.raises(BadValueError):
            frontal_area(outside)


@pytest.mark.parametrize(
    ("refused", "told"),
    [
        (lambda: default_bores(exact(9 * MM), Bore.STRAIGHT), "bead.diameter: the usual bore of a bead of 9 mm is not known. Give a bead of 1.5 to 8 mm, or measure its bore."),
        (lambda: default_bores(exact(1.4 * MM), Bore.STRAIGHT), "bead.diameter: the usual bore of a bead of 1.4 mm is not known. Give a bead of 1.5 to 8 mm, or measure its bore."),
        (lambda: usual_hook(13), "hook.size: the usual hook of size 13 is not known. Name one of 6, 8, 10, 12, 14, 16, 18, 20, 22, or weigh the hook."),
        (lambda: wire_length(5, 1 * MM, 0.2 * MM, 0.1 * MM), "wire.pitch: turns 0.1 mm apart overlap: the wire is 0.2 mm thick. Give at least the wire's diameter, or count two layers."),
        (lambda: wire_volume(5, 1 * MM, 0.2), "wire.diameter: 200 is outside 0.02 to 3 mm. Measure the wire again."),
        (lambda: wire_volume(5, 21 * MM, 0.2 * MM), "wire.core: 21 is outside 0 to 20 mm. Measure what lies beneath the wire."),
        (lambda: hook_wire_length(0.0, 4 * MM, 0.5 * MM), "hook.shank: 0 is outside 0.01 to 200 mm. Measure the hook again."),
        (lambda: hook_mass(exact(0.5), exact(20 * MM)), "hook.wire_diameter: 500 is outside 0.1 to 3 mm. Measure the hook's wire again."),
        (lambda: hook_mass(exact(0.5 * MM), exact(600 * MM)), "hook.wire_length: 600 is outside 0.5 to 500 mm. Measure the hook again."),
        (lambda: frontal_area(0.0), "bead.diameter: 0 is outside 0.5 to 20 mm. Give the diameter of a bead."),
        (lambda: reading(1e-3, 0.0), "scale.resolution: 0 mg cannot be the step of a scale's last digit. Give a step above zero, such as 1 mg."),
        (lambda: reading(1e-3, math.inf), "scale.resolution: inf mg cannot be the step of a scale's last digit. Give a step above zero, such as 1 mg."),
        (lambda: reading(1e-3, 1e-6, -1e-6), "scale.repeatability: -1 mg cannot be a standard deviation. Give zero or more, such as 0.5 mg."),
        (lambda: reading(1e-3, 1e-6, math.inf), "scale.repeatability: inf mg cannot be a standard deviation. Give zero or more, such as 0.5 mg."),
        (lambda: weighed_part("bead", exact(1e-4), exact(0.0)), "bead: a density of 0 kg/m3 cannot be. Give a density above zero."),
        (lambda: SolidPart("x", exact(-1e-3), exact(1.0)), "x: the mass of a part cannot be -1 g. Give a finite value, zero or more."),
        (lambda: SolidPart("x", exact(0.0), exact(-1e-9)), "x: the volume of a part cannot be -1 mm3. Give a finite value, zero or more."),
        (lambda: SolidPart("x", exact(0.0), exact(math.inf)), "x: the volume of a part cannot be inf mm3. Give a finite value, zero or more."),
        (lambda: SolidPart("x", exact(0.0), exact(0.0), 1.1), "x: a correlation of 1.1 cannot be. Give a value from -1 to 1."),
        (lambda: SolidPart("x", exact(0.0), exact(0.0), -1.1), "x: a correlation of -1.1 cannot be. Give a value from -1 to 1."),
    ],
)  # fmt: skip
def test_other_sizes_out_of_range_are_refused(refused: Callable[[], object], told: str) -> None:
    with pytest.raises(BadValueError) as caught:
        refused()
    assert str(caught.value) == told


@pytest.mark.parametrize(
    ("turns", "mean", "pitch", "told"),
    [
        (-1.0, 1e-3, 0.0, "turns: -1 is below 0. Give zero or more."),
        (1.0, -1e-3, 0.0, "mean diameter: -1 is below 0 mm. Give zero or more."),
        (1.0, 1e-3, -1e-3, "pitch: -1 is below 0 mm. Give zero or more."),
    ],
)
def test_a_helix_of_less_than_nothing_is_refused(turns: float, mean: float, pitch: float, told: str) -> None:
    with pytest.raises(BadValueError) as caught:
        helix_length(turns, mean, pitch)
    assert str(caught.value) == told


def test_smaller_hooks_are_lighter_and_all_have_wide_doubts() -> None:
    hooks = [usual_hook(size) for size in range(6, 23, 2)]
    masses = [hook.mass.value for hook in hooks]
    assert masses == sorted(masses, reverse=True)
    assert all(hook.mass.standard_uncertainty > 0.2 * hook.mass.value for hook in hooks)
    assert all(hook.part.mass == hook.mass for hook in hooks)


@given(st.floats(1e-3, 30e-3), st.floats(1e-3, 15e-3), st.floats(0.1e-3, 1.5e-3))
def test_a_hook_is_longer_than_its_shank_and_bend(shank: float, gape: float, wire: float) -> None:
    length = hook_wire_length(shank, gape, wire)
    assert length > shank + math.pi / 2 * gape
    assert hook_wire_length(shank + MM, gape, wire) == pytest.approx(length + MM)


@given(st.floats(0.1, 60.0), st.floats(0.2e-3, 3e-3), st.floats(0.1e-3, 1e-3))
def test_turns_add_up_and_open_turns_take_more_wire(turns: float, core: float, wire: float) -> None:
    length = wire_length(turns, core, wire)
    assert wire_length(2 * turns, core, wire) == pytest.approx(2 * length)
    assert wire_length(turns, core, wire, 3 * wire) > length > turns * math.pi * (core + wire)
    assert wire_volume(turns, core, wire) == pytest.approx(math.pi / 4 * wire**2 * length)


@given(st.floats(1e-9, 1e-7), st.floats(1e-12, 1e-8), st.floats(1100.0, 19300.0), st.floats(0.0, 500.0))
def test_a_sized_parts_doubt_in_water_is_that_of_volume_and_excess_density(
    volume: float, u_volume: float, density: float, u_density: float
) -> None:
    part = sized_part("bead", Measured(volume, u_volume), Measured(density, u_density))
    left = part.apparent_mass(1000.0)
    assert left.value == pytest.approx(volume * (density - 1000.0))
    doubt = math.hypot((density - 1000.0) * u_volume, volume * u_density)
    assert left.standard_uncertainty == pytest.approx(doubt, rel=1e-5)


@given(st.floats(1e-6, 1e-3), st.floats(1e-9, 1e-4), st.floats(1100.0, 19300.0), st.floats(0.0, 500.0))
def test_a_weighed_parts_doubt_in_water_is_that_of_mass_and_density(
    mass: float, u_mass: float, density: float, u_density: float
) -> None:
    part = weighed_part("bead", Measured(mass, u_mass), Measured(density, u_density))
    left = part.apparent_mass(1000.0)
    assert left.value == pytest.approx(mass * (1 - 1000.0 / density))
    doubt = math.hypot((1 - 1000.0 / density) * u_mass, mass * 1000.0 / density**2 * u_density)
    assert left.standard_uncertainty == pytest.approx(doubt, rel=1e-5)
