"""Shops and published bodies to predict from: flies whose drag follows other laws than the model's, with wrong weights.

A bead shelters the dressing behind it, soft fibres bend back with speed, a fly leans the more the longer its hook; the
weights of beads are off by a factor for each metal and packet, which nobody in the shop knows. Constants are invented.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
from scipy.optimize import brentq
from usual_bead import usual_bead

from flybench.hydraulics.water import Water
from flybench.quantity import Measured
from flybench.sinking.drag.tied_fly import STYLES, Build, MeasuredFly
from flybench.sinking.weight.bead import Bore, trade_diameter
from flybench.sinking.weight.by_parts import by_parts
from flybench.sinking.weight.gain import on_scale
from flybench.sinking.weight.hook_and_ballast import usual_hook
from flybench.sinking.weight.parts import PartMetal, SolidPart, dressing, sized_part
from flybench.sinking.weight.submerged import SubmergedWeight
from flybench.sinking.weight.ways import weight_from_parts, weight_weighed_in_water

BEADS_MM = (2.0, 2.4, 2.8, 3.3, 3.8, 4.5)
ROOM = Water(289.15)
GOLD = {"brass": PartMetal.BRASS, "tungsten": PartMetal.TUNGSTEN}


@dataclass(frozen=True)
class Case:
    """One fly to be learned from or predicted: as measured, its weight by parts, its true speed [m/s]."""

    measured: MeasuredFly
    parts: SubmergedWeight
    speed: float


class BendingShop:
    """Flies of six styles on beads of two metals."""

    def __init__(self, seed: int, heavier: float = 0.0, weighed: float = 0.5) -> None:
        """Draw what nobody in the shop knows; heavier, by how much all beads weigh more than they are listed [-]; weighed,
        the share of flies that are weighed in water."""
        self.weighed = weighed
        self.random = np.random.default_rng(seed)
        self.gain = self.random.normal(0, 0.003)
        self.metal = {name: heavier + self.random.normal(0, 0.03) for name in GOLD}
        self.packet: dict[str, float] = {}
        self.habits = {k: self._habit(k) for k in range(9)}
        self.variant: dict[str, float] = {}
        self.count = 0

    def _habit(self, k: int) -> tuple[str, float, float, float, float, float]:
        """Return a pattern: style, turns, loose dressing [kg] at 4 mm of gape, factors on both, exponent of bending."""
        draw, style = self.random, STYLES[k % 6]
        turns = {"hackled": draw.uniform(3, 6), "soft": draw.uniform(1.5, 3)}.get(style, 0.0)
        loose = {"slick": 0, "ribbed": 3, "dubbed": 12, "hackled": 8, "soft": 8, "bulky": 30}[style] * 1e-6
        loose *= draw.uniform(0.7, 1.4)
        factors = np.exp(draw.normal(0, 0.35) + draw.normal(0, 0.25, 2))
        return style, turns, loose, float(factors[0]), float(factors[1]), draw.uniform(0.0, 0.35)

    def tie(self) -> Case:
        """Return a fly of a random variant."""
        draw = self.random
        k, size = int(draw.integers(9)), int(draw.choice([10, 12, 14, 16]))
        metal, bead = str(draw.choice(list(GOLD))), float(draw.choice(BEADS_MM)) * 1e-3
        hook, (style, turns, loose, *_) = usual_hook(size), self.habits[k]
        code = f"p{k}-{metal}-{bead * 1e3:g}-{size}"
        build = Build(
            code,
            f"p{k}",
            style,
            bead,
            hook.gape.value,
            hook.shank.value,
            turns,
            loose * (size / 12.0) ** -2,
            style == "slick",
        )
        packet = f"{metal}-{bead * 1e3:g}"
        parts = _parts(build, GOLD[metal], size)
        off = self.metal[metal] + self.packet.setdefault(packet, draw.normal(0, 0.05)) + draw.normal(0, 0.01)
        told = weight_from_parts(parts, ROOM)
        told = replace(told, by_parts=by_parts(parts, ROOM.density, packet, metal))
        weight = sum(
            9.80665
            * one.apparent_mass(ROOM.density).value
            * (1 + off if one.name == "bead" else np.exp(draw.normal(0, 0.03)))
            for one in parts
        )
        speed = self._speed(build, k, weight)
        return Case(self._measured(build, parts, told, weight, speed), told, speed)

    def _speed(self, build: Build, k: int, weight: float) -> float:
        _, turns, _, hairy, furry, bend = self.habits[k]
        own = self.variant.setdefault(build.code, float(np.exp(self.random.normal(0, 0.05))))
        own *= float(np.exp(self.random.normal(0, 0.06)))
        gape, bead = build.hook_gape, build.bead_diameter or 0.0
        sheltered = 1 / (1 + (0.6 * bead / gape) ** 2)

        def push(speed: float) -> float:
            reynolds = speed * bead / ROOM.kinematic_viscosity
            ball = math.pi / 4 * bead**2 * (0.4 + 18 / reynolds**0.8)
            lean = 1 + 0.25 * (build.hook_shank / bead - 2)
            wire = 0.12 * gape * gape * max(lean, 0.3)
            fibres = 0.22 * turns * gape**2 * hairy * (speed / 0.3) ** -bend
            fur = 0.5 * furry * build.loose_mass / (110.0 * build.hook_shank) * sheltered
            area = ball + wire + fibres * sheltered + fur
            return own * 0.5 * ROOM.density * speed**2 * area - weight

        return float(brentq(push, 0.01, 4.0))

    def _measured(
        self, build: Build, parts: list[SolidPart], told: SubmergedWeight, weight: float, speed: float
    ) -> MeasuredFly:
        draw = self.random
        self.count += 1
        shown = weight / 9.80665 * (1 + self.gain) + draw.normal(0, 0.8e-6)
        weighed = on_scale(
            weight_weighed_in_water(Measured(shown, 1.05e-6), [_light(one) for one in parts], ROOM)
        )
        weighed = replace(weighed, by_parts=told.by_parts)
        seen = speed * (1 + draw.normal(0, 0.012))
        known = weighed if draw.random() < self.weighed else told
        return MeasuredFly(
            f"f{self.count}", build, known, seen, 0.012 * speed, 0.004 * speed, ROOM.temperature, 0.0, 1, 5
        )


def _light(part: SolidPart) -> SolidPart:
    """Return a part that refuses no reading: what it weighs is wrong here."""
    return replace(part, mass=Measured(0.5 * part.mass.value, 0.1 * part.mass.value))


def _parts(build: Build, metal: PartMetal, size: int) -> list[SolidPart]:
    parts = [usual_hook(size).part, dressing(Measured(build.loose_mass + 4e-6, 2e-6))]
    assert build.bead_diameter is not None
    return [*parts, usual_bead(trade_diameter(build.bead_diameter), metal, Bore.SLOTTED)]


@cache
def published() -> tuple[dict[str, str], ...]:
    """Return the bodies of Goral et al. (2023), doi:10.1016/j.envres.2023.115783, fibres left out."""
    path = Path(__file__).resolve().parents[1] / "published" / "goral.csv"
    with path.open(newline="", encoding="utf-8") as lines:
        return tuple(row for row in csv.DictReader(lines) if row["shape"] != "fiber")


NU = 9.842e-7
WATER = Water(brentq(lambda kelvin: Water(kelvin).kinematic_viscosity - NU, 285.0, 300.0))
_SHAPES = {
    "sphere": "slick",
    "cyl": "ribbed",
    "cube": "dubbed",
    "disk": "bulky",
    "plate": "bulky",
    "tetra": "hackled",
}


def bodies(seed: int) -> list[Case]:
    """Return the published bodies as flies in random order: bead of equal volume, gape its longest side."""
    found = []
    for row in published():
        size, longest = (
            float(row["dv_mm"]) / 1e3,
            max(float(row[name]) for name in ("a_mm", "b_mm", "c_mm")) / 1e3,
        )
        shape = row["shape"].split("-")[0]
        build = Build(row["no"], shape, _SHAPES.get(shape, "soft"), size, longest, longest, 0.0, 0.0, False)
        body = sized_part("body", Measured(math.pi / 6 * size**3, 0.0), Measured(float(row["rho_p"]), 2.0))
        weight = weight_from_parts([body], WATER)
        speed, noise = float(row["ws_mm_s"]) / 1e3, float(row["sd_mm_s"]) / 1e3
        measured = MeasuredFly(
            row["no"], build, weight, speed, noise, 0.002 * speed, WATER.temperature, 0.0, 1, 5
        )
        found.append(Case(measured, weight, speed))
    order = np.random.default_rng(seed).permutation(len(found))
    return [found[k] for k in order]
