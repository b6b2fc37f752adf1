"""Invented shops with known truth whose runs, drops, flies and evenings obey other laws than the program's model.

Nothing of the program is in here. Runs of a fly scatter by one of five laws, each with the standard deviation asked for:
normal; lognormal; skewed (a gamma law of two, as where now and then air is left in the dressing); Student's t of three
degrees of freedom; and a drift over the evening, each run a little faster than the one before, with an evening's own level.
Flies scatter unlike from variant to variant, between 1 % and 8 %. Cards, distances and walls are off by errors that are drawn
once for what has them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Random = np.random.Generator
CARD, PLACE, WALLS, CORNERS = 0.005, 0.006, 0.004, 0.002
"""Standard deviations, as shares of the speed, of what is off by card, by evening, by fly and by clip (invented)."""
DROP, READING = 0.012, 0.004
"""Standard deviations of drops about their run and of reading a drop, as shares of the speed (invented)."""


@dataclass(frozen=True)
class World:
    """A kind of shop: spread between runs, its law, how many runs each fly has in turn, and whether the two flies of a
    variant are equal."""

    run_spread: float
    law: str = "normal"
    runs: tuple[int, ...] = (1, 2, 3, 4, 5, 6)
    variants: int = 12
    twins: bool = False
    evenings: int = 4
    speeds: tuple[float, float] = (0.15, 0.60)


@dataclass(frozen=True)
class WorldRun:
    """A run: the speeds of its drops as seen [m/s], and the evening on which it was made."""

    fly: str
    variant: str
    evening: int
    drops: Floats


@dataclass
class WorldShop:
    """A shop of a world: its runs and the true speeds [m/s] of flies and variants."""

    runs: list[WorldRun] = field(default_factory=list)
    flies: dict[str, float] = field(default_factory=dict)
    variants: dict[str, float] = field(default_factory=dict)
    card: float = 0.0
    places: list[float] = field(default_factory=list)
    walls: dict[str, float] = field(default_factory=dict)

    def seen(self, world: World, fly: str, variant: str, evenings: Sequence[int], random: Random) -> None:
        """Add runs of a fly, one on each of these evenings, with all that is off there."""
        for drops, evening in zip(
            _runs(world, self.flies[fly], len(evenings), random), evenings, strict=True
        ):
            off = 1 + self.card + self.places[evening] + self.walls[fly] + CORNERS * random.normal()
            self.runs.append(WorldRun(fly, variant, evening, drops * off))


def shop_of_world(world: World, seed: int) -> WorldShop:
    """Return one shop of a world."""
    random = np.random.default_rng(seed)
    made = WorldShop(card=CARD * random.normal(), places=list(PLACE * random.normal(size=world.evenings)))
    for number in range(world.variants):
        variant = f"v{number}"
        made.variants[variant] = float(np.exp(random.uniform(*np.log(world.speeds))))
        between = 0.0 if world.twins else 0.01 * 8 ** (number / max(world.variants - 1, 1))
        for which in range(2):
            fly = f"{variant}-{which}"
            made.flies[fly] = made.variants[variant] * float(np.exp(between * random.normal()))
            made.walls[fly] = WALLS * random.normal()
            count = world.runs[(2 * number + which) % len(world.runs)]
            made.seen(
                world, fly, variant, [int(one) for one in random.integers(world.evenings, size=count)], random
            )
    return made


def _runs(world: World, truth: float, count: int, random: Random) -> list[Floats]:
    """Return the drops of so many runs of a fly."""
    found = []
    for share in _LAWS[world.law](random, count, world.run_spread):
        drops = int(random.integers(3, 7))
        noise = DROP * random.normal(size=drops) + READING * random.normal(size=drops)
        found.append(truth * share * (1 + noise))
    return found


def _normal(random: Random, count: int, spread: float) -> Floats:
    return 1 + spread * random.normal(size=count)


def _lognormal(random: Random, count: int, spread: float) -> Floats:
    return np.asarray(np.exp(spread * random.normal(size=count) - spread**2 / 2))


def _skewed(random: Random, count: int, spread: float) -> Floats:
    return 1 - spread * (random.gamma(2.0, 1.0, count) - 2.0) / np.sqrt(2.0)


def _tailed(random: Random, count: int, spread: float) -> Floats:
    return 1 + spread * np.clip(random.standard_t(3, count) / np.sqrt(3.0), -8, 8)


def _drifting(random: Random, count: int, spread: float) -> Floats:
    """Half of the variance is a rise over the evening, half is each run's own."""
    rise = np.sort(random.uniform(-1, 1, count)) * np.sqrt(3.0)
    return 1 + spread * (rise + random.normal(size=count)) / np.sqrt(2.0)


_LAWS: Mapping[str, Callable[[Random, int, float], Floats]] = {
    "normal": _normal,
    "lognormal": _lognormal,
    "skewed": _skewed,
    "t-tailed": _tailed,
    "drifting": _drifting,
}
LAWS = tuple(_LAWS)
"""Names of the laws by which runs scatter."""
