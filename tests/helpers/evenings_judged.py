"""Differences of flies of ``evening_worlds`` as the program sees them, in stated standard uncertainties off the truth."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from evening_worlds import PLACES, EveningShop, met

from flybench.catalog.shelf.run_records import RunSpeed
from flybench.quantity import Floats
from flybench.shop.speeds.run_parts import parts_of_run
from flybench.shop.speeds.shop_runs import shop_runs
from flybench.shop.speeds.sides import FlyRuns, fly_side
from flybench.statistics.comparing import compare

PAIRS, OTHERS, RUNS_OF_OTHERS = 1, 8, 3
"""Pairs of equal flies that are asked about in a shop (two would be off alike); its other flies, which show how much runs
differ; and their runs, all on one evening, as is usual."""


def as_made(run: RunSpeed) -> RunSpeed:
    """Return a run as it is."""
    return run


def away(
    kind: str, *, runs: int, shops: int, first: int = 0, seen: Callable[[RunSpeed], RunSpeed] = as_made
) -> Floats:
    """Return by how many stated standard uncertainties the differences of equal flies are off, pair by pair.

    Parameters: kind, where and when the two were filmed (``evening_worlds.met``); runs of each; shops, how many, from the
    seed ``first`` on; seen, what the program gets to see of a run.
    """
    return np.array([one for seed in range(first, first + shops) for one in _off(kind, runs, seed, seen)])


def _off(kind: str, runs: int, seed: int, seen: Callable[[RunSpeed], RunSpeed]) -> list[float]:
    shop = EveningShop(seed)
    records: list[RunSpeed] = []
    for pair in range(PAIRS):
        truth = float(np.exp(shop.random.uniform(np.log(0.15), np.log(0.6))))
        for fly, where in zip(("one", "other"), met(kind, runs), strict=True):
            records += shop.runs(f"{fly} {pair}", truth, where)
    for number in range(OTHERS):
        evening = PLACES[number % 2], int(shop.random.integers(20))
        records += shop.runs(f"fly {number}", 0.3, [evening] * RUNS_OF_OTHERS)
    found = shop_runs([parts_of_run(seen(run)) for run in records])
    side = {fly: fly_side(FlyRuns(fly, of), found.spreads) for fly, of in found.by_fly.items()}
    pairs = [compare(side[f"one {pair}"], side[f"other {pair}"]) for pair in range(PAIRS)]
    return [one.difference / one.uncertainty for one in pairs]
