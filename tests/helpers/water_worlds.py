"""Invented worlds of flies whose drag follows other laws than the model's, and shops that measured them.

Each world says how the drag area of a fly goes with speed and viscosity, by laws that the product's drag model does not
have: compact bodies by Ganser and by Haider and Levenspiel (constants from memory), brushes of fibres whose drag goes
with a power of their own Reynolds number and that bend back with speed, bundles of cylinders by Sucker and Brauer
(1975, from memory), plates of one coefficient, balls with a dip of drag in the middle of their range, and flies that mix
three of these. Weights and sizes are those of the trade (common practice, no source). Only Newton's balance, solved by
scipy, is shared with the product; water comes from it, and is checked in tests/published.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import fluids
import numpy as np
from scipy.optimize import brentq

from flybench.hydraulics.water import Water
from flybench.quantity import Measured
from flybench.sinking.drag.tied_fly import STYLES, Build, MeasuredFly
from flybench.sinking.weight.parts import PartMetal, metal_part
from flybench.sinking.weight.submerged import SubmergedWeight
from flybench.sinking.weight.ways import weight_from_parts

Area = Callable[[float, float], float]
"""Drag area [m2] at a speed [m/s] in water of a kinematic viscosity [m2/s]."""
BEADS_MM = (2.0, 2.4, 2.8, 3.3, 3.8)
RUN, OWN, SHARED = 0.015, 0.006, 0.008
"""What a bench adds [-]: from evening to evening, within an evening, and by one scale for all of an evening."""
STATED = float(np.hypot(RUN, OWN))
"""What the bench states of the first two [-]."""


@dataclass(frozen=True)
class Habit:
    """What flies of a pattern have in common: a shape and a size factor [-], each from 0 to 1, drawn once."""

    shape: float
    size: float
    other: float
    law: int


def compact(habit: Habit, bead: float) -> Area:
    """Return bodies of sphericity 0.65 to 0.95: Ganser (1993) or Haider and Levenspiel (1989), by pattern."""
    phi, wide = 0.65 + 0.3 * habit.shape, bead * (1.2 + 0.8 * habit.size)
    law = _ganser if habit.law % 2 else _haider_levenspiel
    return lambda speed, nu: np.pi / 4 * wide**2 * law(speed * wide / nu, phi)


def _ganser(reynolds: float, phi: float) -> float:
    stokes, newton = 1 / (1 / 3 + 2 / 3 * phi**-0.5), 10 ** (1.8148 * (-np.log10(phi)) ** 0.5743)
    both = reynolds * stokes * newton
    return 24 / (reynolds * stokes) * (1 + 0.1118 * both**0.6567) + 0.4305 * newton / (1 + 3305 / both)


def _haider_levenspiel(reynolds: float, phi: float) -> float:
    a = np.exp(2.3288 - 6.4581 * phi + 2.4486 * phi**2)
    b = 0.0964 + 0.5565 * phi
    c = np.exp(4.905 - 13.8944 * phi + 18.4222 * phi**2 - 10.2599 * phi**3)
    d = np.exp(1.4681 + 12.2584 * phi - 20.7322 * phi**2 + 15.8855 * phi**3)
    return 24 / reynolds * (1 + a * reynolds**b) + c / (1 + d / reynolds)


def brush(habit: Habit, bead: float) -> Area:
    """Return fibres whose coefficient goes with Re^-n, n from 0.35 to 0.6, and that bend back with speed."""
    power, bent, thick = 0.35 + 0.25 * habit.shape, 0.3 * habit.other, 30e-6
    many = bead * 4e-3 * (0.4 + habit.size)

    def area(speed: float, nu: float) -> float:
        return 3.0 * many * (speed * thick / nu / 10) ** -power * (speed / 0.3) ** -bent

    return area


def cylinders(habit: Habit, bead: float) -> Area:
    """Return wires and ribs of 0.1 to 0.6 mm across the flow, Sucker and Brauer (1975), behind a smooth ball."""
    thick, long = (0.1 + 0.5 * habit.shape) * 1e-3, (10 + 20 * habit.size) * 1e-3

    def area(speed: float, nu: float) -> float:
        re = speed * thick / nu
        across = 1.18 + 6.8 / re**0.89 + 1.96 / re**0.5 - 0.0004 * re / (1 + 3.64e-7 * re**2)
        ball = fluids.drag_sphere(speed * bead / nu, Method="Clift")
        return thick * long * across + np.pi / 4 * bead**2 * ball

    return area


def plate(habit: Habit, bead: float) -> Area:
    """Return blunt bodies with one coefficient at all speeds and in all waters."""
    face = bead**2 * (1.0 + 3.0 * habit.size)
    return lambda speed, nu: 1.1 * face


def dip(habit: Habit, bead: float) -> Area:
    """Return balls that lose up to a quarter of their drag about some Reynolds number from 600 to 2500."""
    middle, deep, wide = 600 * (2500 / 600) ** habit.shape, 0.25 * habit.other, bead * (1.2 + habit.size)

    def area(speed: float, nu: float) -> float:
        re = speed * wide / nu
        lost = deep * np.exp(-0.5 * (np.log(re / middle) / 0.6) ** 2)
        return np.pi / 4 * wide**2 * 1.4 * fluids.drag_sphere(re, Method="Clift") * (1 - lost)

    return area


def mixture(habit: Habit, bead: float) -> Area:
    """Return a compact body, a brush and a plate, each pattern with its own shares of them."""
    shares = np.array([habit.shape, habit.other, 1 - habit.size]) + 0.1
    parts = [law(habit, bead) for law in (compact, brush, plate)]
    scales = [0.5 * parts[0](0.3, 1e-6) / part(0.3, 1e-6) for part in parts]

    def area(speed: float, nu: float) -> float:
        each = [k * part(speed, nu) for k, part in zip(scales, parts, strict=True)]
        return float(2 * shares @ each / shares.sum())

    return area


WORLDS: dict[str, Callable[[Habit, float], Area]] = {
    "compact bodies": compact,
    "brushes": brush,
    "cylinders": cylinders,
    "plates": plate,
    "a dip": dip,
    "mixtures": mixture,
}


@dataclass(frozen=True)
class TrueFly:
    """A fly of a world: how it is tied, its true weight, and its true drag area."""

    code: str
    build: Build
    weight: SubmergedWeight
    area: Area

    def speed(self, water: Water) -> float:
        """Return the true sink speed in water [m/s], by Newton's balance."""
        push = self.weight.in_water(water).weight.value

        def excess(speed: float) -> float:
            return 0.5 * water.density * speed**2 * self.area(speed, water.kinematic_viscosity) - push

        return float(brentq(excess, 0.01, 4.0))


class WorldShop:
    """A shop in one of the worlds: flies of some patterns, each dropped in one water or in several."""

    def __init__(self, world: str, seed: int, flies: int = 30, patterns: int = 10) -> None:
        """Draw patterns and tie flies of them."""
        self.random = np.random.default_rng([seed, list(WORLDS).index(world)])
        self.law = WORLDS[world]
        drawn = self.random.uniform(size=(patterns, 3))
        habits = [Habit(*map(float, row), law) for law, row in enumerate(drawn)]
        self.flies = [self._tied(k, k % patterns, habits[k % patterns]) for k in range(flies)]

    def _tied(self, number: int, pattern: int, habit: Habit) -> TrueFly:
        """Return a fly: its pattern's habit with a hand's spread, on one of the beads."""
        moved = self.random.normal(0, 0.06, 3)
        values = np.clip([habit.shape + moved[0], habit.size + moved[1], habit.other + moved[2]], 0, 1)
        mine = Habit(*map(float, values), habit.law)
        bead = float(self.random.choice(BEADS_MM)) * 1e-3
        metal = PartMetal.TUNGSTEN if self.random.uniform() < 0.6 else PartMetal.BRASS
        build = Build(
            f"p{pattern}-{bead * 1e3:g}",
            f"p{pattern}",
            STYLES[pattern % len(STYLES)],
            bead,
            4.2e-3,
            7e-3,
            3.0 if STYLES[pattern % len(STYLES)] == "hackled" else 0.0,
            8e-6,
            False,
        )
        area, factor = self.law(mine, bead), float(np.exp(self.random.normal(0, 0.05)))
        return TrueFly(f"f{number}", build, _weight(bead, metal), lambda speed, nu: factor * area(speed, nu))

    def measured(self, celsius: float, flies: list[TrueFly] | None = None) -> list[MeasuredFly]:
        """Return flies as the bench states them after an evening in water of this temperature [degC]."""
        water = Water(celsius + 273.15)
        shared = self.random.normal(0, SHARED)
        found = []
        for fly in self.flies if flies is None else flies:
            true = fly.speed(water)
            seen = true * float(np.exp(shared + self.random.normal(0, RUN) + self.random.normal(0, OWN)))
            heavy = replace(fly.weight, weight=_read(fly.weight.weight.value, self.random))
            found.append(
                MeasuredFly(
                    fly.code,
                    fly.build,
                    heavy.in_water(water),
                    seen,
                    STATED * seen,
                    SHARED * seen,
                    celsius + 273.15,
                    0.0,
                    1,
                    5,
                )
            )
        return found


def _read(weight: float, random: np.random.Generator) -> Measured:
    return Measured(weight * float(np.exp(random.normal(0, 0.01))), 0.01 * weight)


def _weight(bead: float, metal: PartMetal) -> SubmergedWeight:
    """Return the weight of a bead of this diameter [m] with a bore, and of a hook, in water of 18 degC."""
    ball = metal_part("bead", Measured(0.75 * np.pi / 6 * bead**3, 0.0), metal)
    hook = metal_part("hook", Measured(3.5e-9, 0.0), PartMetal.STEEL)
    return weight_from_parts([ball, hook], Water(291.15))


def true_change(fly: TrueFly, here: float, there: float) -> float:
    """Return the true speed in water of one temperature over that in another, both in kelvin [-]."""
    return fly.speed(Water(there)) / fly.speed(Water(here))
