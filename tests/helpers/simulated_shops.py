"""Invented shops whose flies sink by a truth of their own: parts of a fly added up one by one.

The truth shares no formula with the product's model beyond Newton's balance: the bead drags by Clift, Grace & Weber
as coded in the registry library fluids, fibres and wire across the flow by White's cylinder law
(1 + 10 Re^(-2/3), from memory) each at its own Reynolds number, dubbing as a blunt body whose coefficient does not
change; hands, hackles and furs differ by factors drawn at random.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import fluids
import numpy as np
from scipy.optimize import brentq
from usual_bead import usual_bead

from flybench.hydraulics.water import Water
from flybench.quantity import Measured
from flybench.sinking.drag.tied_fly import STYLES, Build, MeasuredFly
from flybench.sinking.weight.bead import Bore, trade_diameter
from flybench.sinking.weight.hook_and_ballast import usual_hook
from flybench.sinking.weight.parts import PartMetal, SolidPart, dressing
from flybench.sinking.weight.submerged import SubmergedWeight
from flybench.sinking.weight.ways import weight_from_mass, weight_from_parts

GRAVITY = 9.80665
BEADS_MM = (2.0, 2.3, 2.5, 2.8, 3.0, 3.3, 3.5, 3.8)


@dataclass(frozen=True)
class Truth:
    """What nobody in the shop knows of a fly: factors on hackle, fur and wire, the whole's own, and its weight [N]."""

    hackle: float
    loose: float
    wire: float
    whole: float
    weight: float


@dataclass(frozen=True)
class Tied:
    """A fly of an invented shop: build, truth, what its parts say of its weight."""

    build: Build
    truth: Truth
    parts: SubmergedWeight

    def speed(self, water: Water) -> float:
        """Return the true sink speed [m/s]."""

        def excess(speed: float) -> float:
            return self.truth.whole * pull(self.build, self.truth, speed, water) - self.truth.weight

        return float(brentq(excess, 0.005, 5.0))


def pull(build: Build, truth: Truth, speed: float, water: Water) -> float:
    """Return the true drag [N]."""
    area = 0.0
    if build.bead_diameter:
        reynolds = speed * build.bead_diameter / water.kinematic_viscosity
        area += np.pi / 4 * build.bead_diameter**2 * fluids.drag_sphere(reynolds, Method="Clift")
    wire, stem = 0.13 * build.hook_gape, 0.04e-3
    area += truth.wire * 0.6 * wire * build.hook_gape * _across(speed * wire / water.kinematic_viscosity)
    fibres = 0.06 * build.hook_gape * stem * 40 * build.hackle_turns
    area += truth.hackle * fibres * _across(speed * stem / water.kinematic_viscosity)
    area += truth.loose * 0.45 * build.loose_mass / (130.0 * build.hook_shank)
    return 0.5 * water.density * speed**2 * area


def _across(reynolds: float) -> float:
    return 1 + 10 * reynolds ** (-2 / 3)


class SimulatedShop:
    """A shop with measured flies of six styles, and builds it has not tied yet."""

    def __init__(self, seed: int, flies: int = 40, spread: float = 0.25) -> None:
        """Make patterns and the truth behind them."""
        self.random = np.random.default_rng(seed)
        self.water = Water(291.15)
        self.spread = spread
        self.styles = {style: self._factors(spread) for style in STYLES}
        self.patterns = {f"p{k}": self._pattern(STYLES[k % 6]) for k in range(max(flies // 3, 1))}
        self.pattern_truth = {
            name: self.styles[build.style] * self._factors(spread / 1.5)
            for name, build in self.patterns.items()
        }
        self.variant_whole: dict[str, float] = {}
        names = list(self.patterns)
        wanted = [self._variant(names[k % len(names)]) for k in range((flies + 1) // 2)]
        tied = [self.tie(build) for build in wanted for _ in range(2)][:flies]
        self.shared = self.random.normal(0, 0.006)
        self.measured = [self.measure(fly, f"f{k}") for k, fly in enumerate(tied)]

    def _factors(self, spread: float) -> np.ndarray:  # type: ignore[type-arg]
        common = self.random.normal(0, spread)
        return np.exp(common + self.random.normal(0, spread / 2, 3))

    def _pattern(self, style: str) -> Build:
        pick = self.random
        turns = {"hackled": pick.uniform(3, 6), "soft": pick.uniform(1.5, 3.5)}.get(style, 0.0)
        mass = {"slick": 0, "ribbed": 3, "dubbed": 11, "hackled": 7, "soft": 7, "bulky": 28}[style]
        return Build("", "", style, None, 0, 0, turns, mass * 1e-6 * pick.uniform(0.7, 1.4), style == "slick")

    def _variant(self, name: str) -> Build:
        size = int(self.random.choice([12, 14, 16]))
        hook = usual_hook(size)
        grown = hook.gape.value / 4.2e-3
        bead = float(self.random.choice(BEADS_MM)) * 1e-3
        plan = self.patterns[name]
        return replace(
            plan,
            code=f"{name}-{bead * 1e3:g}-{size}",
            pattern=name,
            bead_diameter=bead,
            hook_gape=hook.gape.value,
            hook_shank=hook.shank.value,
            loose_mass=plan.loose_mass * grown**3,
        )

    def untied(self, count: int) -> list[Build]:
        """Return builds of the shop's patterns that it has not measured."""
        known = {one.build.code for one in self.measured}
        found: dict[str, Build] = {}
        while len(found) < count:
            build = self._variant(str(self.random.choice(list(self.patterns))))
            if build.code not in known:
                found[build.code] = build
        return list(found.values())

    def tie(self, build: Build) -> Tied:
        """Return a fly tied to a build, with a truth of its own."""
        parts = parts_of(build)
        told = weight_from_parts(parts, self.water)
        factors = self.pattern_truth[build.pattern]
        variant = self.variant_whole.setdefault(build.code, float(np.exp(self.random.normal(0, 0.06))))
        whole = variant * float(np.exp(self.random.normal(0, 0.07)))
        weight = told.weight.value * float(np.exp(self.random.normal(0, told.relative_uncertainty)))
        return Tied(build, Truth(*map(float, factors), whole, weight), told)

    def measure(self, fly: Tied, code: str) -> MeasuredFly:
        """Return what the bench says of a fly, weighed on a scale of 1 mg."""
        speed = fly.speed(self.water)
        own, shared = 0.008 * speed, 0.006 * speed
        seen = speed * (1 + self.shared) + self.random.normal(0, own)
        parts = parts_of(fly.build)
        true_mass = fly.truth.weight / GRAVITY + self.water.density * sum(p.volume.value for p in parts)
        read = Measured(true_mass + self.random.normal(0, 1e-6), 1e-6)
        weight = weight_from_mass(
            read, [replace(p, mass=Measured(0.5 * p.mass.value, p.mass.value)) for p in parts], self.water
        )
        return MeasuredFly(code, fly.build, weight, seen, own, shared, 291.15, 0.0, 1, 5)


def parts_of(build: Build) -> list[SolidPart]:
    """Return the parts of a build."""
    size = {4.9: 12, 4.2: 14, 3.6: 16}[round(build.hook_gape * 1e3, 1)]
    parts = [usual_hook(size).part, dressing(Measured(build.loose_mass + 4e-6, 2e-6))]
    if build.bead_diameter:
        parts.append(usual_bead(trade_diameter(build.bead_diameter), PartMetal.TUNGSTEN, Bore.SLOTTED))
    return parts
