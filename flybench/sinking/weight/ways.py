"""Four ways to the submerged weight of a fly: weighed twice, weighed in water, weighed dry, from its parts alone."""

from __future__ import annotations

import math
from collections.abc import Sequence

from flybench.errors import BadValueError
from flybench.hydraulics.sphere import GRAVITY
from flybench.hydraulics.water import Water
from flybench.quantity import Measured
from flybench.sinking.weight.flags import doubtful
from flybench.sinking.weight.parts import SolidPart, total
from flybench.sinking.weight.scale import AIR_DENSITY, AIR_FACTOR, hydrostatic, true_mass, weight_of_reading
from flybench.sinking.weight.submerged import SubmergedWeight, Way, refuse_floating

NOTHING = Measured(0.0, 0.0)
"""No air and no water [m3]."""
_HEAVIEST = 19400.0
"""Density that no fly reaches [kg/m3]: pure tungsten has 19 250 to 19 300 (Metals Handbook), a little is for rounding."""
_SURE = 2.0
"""Standard uncertainties beyond which two readings contradict each other [-]: k = 2, some 95 % (JCGM 100:2008, G.1)."""
_CLEARLY = 0.01
"""Share of its mass by which a fly may be heavier than its parts without a word [-]: thread, wax and water (judgement)."""
_ROUNDING = 1e-9
"""Share of a mass that is taken for rounding [-]: far below any scale, far above a float's last digit (judgement)."""


def weight_weighed_twice(
    dry: Measured,
    in_water: Measured,
    water: Water,
    parts: Sequence[SolidPart] = (),
    soaked: Measured = NOTHING,
) -> SubmergedWeight:
    """Return the submerged weight from two readings, dry and hanging in water.

    W = g k r2, k = 1 - 1.2 / 8000; the volume follows from both (see ``hydrostatic``).

    What the dressing holds is in the reading: held air has lifted, soaked-up water has no weight. Wet the fly
    through before weighing it in water, blot nothing, and let no bubble cling. Where the hanger pierces the
    surface its meniscus pulls with up to pi d gamma, 2.3 mg for a thread of 0.1 mm: the tare takes that out, its
    scatter belongs into the repeatability of the reading.

    Parameters: dry and in_water [kg] as read (``scale.reading``); water; parts, any that are known, to check
    the readings against; soaked, the water taken up [m3], for the moving mass.
    Returns: the record, weight [N].
    Range: 0 < in_water < dry. BadValueError where the fly floats, would be denser than any metal, or weighs
    less than a part of its own.
    Reference: as ``hydrostatic``.
    """
    refuse_floating_reading(in_water)
    mass, volume, density = hydrostatic(dry, in_water, water.density)
    _refuse_too_dense("fly.mass_in_water", mass, volume, "Weigh again, hanging free of the vessel.")
    _check_parts(mass, parts)
    weight = weight_of_reading(in_water)
    flags = _flags(weight, NOTHING, soaked)
    moving = _moving(mass, soaked, water)
    return SubmergedWeight(Way.WEIGHED_TWICE, weight, volume, mass, moving, density, water.density, flags)


def weight_weighed_in_water(in_water: Measured, parts: Sequence[SolidPart], water: Water) -> SubmergedWeight:
    """Return the submerged weight from the reading in water alone; its volume, for other water, from the parts.

    W = g k r, k = 1 - 1.2 / 8000, m = r + rho sum V_i.

    Parameters: in_water r [kg] as read; parts, all of them, with volumes V_i [m3]; water, of density rho.
    Returns: the record, weight [N].
    Range: BadValueError where there are no parts, where the fly floats, or shows less than its heaviest part weighs
    in water less the lift of parts that float.
    Reference: as ``hydrostatic``; that the parts' volumes stand for the fly's is a judgement.
    """
    _refuse_none(parts)
    refuse_floating_reading(in_water)
    heaviest = max(parts, key=lambda part: part.mass.value)
    rest = [part.apparent_mass(water.density) for part in parts if part is not heaviest]
    least = total([heaviest.apparent_mass(water.density), *(one for one in rest if one.value < 0)])
    refuse_lighter("fly.mass_in_water", in_water, least, f"its {heaviest.name} alone in water")
    volume = total([part.volume for part in parts])
    mass = Measured(
        in_water.value + water.density * volume.value,
        math.hypot(in_water.standard_uncertainty, water.density * volume.standard_uncertainty),
    )
    weight = weight_of_reading(in_water)
    density = Measured(mass.value / volume.value, mass.standard_uncertainty / volume.value)
    flags = doubtful(in_water)
    return SubmergedWeight(Way.WEIGHED_IN_WATER, weight, volume, mass, mass, density, water.density, flags)


def weight_from_mass(
    dry: Measured,
    parts: Sequence[SolidPart],
    water: Water,
    air: Measured = NOTHING,
    soaked: Measured = NOTHING,
) -> SubmergedWeight:
    """Return the submerged weight from a dry reading and the volumes of all parts.

    W = g (m - rho (V + V_air)), m = k r + 1.2 V, k = 1 - 1.2 / 8000: the parts' own masses only check the reading.

    Parameters: dry r [kg] as read; parts, all of them, dressing too, of volume V [m3]; water, of density rho; air held
    and water soaked up by the dressing [m3]. Air lifts and takes weight away; water adds inertia and no weight.
    Returns: the record, weight [N].
    Range: BadValueError where the fly floats or weighs less than its bead, any part, or all parts together,
    by more than two standard uncertainties.
    Reference: Archimedes' principle; conventional mass, OIML D 28 (from memory); JCGM 100:2008, 5.1.2.
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
    doubt = math.hypot(AIR_FACTOR * dry.standard_uncertainty, u_solid, u_air)
    refuse_floating(apparent)
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
    parts: Sequence[SolidPart], water: Water, air: Measured = NOTHING, soaked: Measured = NOTHING
) -> SubmergedWeight:
    """Return the submerged weight of a fly not weighed at all.

    W = g [sum (m_i - rho V_i) - rho V_air]. Each part's own mass and volume keep their correlation; parts count as
    independent of each other.

    Parameters and returns: as ``weight_from_mass``, without a reading.
    Range: BadValueError where the fly floats or has no parts. Reference: Archimedes' principle; JCGM 100:2008, 5.2.2.
    """
    _refuse_none(parts)
    mass = total([part.mass for part in parts])
    displaced = total([*(part.volume for part in parts), air])
    held = Measured(-water.density * air.value, water.density * air.standard_uncertainty)
    apparent = total([*(part.apparent_mass(water.density) for part in parts), held])
    refuse_floating(apparent.value)
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


def _refuse_none(parts: Sequence[SolidPart]) -> None:
    """Refuse a fly without parts, or of parts without volume."""
    if not sum(part.volume.value for part in parts) > 0:
        problem = "no part with a volume is known"
        raise BadValueError("fly.parts", problem, "Name the bead, the hook, the wire and the dressing.")


def refuse_floating_reading(in_water: Measured) -> None:
    """Refuse a reading in water [kg] of a fly that floats; raises BadValueError."""
    if not in_water.value > 0:
        problem = f"the scale shows {in_water.value * 1e3:.4g} g in water, so the fly floats"
        raise BadValueError("fly.mass_in_water", problem, "Wet it through and weigh it again, or add weight.")


def _refuse_too_dense(key: str, mass: Measured, volume: Measured, cure: str) -> None:
    """Refuse a fly denser than pure tungsten, beyond what the doubt of its volume explains."""
    if volume.value + _SURE * volume.standard_uncertainty < mass.value / _HEAVIEST:
        density = mass.value / volume.value
        raise BadValueError(
            key, f"the fly's density comes to {density:.0f} kg/m3, more than tungsten's", cure
        )


def _check_parts(mass: Measured, parts: Sequence[SolidPart]) -> tuple[str, ...]:
    """Refuse a fly lighter than what it is made of; flag one clearly heavier than all its parts."""
    for part in parts:
        refuse_lighter("fly.mass", mass, part.mass, f"its {part.name} alone")
    if not parts:
        return ()
    whole = total([part.mass for part in parts])
    refuse_lighter("fly.mass", mass, whole, "its parts together")
    doubt = math.hypot(mass.standard_uncertainty, whole.standard_uncertainty)
    return ("parts-missing",) if mass.value - whole.value > max(_SURE * doubt, _CLEARLY * mass.value) else ()


def refuse_lighter(key: str, shown: Measured, least: Measured, what: str) -> None:
    """Refuse a mass [kg] below the least it can be [kg], beyond what their uncertainties explain (k = 2).

    Parameters: key, the name of the reading; shown and least [kg]; what the least is, in words.
    Raises BadValueError.
    """
    doubt = math.hypot(shown.standard_uncertainty, least.standard_uncertainty)
    if shown.value < least.value * (1 - _ROUNDING) - _SURE * doubt:
        problem = f"{shown.value * 1e3:.4g} g is less than {what}, {least.value * 1e3:.4g} g"
        raise BadValueError(key, problem, "Weigh again, or correct the size or metal of the part.")


def _flags(weight: Measured, air: Measured, soaked: Measured) -> tuple[str, ...]:
    """Return what a reader of the weight should know; refuse negative volumes of air or water."""
    for key, held in (("fly.air", air), ("fly.soaked", soaked)):
        if not 0 <= held.value < math.inf:
            problem = f"a volume of {held.value * 1e9:g} mm3 cannot be held in the dressing"
            raise BadValueError(key, problem, "Give zero or more.")
    told = {"air-held": air != NOTHING, "water-soaked": soaked != NOTHING}
    return (*doubtful(weight), *(flag for flag, true in told.items() if true))


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
