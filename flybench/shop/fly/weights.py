"""The weight in water of flies and variants of the catalog, by the best way that is known of each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from flybench.bench.sheet.settings import FlySettings
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.patterns import Variant
from flybench.errors import BadValueError, FlybenchError
from flybench.hydraulics.water import Water
from flybench.quantity import COVERAGE_FACTOR, Measured
from flybench.rounding import rounded
from flybench.shop.fly.solids import Solids, dressing_volume, solids_of
from flybench.sinking.weight.beside_parts import unlike_parts
from flybench.sinking.weight.by_parts import by_parts
from flybench.sinking.weight.gain import on_scale
from flybench.sinking.weight.parts import SolidPart, total
from flybench.sinking.weight.repeated import mean_reading, usual_repeatability
from flybench.sinking.weight.submerged import SubmergedWeight, Way
from flybench.sinking.weight.ways import (
    NOTHING,
    refuse_lighter,
    weight_from_mass,
    weight_from_parts,
    weight_weighed_in_water,
    weight_weighed_twice,
)

WAYS = {
    Way.WEIGHED_TWICE: "weighed dry and in water",
    Way.WEIGHED_IN_WATER: "weighed in water, dry mass and volume from its parts",
    Way.WEIGHED_AND_VOLUME: "weighed dry, volume from its parts",
    Way.FROM_PARTS: "from its parts alone",
}
"""Each way in words."""
USUAL_RESOLUTION = 1e-6
"""Step of a scale for a reading that came without its doubt [kg]: 1 mg (judgement)."""
_FAR, _LIGHT = 1.6, 0.5
"""Mass over that of all parts, and density over theirs, beyond which a reading looks wrong (judgement)."""
_HELD_AIR = Measured(0.5, 0.3)
"""Air in a dressing not wetted through, over the dressing's own volume (judgement)."""


@dataclass(frozen=True)
class Readings:
    """What a scale showed of a fly, dry and in water [kg], and its volume where that is known [m3]."""

    dry: Measured | None = None
    in_water: Measured | None = None
    volume: Measured | None = None


@dataclass(frozen=True)
class Weighed:
    """A weight in water, what was assumed for it, and what of its readings looks wrong, in words: the latter is among the
    remarks too."""

    weight: SubmergedWeight
    remarks: list[str]
    doubts: tuple[str, ...] = ()

    @property
    def way(self) -> str:
        """Return how it was come by, in words."""
        return WAYS[self.weight.way]


def readings_of(fly: Fly) -> tuple[Readings, list[str]]:
    """Return what the catalog holds of a fly's weighings; a reading without its doubt gets that of 1 mg, read once."""
    remarks = []
    found = []
    for name, value, doubt in (
        ("mass", fly.mass_kg, fly.mass_u_kg),
        ("mass in water", fly.mass_in_water_kg, fly.mass_in_water_u_kg),
    ):
        if value is not None and doubt is None:
            remarks.append(f"{fly.code}: its {name} has no ±, so it is taken as read on a scale of 1 mg.")
        usual = usual_repeatability(USUAL_RESOLUTION, in_water=name != "mass")
        once = None if value is None else mean_reading([value], USUAL_RESOLUTION, usual)
        found.append(once if once is None or doubt is None else Measured(once.value, doubt))
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
    found = _weighed(variant, solids, readings, water, soaked, remarks)
    airy = not soaked and found.weight.way is Way.FROM_PARTS
    alone = None if airy else by_parts(solids.parts, water.density, *_packet(variant))
    return replace(found, weight=replace(found.weight, by_parts=alone))


def _packet(variant: Variant) -> tuple[str, str]:
    """Return the packet that a variant's bead is from, and its metal where the packet was not weighed."""
    bead = variant.bead
    if bead is None:
        return "", ""
    return bead.material.code, "" if bead.weighed_kg is not None else bead.metal.value


def _weighed(
    variant: Variant,
    solids: Solids,
    readings: Readings,
    water: Water,
    soaked: bool,
    remarks: Sequence[str],
) -> Weighed:
    assumed = [*remarks, *(f"{variant.code}: {text}" for text in solids.assumed)]
    air = NOTHING if soaked else _air(solids)
    dry, wet = readings.dry, readings.in_water
    if wet is not None and dry is not None:
        found = _on_scale(weight_weighed_twice(dry, wet, water, [_heaviest(solids)]), solids)
        doubts = _beside_parts(found, solids, variant.code, weighed_twice=True)
        return Weighed(found, [*remarks, *doubts], tuple(doubts))
    if wet is not None:
        found = _on_scale(weight_weighed_in_water(wet, solids.parts, water), solids)
        doubts = _beside_parts(found, solids, variant.code)
        return Weighed(found, [*assumed, *doubts], tuple(doubts))
    if dry is not None:
        found = weight_from_mass(dry, _weighed_parts(dry, readings, solids), water, air)
        return Weighed(on_scale(found), assumed)
    return Weighed(weight_from_parts(solids.parts, water, air), assumed)


def _on_scale(found: SubmergedWeight, solids: Solids) -> SubmergedWeight:
    """Return a weight from readings in water with the scale's gain, flagged where it does not go with the parts."""
    whole = on_scale(found)
    dressed = any(part.name not in ("bead", "hook") for part in solids.parts)
    return replace(whole, flags=(*whole.flags, *unlike_parts(whole, solids.parts, dressed)))


def _weighed_parts(dry: Measured, readings: Readings, solids: Solids) -> list[SolidPart]:
    """Return the parts of a fly weighed dry: itself alone where its volume is known, which then checks nothing."""
    if readings.volume is None:
        return solids.parts
    refuse_lighter("fly.mass", dry, _heaviest(solids).mass, f"its {_heaviest(solids).name} alone")
    return [SolidPart("the fly", Measured(0.0, dry.value), readings.volume)]


def _heaviest(solids: Solids) -> SolidPart:
    """Return the heaviest part, which no fly can weigh less than."""
    return max(solids.parts, key=lambda part: part.mass.value)


def _density_by_parts(solids: Solids) -> float:
    """Return the density of all parts together [kg/m3]."""
    return sum(part.mass.value for part in solids.parts) / sum(part.volume.value for part in solids.parts)


def _beside_parts(
    found: SubmergedWeight, solids: Solids, code: str, weighed_twice: bool = False
) -> list[str]:
    """Return remarks where a weighed fly does not go with its parts: its mass, or the density found of it."""
    mass, whole = found.mass, total([part.mass for part in solids.parts])
    shown = f"{code}: {mass.value * 1e3:.3g} g"
    remarks = []
    if mass.value > _FAR * whole.value:
        times = mass.value / whole.value
        remarks.append(
            f"{shown} is {times:.1f} times its parts together. If several flies were weighed, give --count."
        )
    elif mass.value + COVERAGE_FACTOR * _doubt(mass, whole) < whole.value:
        parts = " ± ".join(rounded(whole.value * 1e3, whole.expanded * 1e3))
        remarks.append(f"{shown} is less than its parts together, {parts} g. Check its bead and its hook.")
    usual = _density_by_parts(solids)
    if weighed_twice and found.density.value < _LIGHT * usual:
        remarks.append(
            f"{code}: a density of {found.density.value:.0f} kg/m³ is far below that of its parts, {usual:.0f} kg/m³. "
            "Wet it through and weigh it again in water."
        )
    return remarks


def _doubt(one: Measured, other: Measured) -> float:
    return math.hypot(one.standard_uncertainty, other.standard_uncertainty)


def _air(solids: Solids) -> Measured:
    volume = dressing_volume(solids).value
    return Measured(_HELD_AIR.value * volume, _HELD_AIR.standard_uncertainty * volume)
