"""The one water that speeds are shown for, in words and as machine form."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flybench.hydraulics.water import Water
from flybench.shop.speeds.one_water import OneWater
from flybench.shop.speeds.set_ups import SAME_SALT
from flybench.telling.numbers import temperature_text
from flybench.telling.wording import few

_WHY = {
    "given": "as given with --temperature",
    "set": "as set with flybench catalog water",
    "usual": "the water of most runs of the shop",
}
_HOW = 'For other water add --temperature "8 degC", or set it for good: flybench catalog water "8 degC"'
_MOST_NAMED = 8
"""Codes named in a sentence [-]; a longer list says how many more there are (judgement)."""


def water_text(water: Water) -> str:
    """Return water in words: its temperature, and its salt where it has more than 1 g/kg.

    >>> water_text(Water(288.15, 0.035)), water_text(Water(288.15))
    ('15 °C with 35 g/kg of salt', '15 °C')
    """
    salt = f" with {water.salinity * 1e3:.3g} g/kg of salt" if water.salinity > SAME_SALT else ""
    return f"{temperature_text(water.temperature)}{salt}"


def named(codes: Sequence[str]) -> str:
    """Return codes as a list in words, of long ones the beginning and how many more."""
    return few(codes, _MOST_NAMED)


def notes(
    found: OneWater | None, brought: Sequence[str], mostly: Sequence[str], how: bool = True
) -> list[str]:
    """Return which water speeds are for, which codes were brought to it, and of which that step is most of the doubt.

    Nothing where all was measured in the water of most runs and no other was asked for. ``how`` says how to ask for another.
    """
    if found is None or found.water is None or (found.why == "usual" and not brought and not found.floating):
        return []
    water = water_text(found.water)
    told = [f"Speeds are for water of {water} ({_WHY[found.why]})."]
    if brought:
        told.append(
            f"Runs in other water were brought to it, and the ± holds the doubt of that step: {named(brought)}."
        )
    if mostly:
        told.append(
            f"More than half of the ± comes from that step: {named(mostly)}. Measure in water of {water}, or one "
            "fly of the pattern in both waters: flybench sink at --help"
        )
    if found.floating:
        told.append(_floating(found.floating, found.water))
    return [*told, _HOW] if how and found.why == "usual" else told


def _floating(codes: Sequence[str], water: Water) -> str:
    """Return which flies would float in a water, in words, and what their speeds are then."""
    return (
        f"By their weight these would float in water of {water_text(water)}, so they are shown as "
        f"measured in their own: {named(codes)}. Weigh them again, or measure them in that water."
    )


def record(found: OneWater | None) -> dict[str, Any] | None:
    """Return the water in machine form, None where nothing was measured."""
    if found is None or found.water is None:
        return None
    return {
        "temperature_k": found.water.temperature,
        "salinity": found.water.salinity,
        "why": found.why,
        "brought": list(found.brought),
        "floating": list(found.floating),
    }


def lines(found: OneWater) -> list[str]:
    """Return in sentences which water speeds are shown for, and which flies were measured in another."""
    if found.water is None:
        return ["No run counts yet. Speeds will be shown for the water in which most runs are made."]
    told = [f"Speeds are shown for water of {water_text(found.water)} ({_WHY[found.why]})."]
    if found.brought:
        told.append(f"Flies with runs in other water, brought to it: {named(found.brought)}.")
    if found.floating:
        told.append(_floating(found.floating, found.water))
    return told
