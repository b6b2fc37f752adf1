"""What is true of the shop: how fast each of its flies sinks, and how fast one of every variant would be."""

from __future__ import annotations

import tomllib
from pathlib import Path

from flyshop.drag import Stream
from flyshop.fall import TrueFly, fall
from flyshop.flies import FLIES, packet_of
from flyshop.recipes import tying

AT_18 = Stream(998.60, 1.0543e-6)
"""Water of 18 degC: density [kg/m3] and kinematic viscosity [m2/s] (IAPWS, from memory)."""
_DIGITS = 5
"""Decimals of a speed [m/s] that are kept [-]."""
_CLIPS = ("moss-hackle", "reed-slip", "slate-plump")
"""Patterns whose flies are those of the rendered clips: their speeds were invented, not worked out here."""


def truths(recipes: Path) -> dict[str, dict[str, float]]:
    """Return true sink speeds in wide water at 18 degC [m/s]: of flies, and of variants."""
    flies = {code: fall(fly.true(), AT_18).speed for code, fly in FLIES.items()}
    made = [tying(code, recipes) for code in _variants(recipes)]
    variants = {one.variant: fall(TrueFly(one, packet_of(one)), AT_18).speed for one in made}
    return {"flies_m_s": _rounded(flies), "variants_m_s": _rounded(variants)}


def _variants(recipes: Path) -> list[str]:
    found = []
    for path in sorted(recipes.glob("*.toml")):
        recipe = tomllib.loads(path.read_text(encoding="utf-8"))
        found += [one["code"] for one in recipe["variant"] if recipe["pattern"]["code"] not in _CLIPS]
    return found


def _rounded(speeds: dict[str, float]) -> dict[str, float]:
    return {code: round(speed, _DIGITS) for code, speed in speeds.items()}
