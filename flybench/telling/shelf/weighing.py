"""What a fly weighs in water: in words, and as the machine form."""

from __future__ import annotations

from typing import Any

from flybench.jobs.shelf.weigh import FlyWeight
from flybench.quantity import Measured
from flybench.rounding import rounded
from flybench.sinking.weight.flags import FLAGS
from flybench.sinking.weight.scale import WeighingGain, WeightDoubt
from flybench.telling.table import paragraph

_INDENT = "  "
"""What stands before the lines below the result."""


def lines(found: FlyWeight) -> list[str]:
    """Return what a fly weighs in lines for people, the result first."""
    weight = found.weight
    lines = [
        f"{found.fly}: {_text(weight.weight)} mN in water (k = 2), {found.weighed.way}",
        f"{_INDENT}dry {_text(weight.mass)} g, density {weight.density.value:.0f} kg/m³",
        _doubt_line(WeightDoubt(weight.relative_uncertainty)),
    ]
    return lines if found.gain is None else [*lines, _gain_line(found, found.gain)]


def remarks(found: FlyWeight) -> list[str]:
    """Return what a user should know of this weight and this scale, a paragraph each."""
    coarse = found.too_coarse and (found.recorded or found.gain is not None)
    flags = [f"{flag}: {FLAGS[flag].meaning} {FLAGS[flag].cure}" for flag in found.weight.flags]
    return [paragraph(text, _INDENT) for text in ([_too_coarse(found)] if coarse else []) + flags]


def record(found: FlyWeight) -> dict[str, Any]:
    """Return the machine form of a weighing."""
    weight, gain = found.weight, found.gain
    return {
        "fly": found.fly,
        "way": weight.way.value,
        "submerged_weight_n": weight.weight.value,
        "submerged_weight_u_n": weight.weight.standard_uncertainty,
        "mass_kg": weight.mass.value,
        "mass_u_kg": weight.mass.standard_uncertainty,
        "displaced_m3": weight.displaced.value,
        "displaced_u_m3": weight.displaced.standard_uncertainty,
        "density_kg_m3": weight.density.value,
        "water_density_kg_m3": weight.water_density,
        "flags": list(weight.flags),
        "recorded": found.recorded,
        "gain": None if gain is None else _gain_record(gain),
        "scale": {
            "resolution_kg": found.scale.resolution,
            "count": found.scale.count,
            "last_digit": found.last_digit,
            "too_coarse": found.too_coarse,
            "needed_resolution_kg": found.fine_enough,
        },
        "remarks": found.weighed.remarks,
    }


def _text(measured: Measured) -> str:
    """Return a mass in grams or a force in millinewtons with its expanded uncertainty."""
    return " ± ".join(rounded(measured.value * 1e3, measured.expanded * 1e3))


def _doubt_line(doubt: WeightDoubt) -> str:
    return paragraph(
        f"The standard uncertainty of that weight is {doubt.weight:.1%}: the same share of a drag area worked out from "
        f"it, {doubt.speed:.1%} of a predicted sink speed.",
        _INDENT,
    )


def _gain_line(found: FlyWeight, gain: WeighingGain) -> str:
    return paragraph(
        f"On a scale that counts in steps of {found.scale.resolution * 1e6:g} mg it would be "
        f"{gain.weighed_dry.weight:.1%} weighed dry and {gain.weighed_twice.weight:.1%} weighed dry and in water "
        "(one fly, read once).",
        _INDENT,
    )


def _too_coarse(found: FlyWeight) -> str:
    more, doubt = found.enough_together, WeightDoubt(found.last_digit)
    together = "" if more is None else f", or weigh {more} like flies together (--count {more})"
    return (
        f"That scale is too coarse for this fly: its last digit alone makes {doubt.weight:.1%} of weight and drag, "
        f"{doubt.speed:.1%} of a predicted speed. Use one that counts in steps of {found.fine_enough * 1e6:g} mg{together}."
    )


def _gain_record(gain: WeighingGain) -> dict[str, float]:
    return {
        "now": gain.now.weight,
        "weighed_dry": gain.weighed_dry.weight,
        "weighed_twice": gain.weighed_twice.weight,
    }
