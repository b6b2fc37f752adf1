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
    variant are equal; few_unlike, whether flies of most variants are all but alike and those of every fourth differ widely,
    evenly spread and not normal (else from 1 % to 8 %, step by step)."""

    run_spread: float
    law: str = "normal"
    runs: tuple[int, ...] = (1, 2, 3, 4, 5, 6)
    variants: int = 12
    twins: bool = False
    evenings: int = 4
    speeds: tuple[float, float] = (0.15, 0.60)
    few_unlike: bool = False


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
        between = 0.0 if world.twins else _between(world, number)
        for which in range(2):
            fly = f"{variant}-{which}"
            off = random.uniform(-1, 1) * np.sqrt(3.0) if world.few_unlike else random.normal()
            made.flies[fly] = made.variants[variant] * float(np.exp(between * off))
            made.walls[fly] = WALLS * random.normal()
            count = world.runs[(2 * number + which) % len(world.runs)]
            made.seen(
                world, fly, variant, [int(one) for one in random.integers(world.evenings, size=count)], random
            )
    return made


def _between(world: World, number: int) -> float:
    """Return the standard deviation between the flies of a variant by its number, as a share of the speed."""
    if world.few_unlike:
        return 0.005 if number % 4 else 0.10
    return float(0.01 * 8 ** (number / max(world.variants - 1, 1)))


def _runs(world: World, truth: float, count: int, random: Random) -> list[Floats]:
    """Return the drops of so many runs of a fly."""
    found = []
    for share in {**_LAWS, **_FRESH_LAWS}[world.law](random, count, world.run_spread):
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


def _two_sided(random: Random, count: int, spread: float) -> Floats:
    """Laplace: pointed, with straight flanks."""
    return 1 + spread * random.laplace(size=count) / np.sqrt(2.0)


def _even(random: Random, count: int, spread: float) -> Floats:
    return 1 + spread * random.uniform(-1, 1, count) * np.sqrt(3.0)


def _now_and_then(random: Random, count: int, spread: float) -> Floats:
    """One run in eight is badly soaked and 2.5 times as far off as all are on the whole; the rest make up for it."""
    badly = random.random(count) < 1 / 8
    rest = np.sqrt((1 - 2.5**2 / 8) / (7 / 8))
    return 1 + spread * np.where(badly, 2.5, rest) * random.normal(size=count)


_LAWS: Mapping[str, Callable[[Random, int, float], Floats]] = {
    "normal": _normal,
    "lognormal": _lognormal,
    "skewed": _skewed,
    "t-tailed": _tailed,
    "drifting": _drifting,
}
LAWS = tuple(_LAWS)
"""Names of the laws by which runs scatter."""
_FRESH_LAWS = {"two-sided": _two_sided, "even": _even, "now and then": _now_and_then}
FRESH_LAWS = tuple(_FRESH_LAWS)
"""Names of other laws, on which no constant of the program was chosen."""
