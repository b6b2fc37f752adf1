"""What a fly is tied from, read from the recipe files as they stand: hook, bead, and the amount of every material."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parents[2] / "catalog"
_MM = 1e-3


@dataclass(frozen=True)
class Used:
    """One material on the hook: what the step makes, the material's own table, and how much in which unit."""

    part: str
    material: Mapping[str, Any]
    amount: float
    unit: str

    def size(self, key: str) -> float | None:
        """Return a length of the material [m], None where its table says none."""
        text = self.material.get(key)
        return None if text is None else float(str(text).split()[0]) * _MM

    @property
    def density(self) -> float | None:
        """Return the density that the material's table states [kg/m3]."""
        text = self.material.get("density")
        return None if text is None else float(str(text).split()[0])


@dataclass(frozen=True)
class Tying:
    """One variant: its hook, its bead or None, and its dressing."""

    variant: str
    style: str
    hook: Used
    bead: Used | None
    dressing: tuple[Used, ...]


def tying(variant: str, folder: Path = FOLDER) -> Tying:
    """Return what a variant is tied from; raises KeyError where no recipe has it."""
    for path in sorted(folder.glob("*.toml")):
        recipe = tomllib.loads(path.read_text(encoding="utf-8"))
        variants = {one["code"]: one for one in recipe["variant"]}
        if variant in variants:
            return _tying(recipe, variants, variant)
    raise KeyError(variant)


def _tying(recipe: Mapping[str, Any], variants: Mapping[str, Any], code: str) -> Tying:
    materials = {one["code"]: one for one in recipe["material"]}
    chosen, changes = variants[code], _changes(variants, code)
    dressing = []
    for number, step in enumerate(recipe["step"], 1):
        here = {**step, **changes.get(number, {})}
        if "material" in here and here["amount"]:
            dressing.append(
                Used(step["part"], materials[here["material"]], float(here["amount"]), step["unit"])
            )
    hook = Used("hook", materials[chosen["hook"]], 1.0, "piece")
    bead = Used("bead", materials[chosen["bead"]], 1.0, "piece") if "bead" in chosen else None
    return Tying(code, recipe["pattern"]["style"], hook, bead, tuple(dressing))


def _changes(variants: Mapping[str, Any], code: str) -> dict[int, dict[str, Any]]:
    """Return what changes at each step: of the variants it is based on first, then its own over them."""
    variant = variants[code]
    found = _changes(variants, variant["based_on"]) if "based_on" in variant else {}
    for change in variant.get("change", []):
        found[change["step"]] = {key: value for key, value in change.items() if key != "step"}
    return found
