"""Pooling the runs of a shop to flies and the flies to variants: one rule for all that is shown of a measured fly."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

import numpy as np

from flybench.catalog.shelf.run_records import PooledFly, PooledShop, PooledVariant
from flybench.shop.speeds.kept_sides import packed
from flybench.shop.speeds.run_parts import RunParts
from flybench.shop.speeds.shop_spreads import ShopSpreads, spreads_of
from flybench.shop.speeds.sides import FlyRuns, among_flies, fly_side, variant_side
from flybench.statistics.comparing import Repeat, Side


def pool_shop(runs: Sequence[RunParts], spreads: ShopSpreads | None = None) -> PooledShop:
    """Pool the runs of each fly, and the flies to their variants; a fly of one run, and a variant of one fly, stand with
    the spread that the shop's others show.

    Parameters: spreads, those of the shop where the runs are of some variants only, else found from the runs.
    """
    spreads = spreads_of(runs) if spreads is None else spreads
    flies: dict[str, PooledFly] = {}
    variants: dict[str, PooledVariant] = {}
    ordered = sorted(runs, key=lambda run: (run.variant, run.fly, run.number))
    for variant, of_variant in groupby(ordered, lambda run: run.variant):
        each = [FlyRuns(fly, tuple(of)) for fly, of in groupby(of_variant, lambda run: run.fly)]
        flies |= {fly.code: _fly(fly, fly_side(fly, spreads)) for fly in each}
        variants[variant] = _variant(each, variant, spreads)
    return PooledShop(flies, variants)


def _fly(fly: FlyRuns, side: Side) -> PooledFly:
    return PooledFly(
        side.speed,
        side.uncertainty,
        _mean_water(fly.runs),
        len(fly.runs),
        sum(run.drops for run in fly.runs),
        packed(side),
        any(run.brought_to is not None for run in fly.runs),
    )


def _variant(flies: Sequence[FlyRuns], code: str, spreads: ShopSpreads) -> PooledVariant:
    found = among_flies(code, flies, spreads)
    side = variant_side(code, flies, spreads, found)
    count = side.counts[Repeat.FLIES]
    between = found.spread.size * side.speed if count > 1 else None
    runs = [run for fly in flies for run in fly.runs]
    brought = any(run.brought_to is not None for run in runs)
    return PooledVariant(
        side.speed, side.uncertainty, between, _mean_water(runs), count, packed(side), brought
    )


def _mean_water(runs: Sequence[RunParts]) -> float:
    return float(np.mean([run.brought_to or run.temperature for run in runs]))
