"""The submerged weight of a fly, by whichever of three ways its maker can manage."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum

from flybench.errors import BadValueError
from flybench.flag import Flag, Weight
from flybench.hydraulics.sphere import GRAVITY
from flybench.hydraulics.water import Water
from flybench.quantity import Measured
from flybench.sinking.weight.parts import Part, total
from flybench.sinking.weight.scale import AIR_DENSITY, COARSEST, COUNTERWEIGHT_DENSITY, true_mass

NOTHING = Measured(0.0, 0.0)
"""No air and no water [m3]."""
_HEAVIEST = 19400.0
_SURE = 2.0
_ROUNDING = 1e-9
_IN_AIR = 1 - AIR_DENSITY / COUNTERWEIGHT_DENSITY

FLAGS: dict[str, Flag] = {
    "weight-uncertain": Flag(
        Weight.DOUBT,
        "The standard uncertainty of the weight in water is above 3 %.",
        "Weigh on a finer scale, or weigh several like flies together.",
    ),
    "parts-missing": Flag(
        Weight.DOUBT,
        "The fly weighs more than its parts together, so a part was left out of the list: the volume is too small and "
        "the weight too great.",
        "Name the part that was left out.",
    ),
    "air-held": Flag(
        Weight.DOUBT,
        "Air held in the dressing takes weight away, and goes when the dressing is wetted through: the weight holds for "
        "this much air only.",
        "Soak the fly, squeeze it under water and weigh it again.",
    ),
    "water-soaked": Flag(
        Weight.NOTE,
        "Water soaked up by the dressing is counted in the moving mass only: it adds inertia, no weight.",
        "Nothing needed.",
    ),
}
"""What each flag of a record means, and what to do about it."""


class Way(Enum):
    """How a submerged weight was come by."""

    WEIGHED_TWICE = "weighed-twice"
    WEIGHED_AND_VOLUME = "weighed-and-volume"
    FROM_PARTS = "from-parts"


@dataclass(frozen=True)
class SubmergedWeight:
    """Weight less buoyancy, fully under water, and what it stands on.

    weight [N]; displaced, the volume of solids and held air [m3]; mass, dry [kg]; moving_mass, with the water
    soaked up [kg], added mass not included; density, mass over displaced volume [kg/m3], to first order
    only, so a poor guide where the volume is hardly resolved; water_density [kg/m3]; flags, keys of ``FLAGS``.
    """

    way: Way
    weight: Measured
    displaced: Measured
    mass: Measured
    moving_mass: Measured
    density: Measured
    water_density: float
    flags: tuple[str, ...] = ()

    @property
    def relative_uncertainty(self) -> float:
        """Standard uncertainty of the weight over the weight."""
        return self.weight.standard_uncertainty / self.weight.value

    def in_water(self, water: Water) -> SubmergedWeight:
        """Return the weight in other water: W - (rho' - rho) V g.

        The doubt of the volume counts once more for the change, as if apart from the weight's own: at most one part
        in twenty of it from fresh to salt water. Raises BadValueError where it floats there.
        """
        change = (water.density - self.water_density) * GRAVITY
        weight = Measured(
            self.weight.value - change * self.displaced.value,
            math.hypot(self.weight.standard_uncertainty, change * self.displaced.standard_uncertainty),
        )
        _refuse_floating(weight.value / GRAVITY)
        uncertain = weight.standard_uncertainty > COARSEST * weight.value
        flags = tuple(flag for flag in self.flags if flag != "weight-uncertain")
        flags = ("weight-uncertain", *flags) if uncertain else flags
        return replace(self, weight=weight, water_density=water.density, flags=flags)


def hydrostatic(
    dry: Measured, in_water: Measured, water_density: float, air_density: float = AIR_DENSITY
) -> tuple[Measured, Measured, Measured]:
    """Return mass [kg], volume [m3] and density [kg/m3] from a reading in air and one hanging in water.

    k = 1 - rho_a / 8000, V = k (r1 - r2) / (rho - rho_a), m = k r1 + rho_a V,
    density = r1 / (r1 - r2) (rho - rho_a) + rho_a.

    Parameters: dry r1 and in_water r2, both readings [kg], independent, the hanger's own tared;
    water_density rho and air_density rho_a [kg/m3]; no air: readings taken as masses.
    Range: r2 less than r1; BadValueError else. The water's density counts as exact: a doubt of 1 K makes
    0.02 % of the volume.
    Reference: hydrostatic weighing as in the manuals of density kits; JCGM 100:2008, 5.1.2.
    """
    lost = dry.value - in_water.value
    if not lost > 0:
        problem = f"{in_water.value * 1e3:.4g} g is not less than the {dry.value * 1e3:.4g} g of the dry fly"
        cure = "Weigh both again: water bears part of the weight; tare the hanger in the water."
        raise BadValueError("fly.mass_in_water", problem, cure)
    k = 1 - air_density / COUNTERWEIGHT_DENSITY
    lift = water_density - air_density
    u1, u2 = dry.standard_uncertainty, in_water.standard_uncertainty
    volume = Measured(k * lost / lift, k * math.hypot(u1, u2) / lift)
    slope = air_density / lift
    mass = Measured(k * dry.value + air_density * volume.value, k * math.hypot((1 + slope) * u1, slope * u2))
    doubt = lift * math.hypot(in_water.value * u1, dry.value * u2) / lost**2
    return mass, volume, Measured(dry.value / lost * lift + air_density, doubt)


def weight_weighed_twice(
    dry: Measured, in_water: Measured, water: Water, parts: Sequence[Part] = (), soaked: Measured = NOTHING
) -> SubmergedWeight:
    """Return the submerged weight from two readings: W = g k r2, k = 1 - 1.2 / 8000.

    What the dressing holds is in the reading: held air has lifted, soaked-up water has no weight. Wet the fly
    through before weighing it in water, blot nothing, and let no bubble cling. Where the hanger pierces the
    surface its meniscus pulls with up to pi d gamma, 2.3 mg for a thread of 0.1 mm: the tare takes that out, its
    scatter belongs into the repeatability of the reading.

    Parameters: dry and in_water [kg] as read (``scale.reading``); water; parts, any that are known, to check
    the readings against; soaked, the water taken up [m3], for the moving mass.
    Range: 0 < in_water < dry. BadValueError where the fly floats, would be denser than any metal, or weighs
    less than a part of its own.
    """
    _refuse_floating(in_water.value)
    mass, volume, density = hydrostatic(dry, in_water, water.density)
    _refuse_too_dense("fly.mass_in_water", mass, volume, "Weigh again, hanging free of the vessel.")
    _check_parts(mass, parts)
    weight = Measured(_IN_AIR * GRAVITY * in_water.value, _IN_AIR * GRAVITY * in_water.standard_uncertainty)
    flags = _flags(weight, NOTHING, soaked)
    moving = _moving(mass, soaked, water)
    return SubmergedWeight(Way.WEIGHED_TWICE, weight, volume, mass, moving, density, water.density, flags)


def weight_from_mass(
    dry: Measured,
    parts: Sequence[Part],
    water: Water,
    air: Measured = NOTHING,
    soaked: Measured = NOTHING,
) -> SubmergedWeight:
    """Return the submerged weight from a dry reading and the volumes of all parts.

    W = g (m - rho (V + V_air)), m = k r + 1.2 V: the parts' own masses only check the reading.

    Parameters: dry [kg] as read; parts, all of them, dressing too; water; air held and water soaked up by the
    dressing [m3]. Air lifts and takes weight away; water adds inertia and no weight.
    Range: BadValueError where the fly floats or weighs less than its bead, any part, or all parts together,
    by more than two standard uncertainties.
    """
    _refuse_none(parts)
    solid = total([part.volume for part in parts])
    mass = true_mass(dry, solid)
    displaced = total([solid, air])
    flags = _check_parts(mass, parts)
    _refuse_too_dense("fly.mass", mass, displaced, "Weigh again, or name the part left out.")
    apparent = mass.value - water.density * displaced.value
    u_solid = (water.density - AIR_DENSITY) * solid.standard_uncertainty
    u_air = water.density * air.standard_uncertainty
    doubt = math.hypot(_IN_AIR * dry.standard_uncertainty, u_solid, u_air)
    _refuse_floating(apparent)
    weight = Measured(GRAVITY * apparent, GRAVITY * doubt)
    return SubmergedWeight(
        Way.WEIGHED_AND_VOLUME,
        weight,
        displaced,
        mass,
        _moving(mass, soaked, water),
        _ratio(mass, displaced, 0.0),
        water.density,
        (*_flags(weight, air, soaked), *flags),
    )


def weight_from_parts(
    parts: Sequence[Part], water: Water, air: Measured = NOTHING, soaked: Measured = NOTHING
) -> SubmergedWeight:
    """Return the submerged weight of a fly not weighed at all: W = g [sum (m_i - rho V_i) - rho V_air].

    Each part's own mass and volume keep their correlation; parts count as independent of each other.

    Parameters and range: as ``weight_from_mass``, without a reading. BadValueError where the fly floats.
    """
    _refuse_none(parts)
    mass = total([part.mass for part in parts])
    displaced = total([*(part.volume for part in parts), air])
    held = Measured(-water.density * air.value, water.density * air.standard_uncertainty)
    apparent = total([*(part.apparent_mass(water.density) for part in parts), held])
    _refuse_floating(apparent.value)
    weight = Measured(GRAVITY * apparent.value, GRAVITY * apparent.standard_uncertainty)
    shared = sum(
        part.correlation * part.mass.standard_uncertainty * part.volume.standard_uncertainty for part in parts
    )
    return SubmergedWeight(
        Way.FROM_PARTS,
        weight,
        displaced,
        mass,
        _moving(mass, soaked, water),
        _ratio(mass, displaced, shared),
        water.density,
        _flags(weight, air, soaked),
    )


def _refuse_none(parts: Sequence[Part]) -> None:
    """Refuse a fly without parts, or of parts without volume."""
    if not sum(part.volume.value for part in parts) > 0:
        raise BadValueError("fly.parts", "there are none", "Name the bead, the hook, the wire, the dressing.")


def _refuse_floating(apparent_mass: float) -> None:
    """Refuse a fly whose buoyancy bears it."""
    if not apparent_mass > 0:
        problem = f"its submerged weight is {apparent_mass * GRAVITY * 1e3:.3g} mN: it floats"
        raise BadValueError("fly", problem, "Check masses and volumes, or wet it through; it must sink.")


def _refuse_too_dense(key: str, mass: Measured, volume: Measured, cure: str) -> None:
    """Refuse a fly denser than pure tungsten, beyond what the doubt of its volume explains."""
    if volume.value + _SURE * volume.standard_uncertainty < mass.value / _HEAVIEST:
        density = mass.value / volume.value
        raise BadValueError(key, f"a density of {density:.0f} kg/m3 is above that of tungsten", cure)


def _check_parts(mass: Measured, parts: Sequence[Part]) -> tuple[str, ...]:
    """Refuse a fly lighter than what it is made of; flag one clearly heavier than all its parts."""
    for part in parts:
        _refuse_lighter(mass, part.mass, f"its {part.name} alone")
    if not parts:
        return ()
    whole = total([part.mass for part in parts])
    _refuse_lighter(mass, whole, "its parts together")
    doubt = math.hypot(mass.standard_uncertainty, whole.standard_uncertainty)
    return ("parts-missing",) if mass.value - whole.value > max(_SURE * doubt, 0.01 * mass.value) else ()


def _refuse_lighter(mass: Measured, least: Measured, what: str) -> None:
    """Refuse a mass below that of a part, beyond what their uncertainties explain."""
    doubt = math.hypot(mass.standard_uncertainty, least.standard_uncertainty)
    if mass.value < least.value * (1 - _ROUNDING) - _SURE * doubt:
        problem = f"{mass.value * 1e3:.4g} g is less than {what}, {least.value * 1e3:.4g} g"
        raise BadValueError("fly.mass", problem, "Weigh again, or correct the size or metal of the part.")


def _flags(weight: Measured, air: Measured, soaked: Measured) -> tuple[str, ...]:
    """Return what a reader of the weight should know; refuse negative volumes of air or water."""
    for key, held in (("fly.air", air), ("fly.soaked", soaked)):
        if not 0 <= held.value < math.inf:
            raise BadValueError(key, f"{held.value:g} m3 cannot be held", "Give zero or more.")
    told = {
        "weight-uncertain": weight.standard_uncertainty > COARSEST * weight.value,
        "air-held": air != NOTHING,
        "water-soaked": soaked != NOTHING,
    }
    return tuple(flag for flag, true in told.items() if true)


def _moving(mass: Measured, soaked: Measured, water: Water) -> Measured:
    """Return the dry mass and the soaked-up water [kg]."""
    water_mass = Measured(water.density * soaked.value, water.density * soaked.standard_uncertainty)
    return total([mass, water_mass])


def _ratio(mass: Measured, volume: Measured, covariance: float) -> Measured:
    """Return mass over volume [kg/m3] with the covariance of the two [kg m3]."""
    density = mass.value / volume.value
    variance = (
        mass.standard_uncertainty**2 + (density * volume.standard_uncertainty) ** 2 - 2 * density * covariance
    )
    return Measured(density, math.sqrt(max(variance, 0.0)) / volume.value)
