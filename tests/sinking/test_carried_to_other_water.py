"""A measured speed carried to other water, against Newton's balance solved by other people's code.

The drag coefficient of a sphere is Haider and Levenspiel's as coded in the registry library fluids, that of wires and
fibres White's (1 + 10 Re^(-2/3), from memory), the root is scipy's; water comes from the product, whose density and
viscosity are checked in tests/published. The flies are invented.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import fluids
import numpy as np
import pytest
from scipy.optimize import brentq

from flybench.errors import BadValueError
from flybench.hydraulics.water import Water
from flybench.quantity import Measured
from flybench.sinking.drag.published_bodies import mean_slope
from flybench.sinking.drag.tied_fly import Build, MeasuredFly
from flybench.sinking.model.other_water import SpeedInOtherWater, speed_in_other_water
from flybench.sinking.model.viscosity import ViscosityLaw
from flybench.sinking.weight.parts import PartMetal, density_of, metal_part
from flybench.sinking.weight.ways import weight_from_parts

BEAD = 3e-3
BUILD = Build("v", "p", "dubbed", BEAD, 4e-3, 6e-3, 0.0, 5e-6, False)
FLY = MeasuredFly("f", BUILD, None, 0.3, 3e-7, 4e-7, 291.15, 0.0, 1, 5)
"""A fly of unknown weight, its speed known to a millionth, on a bead of 3 mm."""
UNTAUGHT = ViscosityLaw(())
"""What is known of d before any fly was dropped in two waters."""


THICKNESSES = (0.2, 0.1, 0.02, 0.01)
"""Of hook wire, ribbing, stems and fibres over the bead's diameter [-] (common practice, no source)."""


def mean_body(reynolds: float) -> float:
    """Return ln of the geometric mean of the coefficients of a sphere, four cylinders and a blunt body [-]."""
    ball = float(fluids.drag_sphere(reynolds, Method="Haider_Levenspiel"))
    across = [1 + 10 * (reynolds * share) ** (-2 / 3) for share in THICKNESSES]
    return float(np.sum(np.log([ball, *across]))) / 6


@cache
def change(kelvin: float, salinity: float, steeper: float, weight_ratio: float, bent: float = 0.1) -> float:
    """Return the speed there over the speed here, by Newton's balance with the drag of the mean body, Re^-d and v^-b."""
    here, there = FLY.water, Water(kelvin, salinity)
    reynolds = FLY.speed * BEAD / here.kinematic_viscosity

    def excess(speed: float) -> float:
        now = speed * BEAD / there.kinematic_viscosity
        more = mean_body(now) - mean_body(reynolds) - steeper * np.log(now / reynolds)
        drag = there.density * speed**2 * np.exp(more) * (speed / FLY.speed) ** -bent
        return float(drag - weight_ratio * here.density * FLY.speed**2)

    return float(brentq(excess, 0.01, 2.0)) / FLY.speed


def test_in_its_own_water_nothing_changes_and_both_doubts_stay() -> None:
    """By hand: own 0.006 and shared 0.008 m/s make 0.010 m/s; a lognormal of 3 % has the same standard deviation."""
    found = speed_in_other_water(UNTAUGHT, replace(FLY, own=0.006, shared=0.008), Water(291.15))
    assert found.change == pytest.approx(1.0, rel=1e-6)
    assert found.change_uncertainty < 1e-6
    assert found.speed == pytest.approx(0.3, rel=2e-3)
    assert found.uncertainty == pytest.approx(0.010, rel=0.05)
    shared = speed_in_other_water(UNTAUGHT, replace(FLY, own=1e-9, shared=0.009), Water(291.15))
    assert shared.uncertainty == pytest.approx(0.009, rel=0.05)


@pytest.mark.parametrize("kelvin", [274.15, 283.15, 303.15])
def test_cold_and_warm_water_by_newtons_balance(kelvin: float) -> None:
    """d and b drawn here anew; the density of the fly hardly matters between two fresh waters.

    Deviation of d by hand: 0.17, and the middle squares of 0.03, 0.08, 0.16 twice, of 0.03, 0.06, 0.12, and of 0.04.
    """
    square = (
        0.17**2
        + 2 * np.mean(np.square([0.03, 0.08, 0.16]))
        + np.mean(np.square([0.03, 0.06, 0.12]))
        + 0.04**2
    )
    random = np.random.default_rng(5)
    drawn = random.normal(0, np.sqrt(square), 300), np.clip(random.normal(0.1, 0.1, 300), 0, 0.4)
    changes = [change(kelvin, 0.0, d, 1.0, b) for d, b in np.round(np.transpose(drawn), 3).tolist()]
    found = speed_in_other_water(UNTAUGHT, FLY, Water(kelvin))
    assert found.change - 1 == pytest.approx(change(kelvin, 0.0, 0.0, 1.0) - 1, rel=0.12, abs=2e-3)
    assert found.change_uncertainty == pytest.approx(np.std(changes), rel=0.15)
    assert found.speed == pytest.approx(0.3 * found.change, rel=1e-4)
    assert found.density_assumed


def test_salt_water_bears_a_light_fly_more() -> None:
    """Archimedes: of a fly of 8500 kg/m3 the weight in the sea is (8500 - rho') / (8500 - rho) of that in fresh water."""
    part = metal_part("bead", Measured(1.4e-8, 0.0), PartMetal.BRASS)
    brass = weight_from_parts([part], FLY.water)
    sea, solid = Water(291.15, 0.035), part.mass.value / part.volume.value
    ratio = (solid - sea.density) / (solid - FLY.water.density)
    found = speed_in_other_water(UNTAUGHT, replace(FLY, weight=brass), sea)
    assert found.change == pytest.approx(change(291.15, 0.035, 0.0, ratio), rel=2e-3)
    assert not found.density_assumed
    assumed = speed_in_other_water(UNTAUGHT, FLY, sea)
    lighter = (4000 - sea.density) / (4000 - FLY.water.density)
    assert assumed.change == pytest.approx(change(291.15, 0.035, 0.0, lighter), rel=2e-3)
    assert assumed.change < found.change
    known = replace(FLY, weight=brass)
    sure, unsure = (speed_in_other_water(BLUNT, fly, sea).change_uncertainty for fly in (known, FLY))
    assert unsure > sure


@pytest.mark.parametrize(("heavy", "roomy"), [(0.2, 0.0), (0.0, 0.2), (0.15, 0.2), (0.0, 0.0)])
def test_the_doubt_of_a_weight_and_of_a_volume_goes_into_the_step_to_the_sea(
    heavy: float, roomy: float
) -> None:
    """A light body of 1100 kg/m3 in fresh water: balances with the ratio of weights a deviation up and down, by hand."""
    volume, excess = 2e-8, 1100.0 - FLY.water.density
    part = metal_part("bead", Measured(1.4e-8, 0.0), PartMetal.BRASS)
    light = replace(
        weight_from_parts([part], FLY.water),
        weight=Measured(9.80665 * volume * excess, 9.80665 * volume * excess * heavy),
        displaced=Measured(volume, volume * roomy),
    )
    lost = (SEA.density - FLY.water.density) / excess  # a quarter
    off = lost * (heavy**2 + roomy**2) ** 0.5
    up, down = (change(291.15, 0.035, 0.0, 1 - lost + sign * off) for sign in (1, -1))
    told, sure = (
        speed_in_other_water(SURE, replace(FLY, weight=weight), SEA).change_uncertainty
        for weight in (
            light,
            replace(light, weight=Measured(light.weight.value, 0.0), displaced=Measured(volume, 0.0)),
        )
    )
    assert (told**2 - sure**2) ** 0.5 == pytest.approx((up - down) / 2, rel=0.1, abs=1e-9)


@dataclass(frozen=True)
class KnownLaw(ViscosityLaw):
    """A shop that knows for certain how much steeper than the mean body a fly's drag falls."""

    d: float = 0.0

    def of(self, fly: str, build: Build) -> tuple[float, float]:
        """Return d without doubt."""
        return self.d, 0.0


@pytest.mark.parametrize("d", [-0.2, 0.0, 0.3])
def test_a_shop_says_how_drag_goes_with_the_water(d: float) -> None:
    found = speed_in_other_water(KnownLaw((), d), FLY, Water(276.15))
    assert found.change - 1 == pytest.approx(change(276.15, 0.0, d, 1.0) - 1, rel=0.07, abs=2e-3)
    assert found.change_uncertainty < 0.02


def test_a_doubt_of_d_is_carried() -> None:
    """To first order: the deviation by hand (as above) times how far the balance moves with d."""
    found = speed_in_other_water(UNTAUGHT, FLY, Water(276.15)).change_uncertainty
    slope = abs(change(276.15, 0.0, 0.01, 1.0) - change(276.15, 0.0, -0.01, 1.0)) / 0.02
    assert found == pytest.approx(0.242 * slope, rel=0.15)


SEA = Water(291.15, 0.035)
SURE = KnownLaw((), 0.0)
"""A shop whose flies are as the mean body, which is known."""
BLUNT = KnownLaw((), -float(mean_slope(np.array(FLY.speed * BEAD / FLY.water.kinematic_viscosity))))
"""A shop whose flies have one drag area in all waters: d takes away what the mean body has."""


def into_the_sea() -> tuple[float, float]:
    """Return median and standard deviation of the speed in the sea over that in fresh water, of a blunt fly.

    Archimedes and Newton: v'/v = (rho / rho' (1 - (rho' - rho) / (density - rho)))^(1 / (2 - b)), the density lognormal
    by 0.4 about 4000 kg/m3, at least 200 above the water's, b 0.1 give or take 0.1 within 0 and 0.4: summed on an even
    grid of both normal laws.
    """
    rho, normal = FLY.water.density, np.linspace(-8, 8, 1601)
    excess = np.maximum(4000 * np.exp(0.4 * normal) - rho, 200.0)
    power = 1 / (2 - np.clip(0.1 + 0.1 * normal[:, None], 0.0, 0.4))
    ratio = (rho / SEA.density * (1 - (SEA.density - rho) / excess)) ** power
    each = np.exp(-(normal**2) / 2) / np.exp(-(normal**2) / 2).sum()
    weight = np.outer(each, each)
    mean, order = np.sum(weight * ratio), np.argsort(ratio, axis=None)
    half = np.searchsorted(np.cumsum(weight.ravel()[order]), 0.5)
    return float(ratio.ravel()[order[half]]), float(np.sqrt(np.sum(weight * (ratio - mean) ** 2)))


def test_an_unknown_density_is_four_give_or_take_two_fifths() -> None:
    middle, doubt = into_the_sea()
    found = speed_in_other_water(BLUNT, FLY, SEA)
    assert found.change == pytest.approx(middle, rel=3e-4)
    assert found.change_uncertainty == pytest.approx(doubt, rel=0.06)


def test_doubts_of_speed_and_density_are_independent() -> None:
    """Each by itself is 0.2 % or so: as squares they make root two of it; together they would make twice it or none."""
    middle, doubt = into_the_sea()
    found = speed_in_other_water(BLUNT, replace(FLY, own=FLY.speed * doubt / middle), SEA)
    assert found.uncertainty == pytest.approx(np.sqrt(2) * FLY.speed * doubt, rel=0.06)


def test_back_and_forth_is_where_it_began() -> None:
    cold = speed_in_other_water(UNTAUGHT, FLY, Water(276.15))
    back = speed_in_other_water(UNTAUGHT, replace(FLY, speed=cold.speed, temperature=276.15), Water(291.15))
    assert back.speed == pytest.approx(FLY.speed, rel=2e-3)


def test_the_reynolds_number_is_that_there() -> None:
    found = speed_in_other_water(UNTAUGHT, FLY, Water(274.15))
    assert found.reynolds == pytest.approx(found.speed * BEAD / Water(274.15).kinematic_viscosity, rel=1e-9)


@pytest.mark.parametrize(
    ("reynolds", "beyond"), [(29.9, True), (30.0, False), (4000.0, False), (4000.1, True)]
)
def test_the_range_of_the_law_includes_its_ends(reynolds: float, beyond: bool) -> None:
    assert SpeedInOtherWater(FLY, 0.3, 0.01, 1.0, 0.01, reynolds, True).out_of_range is beyond


@pytest.mark.parametrize("kelvin", [273.15, 303.15, (86 - 32) / 1.8 + 273.15 + 4e-7])
def test_rivers_from_ice_to_thirty_degrees(kelvin: float) -> None:
    """86 degF are 30 degC; what is beyond it by less than a millionth of a degree is rounding."""
    assert speed_in_other_water(UNTAUGHT, FLY, Water(kelvin)).speed > 0


def test_water_warmer_than_a_river_is_refused() -> None:
    with pytest.raises(BadValueError) as caught:
        speed_in_other_water(UNTAUGHT, FLY, Water(303.25))
    assert str(caught.value) == (
        "temperature: 30.1 is outside 0 to 30 degC. Give the temperature of a river."
    )


@pytest.mark.parametrize("metal", [PartMetal.TUNGSTEN, PartMetal.BRASS])
def test_a_lump_of_metal_is_as_dense_as_the_metal_however_vague_its_size(metal: PartMetal) -> None:
    """Mass and volume of one part go together, so that their ratio is the metal's density with the metal's doubt."""
    lump = metal_part("bead", Measured(1e-8, 0.08e-8), metal)
    found = weight_from_parts([lump], Water(291.15)).density
    expected = density_of(metal)
    assert found.value == pytest.approx(expected.value)
    assert found.standard_uncertainty == pytest.approx(expected.standard_uncertainty, rel=1e-6)
