"""Shops of ``shop_worlds`` as the program sees them: sides of their flies, and how often it is right about them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import count, groupby

import numpy as np
from shop_worlds import CARD, CORNERS, PLACE, READING, WALLS, World, WorldRun, WorldShop, shop_of_world

from flybench.bench.fit.drop_pooling import pool_drops
from flybench.shop.speeds.run_parts import RunParts, freedom_of_drops
from flybench.shop.speeds.shop_spreads import ShopSpreads, spreads_of
from flybench.shop.speeds.sides import FlyRuns, fly_side
from flybench.statistics.comparing import ALIKE, Beforehand, Comparison, Repeat, Side, compare, differ
from flybench.statistics.student import factor

Bin = tuple[float, float]
BINS: tuple[Bin, ...] = ((0.5, 0.7), (0.7, 0.85), (0.85, 0.95), (0.95, 1.01))
"""Odds of the faster one, from and to [-]."""


def sides_of(made: WorldShop) -> dict[str, Side]:
    """Return the flies of a shop as sides."""
    parts, spreads = parts_of(made)
    return {fly: fly_side(FlyRuns(fly, tuple(of)), spreads) for fly, of in parts.items()}


def parts_of(made: WorldShop) -> tuple[dict[str, list[RunParts]], ShopSpreads]:
    """Return the runs of a shop by fly, and what they show of spreads."""
    numbers = count(1)
    runs = [_parts(run, next(numbers)) for run in made.runs]
    by_fly = groupby(sorted(runs, key=lambda run: (run.fly, run.number)), lambda run: run.fly)
    return {fly: list(of) for fly, of in by_fly}, spreads_of(runs)


def _parts(run: WorldRun, number: int) -> RunParts:
    pooled = pool_drops(run.drops, READING * run.drops)
    shares = {
        ("card", "one"): CARD,
        ("set-up", str(run.evening)): PLACE,
        ("fly", run.fly): WALLS,
        ("clip", str(number)): CORNERS,
    }
    own = pooled.standard_uncertainty / pooled.value / factor(freedom_of_drops(len(run.drops)))
    return RunParts(run.fly, pooled.value, own, shares, 291.15, len(run.drops), run.variant, number)


def held(made: WorldShop) -> Iterator[tuple[int, bool]]:
    """Give for each fly how many runs it has, and whether its interval (k = 2) holds the truth."""
    for fly, side in sides_of(made).items():
        runs = sum(run.fly == fly for run in made.runs)
        yield runs, abs(side.speed - made.flies[fly]) <= 2 * side.uncertainty


def twins_told_apart(made: WorldShop) -> list[bool]:
    """Return for the two flies of each variant whether they are told apart, as the ladder does."""
    sides = sides_of(made)
    return [differ(sides[f"{one}-0"], sides[f"{one}-1"]) for one in made.variants]


def odds_of(made: WorldShop) -> Iterator[tuple[float, bool]]:
    """Give for the two flies of each variant the odds of the likelier one, and whether it is the faster one."""
    parts, spreads = parts_of(made)
    for variant in made.variants:
        one, other = f"{variant}-0", f"{variant}-1"
        odds = _compared(parts, spreads, one, other).odds
        yield max(odds, 1 - odds), (odds > 0.5) == (made.flies[one] > made.flies[other])


def settled_of(world: World, seed: int) -> Iterator[bool]:
    """Give for the two flies of each variant that so many more runs of each would settle, whether those runs did: the world
    goes on as it was, on evenings of its own choice."""
    made, random = shop_of_world(world, seed), np.random.default_rng(10**6 + seed)
    parts, spreads = parts_of(made)
    for variant in made.variants:
        flies = f"{variant}-0", f"{variant}-1"
        need = _compared(parts, spreads, *flies).needs.get(Repeat.RUNS)
        if need is None or need.count is None:
            continue
        later = replace(made, runs=list(made.runs))
        for fly in flies:
            evenings = random.integers(world.evenings, size=need.count)
            later.seen(world, fly, variant, [int(one) for one in evenings], random)
        found = _compared(*parts_of(later), *flies)
        yield found.told_apart or found.alike


def _compared(
    parts: Mapping[str, Sequence[RunParts]], spreads: ShopSpreads, one: str, other: str
) -> Comparison:
    """Return two flies of a variant compared, as ``compared_flies`` does it."""
    first, second = (fly_side(FlyRuns(fly, tuple(parts[fly])), spreads) for fly in (one, other))
    size, squares = spreads.between_two(parts[one][0].variant)
    beforehand = Beforehand(math.sqrt(2) * size * first.speed, ALIKE * first.speed, squares)
    return compare(first, second, beforehand)


def binned(found: Sequence[tuple[float, bool]]) -> dict[Bin, tuple[int, float, float]]:
    """Return for each bin of odds how many there are, the odds said and the share that was right."""
    odds, right = (np.array(column) for column in zip(*found, strict=True))
    told = {}
    for low, high in BINS:
        inside = (odds >= low) & (odds < high)
        if inside.any():
            told[low, high] = int(inside.sum()), float(odds[inside].mean()), float(right[inside].mean())
    return told
