"""Bead, wire, densities and weighing against handbooks, tables and worked examples."""

import math

import numpy as np
import pytest
from rows import Row, rows
from scipy.integrate import quad

from flybench.quantity import Measured
from flybench.sinking.weight.bead import Bore, Mouth, bead_mass, bead_volume, frontal_area
from flybench.sinking.weight.hook_and_ballast import helix_length, wire_volume
from flybench.sinking.weight.parts import PartMetal, density_of, source_of
from flybench.sinking.weight.scale import check_scale, hydrostatic, reading, true_mass

MM, MM3 = 1e-3, 1e-9


@pytest.mark.parametrize("row", rows("parts.csv", "drilled sphere"), ids=str)
def test_a_drilled_sphere_has_the_volume_of_the_ring(row: Row) -> None:
    row.check(bead_volume(row["d"] * MM, Bore.STRAIGHT, row["bore"] * MM) / MM3)


@pytest.mark.parametrize("row", rows("parts.csv", "density"), ids=str)
def test_densities_are_those_of_the_tables(row: Row) -> None:
    row.check(density_of(PartMetal(row.text("metal"))).value)


@pytest.mark.parametrize("row", rows("parts.csv", "density near"), ids=str)
def test_other_tables_lie_within_the_stated_uncertainty(row: Row) -> None:
    ours = density_of(PartMetal(row.text("metal")))
    assert abs(ours.value - row.value) <= ours.expanded, f"{row}: {ours} is not {row.printed}"


def test_tungsten_carries_the_spread_of_all_alloy_classes() -> None:
    # ASTM B777-15, table 1: 16850 to 18850, a rectangle (JCGM 100:2008, 4.3.7).
    tungsten = density_of(PartMetal.TUNGSTEN)
    assert tungsten.value == (16850 + 18850) / 2
    assert tungsten.standard_uncertainty == pytest.approx(1000 / math.sqrt(3), abs=0.5)


@pytest.mark.parametrize("metal", PartMetal)
def test_every_density_says_where_it_comes_from(metal: PartMetal) -> None:
    assert len(source_of(metal)) > 10
    assert metal.value == metal.value.lower()
    assert 0 < density_of(metal).standard_uncertainty < 0.05 * density_of(metal).value


@pytest.mark.parametrize("row", rows("parts.csv", "balls per kg"), ids=str)
def test_steel_balls_weigh_what_their_makers_say(row: Row) -> None:
    volume = bead_volume(row["d"] * MM, Bore.STRAIGHT, 0.0)
    row.check(1 / bead_mass(Measured(volume, 0.0), PartMetal.STEEL).value)


def weighed(row: Row) -> tuple[Measured, Measured, Measured]:
    dry, wet = (Measured(row[name] / 1e3, 0.0) for name in ("dry", "wet"))
    return hydrostatic(dry, wet, row["water"], row["air"])


@pytest.mark.parametrize("row", rows("parts.csv", "hydrostatic volume"), ids=str)
def test_hydrostatic_weighing_gives_the_volume(row: Row) -> None:
    row.check(weighed(row)[1].value * 1e6)


@pytest.mark.parametrize("row", rows("parts.csv", "hydrostatic density"), ids=str)
def test_hydrostatic_weighing_gives_the_density(row: Row) -> None:
    row.check(weighed(row)[2].value / 1e3)


@pytest.mark.parametrize("row", rows("parts.csv", "buoyancy in air"), ids=str)
def test_air_buoyancy_is_put_back(row: Row) -> None:
    volume = Measured(row.value / 1e3 / row["density"], 0.0)
    row.check(true_mass(Measured(row["shown"] / 1e3, 0.0), volume).value * 1e3)


def test_air_enters_the_density_as_the_kits_manuals_say() -> None:
    # Operating instructions of a density kit: W(a) [rho(fl) - rho(a)] / [W(a) - W(fl)] + rho(a).
    dry, wet, water, air = 0.2140, 0.1893, 0.99821, 0.0012
    mass, volume, density = hydrostatic(Measured(dry / 1e3, 0), Measured(wet / 1e3, 0), water * 1e3)
    assert density.value / 1e3 == pytest.approx(dry * (water - air) / (dry - wet) + air, rel=1e-12)
    assert mass.value / volume.value == pytest.approx(density.value, rel=1e-12)


@pytest.mark.parametrize("row", rows("parts.csv", "helix"), ids=str)
def test_a_helix_is_as_long_as_its_unrolled_line(row: Row) -> None:
    row.check(helix_length(row["turns"], row["d"] * MM, row["pitch"] * MM) / MM)


def test_a_helix_is_as_long_as_a_fine_chain_of_its_points() -> None:
    turn = np.linspace(0.0, 2 * np.pi * 7.25, 200_001)
    points = np.stack([0.8e-3 * np.cos(turn), 0.8e-3 * np.sin(turn), 0.5e-3 * turn / (2 * np.pi)])
    chain = float(np.linalg.norm(np.diff(points), axis=0).sum())
    assert helix_length(7.25, 1.6e-3, 0.5e-3) == pytest.approx(chain, rel=1e-7)


def test_touching_rings_have_the_volume_of_a_torus() -> None:
    # Torus: pi^2 D d^2 / 4 (any handbook); a turn's advance adds little to each.
    torus = math.pi**2 * 1.2e-3 * 0.2e-3**2 / 4
    assert wire_volume(10, 1.0e-3, 0.2e-3) == pytest.approx(10 * torus, rel=2e-3)
    assert wire_volume(10, 1.0e-3, 0.2e-3) > 10 * torus


def frustum(d: float, low: float, height: float) -> float:
    """Cone frustum, pi h (D^2 + D d + d^2) / 12: any handbook."""
    return math.pi * height * (d**2 + d * low + low**2) / 12


def cap(d: float, base: float) -> float:
    """Segment of a sphere, pi h^2 (r - h/3), on a base: any handbook."""
    height = d / 2 - math.sqrt(d**2 - base**2) / 2
    return math.pi * height**2 * (d / 2 - height / 3)


@pytest.mark.parametrize("bore", [Bore.COUNTERSUNK, Bore.REVERSED])
@pytest.mark.parametrize(("mouth", "low"), [(Mouth.CONE, 1.0), (Mouth.CYLINDER, 1.7)])
def test_a_countersunk_bead_is_what_its_handbook_solids_leave(bore: Bore, mouth: Mouth, low: float) -> None:
    d, hole, wide, deep = 3.0, 1.0, 1.7, 1.1
    sphere = math.pi / 6 * d**3
    rest = math.sqrt(d**2 - hole**2) / 2 + math.sqrt(d**2 - wide**2) / 2 - deep
    bored = math.pi / 4 * hole**2 * rest
    left = sphere - cap(d, hole) - cap(d, wide) - bored - frustum(wide, low, deep)
    ours = bead_volume(d * MM, bore, hole * MM, wide * MM, deep * MM, mouth=mouth)
    assert ours / MM3 == pytest.approx(left, rel=1e-12)


SLOTS = [
    (3.0, 1.0, 0.8),
    (3.0, 1.0, 1.0),
    (3.0, 0.9, 1.6),
    (2.0, 0.4, 0.05),
    (4.0, 1.2, 3.5),
    (2.4, 0.0, 0.7),
]


@pytest.mark.parametrize(("d", "hole", "slot"), SLOTS)
def test_a_slot_takes_what_integrating_rings_says(d: float, hole: float, slot: float) -> None:
    def ring(r: float) -> float:
        reach = math.pi if 2 * r <= slot else 2 * math.asin(slot / (2 * r))
        return 2 * math.sqrt(d**2 / 4 - r**2) * reach * r

    kink = min(max(slot, hole), d) / 2
    taken = quad(ring, hole / 2, kink)[0] + quad(ring, kink, d / 2, epsabs=1e-12, epsrel=1e-10, limit=400)[0]
    bored = math.pi / 6 * (d**2 - hole**2) ** 1.5
    ours = bead_volume(d * MM, Bore.SLOTTED, hole * MM, slot_width=slot * MM)
    assert ours / MM3 == pytest.approx(bored - taken, rel=1e-6)


def counted(d: float, solid: object, cells: int = 150) -> float:
    """Volume by counting small cubes whose middle is in the solid [mm3]; 0.02 mm, so flat cuts meet faces."""
    middles = (np.arange(cells) + 0.5) / cells * d - d / 2
    x, y, z = np.meshgrid(middles, middles, middles, sparse=True)
    inside = (x**2 + y**2 + z**2 < d**2 / 4) & solid(x, y, z)  # type: ignore[operator]
    return float(inside.sum()) * (d / cells) ** 3


@pytest.mark.parametrize(("hole", "slot"), [(1.0, 0.8), (0.9, 1.6)])
def test_a_slotted_bead_fills_as_many_small_cubes(hole: float, slot: float) -> None:
    def solid(x: np.ndarray, y: np.ndarray, _: np.ndarray) -> np.ndarray:
        return (x**2 + y**2 > hole**2 / 4) & ~((x > 0) & (abs(y) < slot / 2))

    ours = bead_volume(3.0 * MM, Bore.SLOTTED, hole * MM, slot_width=slot * MM)
    assert ours / MM3 == pytest.approx(counted(3.0, solid), rel=3e-3)


@pytest.mark.parametrize("mouth", Mouth)
def test_a_countersunk_bead_fills_as_many_small_cubes(mouth: Mouth) -> None:
    rim = math.sqrt(9.0 - 1.7**2) / 2

    def solid(x: np.ndarray, y: np.ndarray, z: np.ndarray) -> np.ndarray:
        share = np.clip((z - rim + 1.1) / 1.1, 0.0, 1.0)
        widening = share if mouth is Mouth.CONE else np.sign(share)
        hollow = 0.5 + 0.35 * widening
        return (x**2 + y**2 > hollow**2) & (z < rim)

    ours = bead_volume(3.0 * MM, Bore.COUNTERSUNK, 1.0 * MM, 1.7 * MM, 1.1 * MM, mouth=mouth)
    assert ours / MM3 == pytest.approx(counted(3.0, solid), rel=3e-3)


def test_a_bead_shows_the_area_of_its_circle() -> None:
    assert frontal_area(2.0 * MM) == pytest.approx(math.pi * MM**2, rel=1e-15)


def test_a_scales_step_counts_as_a_rectangle() -> None:
    # JCGM 100:2008, F.2.2.1: u = 0.29 of the step.
    assert reading(1e-3, 1e-5).standard_uncertainty == pytest.approx(0.29e-5, abs=0.005e-5)
    assert check_scale(1e-5, 1e-4).relative_uncertainty == pytest.approx(0.029, abs=5e-4)
