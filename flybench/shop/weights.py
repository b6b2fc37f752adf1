"""The weight in water of flies and variants of the catalog, by the best way that is known of each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from flybench.bench.sheet.settings import FlySettings
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.patterns import Variant
from flybench.errors import BadValueError, FlybenchError
from flybench.hydraulics.sphere import GRAVITY
from flybench.hydraulics.water import Water
from flybench.quantity import Measured, rounded
from flybench.shop.solids import Solids, dressing_volume, solids_of
from flybench.sinking.weight.parts import Part, total
from flybench.sinking.weight.scale import AIR_DENSITY, COARSEST, COUNTERWEIGHT_DENSITY
from flybench.sinking.weight.submerged import (
    NOTHING,
    SubmergedWeight,
    Way,
    weight_from_mass,
    weight_from_parts,
    weight_weighed_twice,
)

WAYS = {
    Way.WEIGHED_TWICE: "weighed dry and in water",
    Way.WEIGHED_AND_VOLUME: "weighed dry, volume from its parts",
    Way.FROM_PARTS: "from its parts alone",
}
"""Each way in words."""
IN_WATER_ALONE = "weighed in water, dry mass and volume from its parts"
"""The way in words where there is no reading in air."""
USUAL_RESOLUTION = 1e-6
"""Step of a scale for a reading that came without its doubt [kg]: 1 mg (judgement)."""
_FAR, _LIGHT = 1.6, 0.5
"""Mass over that of all parts, and density over theirs, beyond which a reading looks wrong (judgement)."""
_HELD_AIR = Measured(0.5, 0.3)
"""Air in a dressing not wetted through, over the dressing's own volume (judgement)."""


@dataclass(frozen=True)
class Readings:
    """What a scale showed of a fly, dry and in water [kg], and its volume where that was told [m3]."""

    dry: Measured | None = None
    in_water: Measured | None = None
    volume: Measured | None = None


@dataclass(frozen=True)
class Weighed:
    """A weight in water and what was assumed for it, in words."""

    weight: SubmergedWeight
    remarks: list[str]
    in_water_alone: bool = False

    @property
    def way(self) -> str:
        """Return how it was come by, in words."""
        return IN_WATER_ALONE if self.in_water_alone else WAYS[self.weight.way]


def readings_of(fly: Fly) -> tuple[Readings, list[str]]:
    """Return what the catalog holds of a fly's weighings; a reading without its doubt gets that of 1 mg."""
    remarks = []
    found = []
    for name, value, doubt in (
        ("mass", fly.mass_kg, fly.mass_u_kg),
        ("mass in water", fly.mass_in_water_kg, fly.mass_in_water_u_kg),
    ):
        if value is not None and doubt is None:
            remarks.append(f"{fly.code}: {name} without its ±, taken as read on a scale of 1 mg")
        usual = USUAL_RESOLUTION / math.sqrt(12)
        found.append(None if value is None else Measured(value, usual if doubt is None else doubt))
    return Readings(*found), remarks


def readings_in(sheet: FlySettings) -> Readings:
    """Return what a bench sheet says of the fly's weighings."""
    pairs = (sheet.mass, sheet.mass_in_water, sheet.volume)
    return Readings(*(None if pair is None else Measured(*pair) for pair in pairs))


def weight_of(fly: Fly, water: Water, soaked: bool = True) -> Weighed:
    """Return the weight in water of a fly by the best way the catalog allows.

    Raises FlybenchError, naming the fly, where it floats or weighs less than its bead.
    """
    readings, remarks = readings_of(fly)
    try:
        return weigh(fly.variant, readings, water, soaked, remarks)
    except BadValueError as error:
        raise FlybenchError(f"fly {fly.code}: {error}") from error


def weight_of_variant(variant: Variant, water: Water, soaked: bool = True) -> Weighed:
    """Return the weight in water of a variant from its parts; raises FlybenchError as ``weight_of``."""
    try:
        return weigh(variant, Readings(), water, soaked)
    except BadValueError as error:
        raise FlybenchError(f"variant {variant.code}: {error}") from error


def weigh(
    variant: Variant,
    readings: Readings,
    water: Water,
    soaked: bool = True,
    remarks: Sequence[str] = (),
) -> Weighed:
    """Return the weight in water from readings, and from the variant's parts where they do not suffice.

    Parameters: soaked, whether the dressing is wetted through; else it holds air to half its volume (judgement).
    Raises BadValueError where it floats, or weighs less than a part of its own.
    """
    solids = solids_of(variant)
    told = [*remarks, *(f"{variant.code}: {text}" for text in solids.assumed)]
    air = NOTHING if soaked else _air(solids)
    dry, wet = readings.dry, readings.in_water
    if wet is not None and dry is not None:
        found = weight_weighed_twice(dry, wet, water, [_sure(solids)])
        told = [*remarks, *_beside_parts(found.mass, solids, variant.code)]
        if found.density.value < _LIGHT * _density_by_parts(solids):
            told.append(
                f"{variant.code}: a density of {found.density.value:.0f} kg/m3 is far below that of its parts, "
                f"{_density_by_parts(solids):.0f}: weigh again in water"
            )
        return Weighed(found, told)
    if wet is not None:
        found = _in_water_alone(wet, solids, water)
        return Weighed(found, [*told, *_beside_parts(found.mass, solids, variant.code)], True)
    if dry is not None:
        parts = solids.parts
        if readings.volume is not None:
            _refuse_lighter("fly.mass", dry, _sure(solids).mass, f"its {_sure(solids).name} alone")
            parts = [_told(dry, readings.volume)]
        return Weighed(weight_from_mass(dry, parts, water, air), told)
    return Weighed(weight_from_parts(solids.parts, water, air), told)


def _sure(solids: Solids) -> Part:
    """Return the heaviest part, which no fly can weigh less than."""
    return max(solids.parts, key=lambda part: part.mass.value)


def _density_by_parts(solids: Solids) -> float:
    """Return the density of all parts together [kg/m3]."""
    return sum(part.mass.value for part in solids.parts) / sum(part.volume.value for part in solids.parts)


def _beside_parts(mass: Measured, solids: Solids, code: str) -> list[str]:
    """Return a remark where a weighed fly is clearly lighter than its parts together by geometry."""
    whole = total([part.mass for part in solids.parts])
    if mass.value > _FAR * whole.value:
        return [
            f"{code}: {mass.value * 1e3:.3g} g is {mass.value / whole.value:.1f} times its parts: several flies (--count)?"
        ]
    if mass.value + 2 * math.hypot(mass.standard_uncertainty, whole.standard_uncertainty) >= whole.value:
        return []
    parts = " ± ".join(rounded(whole.value * 1e3, whole.expanded * 1e3))
    return [
        f"{code}: {mass.value * 1e3:.3g} g is less than its parts together, {parts} g: check bead and hook"
    ]


def _told(dry: Measured, volume: Measured) -> Part:
    """Return a fly of a told volume as one part, which checks nothing."""
    return Part("the fly", Measured(0.0, dry.value), volume)


def _refuse_lighter(key: str, shown: Measured, least: Measured, what: str) -> None:
    """Refuse a reading below the least it can be, beyond what their uncertainties explain (k = 2)."""
    doubt = math.hypot(shown.standard_uncertainty, least.standard_uncertainty)
    if shown.value < least.value - 2 * doubt:
        problem = f"{shown.value * 1e3:.4g} g is less than {what}, {least.value * 1e3:.4g} g"
        raise BadValueError(key, problem, "Weigh again, or correct the size or metal of the part.")


def _least_in_water(solids: Solids, water: Water) -> Measured:
    """Return what the heaviest part weighs in water [kg], less the lift of parts that float, such as foam."""
    sure = _sure(solids)
    rest = [part.apparent_mass(water.density) for part in solids.parts if part is not sure]
    return total([sure.apparent_mass(water.density), *(one for one in rest if one.value < 0)])


def _in_water_alone(wet: Measured, solids: Solids, water: Water) -> SubmergedWeight:
    """Return the weight from the reading in water; its volume, for other water, from the parts.

    Raises BadValueError where it floats or shows less than its heaviest part weighs in water.
    """
    if not wet.value > 0:
        raise BadValueError(
            "fly.mass_in_water", f"{wet.value * 1e3:g} g: it floats", "Wet it through and weigh again."
        )
    what = f"its {_sure(solids).name} alone in water"
    _refuse_lighter("fly.mass_in_water", wet, _least_in_water(solids, water), what)
    factor = (1 - AIR_DENSITY / COUNTERWEIGHT_DENSITY) * GRAVITY
    volume = total([part.volume for part in solids.parts])
    mass = Measured(
        wet.value + water.density * volume.value,
        math.hypot(wet.standard_uncertainty, water.density * volume.standard_uncertainty),
    )
    return SubmergedWeight(
        Way.WEIGHED_TWICE,
        Measured(factor * wet.value, factor * wet.standard_uncertainty),
        volume,
        mass,
        mass,
        Measured(mass.value / volume.value, mass.standard_uncertainty / volume.value),
        water.density,
        ("weight-uncertain",) if wet.standard_uncertainty > COARSEST * wet.value else (),
    )


def _air(solids: Solids) -> Measured:
    volume = dressing_volume(solids).value
    return Measured(_HELD_AIR.value * volume, _HELD_AIR.standard_uncertainty * volume)
