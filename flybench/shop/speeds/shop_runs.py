"""The runs of a shop that count, fly by fly, and the spreads that they show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from flybench.catalog.tables.flies import Fly
from flybench.shop.speeds.run_parts import RunParts, parts_without_runs
from flybench.shop.speeds.shop_spreads import ShopSpreads, spreads_of


@dataclass(frozen=True)
class ShopRuns:
    """The runs of a shop that count, by fly, and the spreads that they show."""

    by_fly: Mapping[str, tuple[RunParts, ...]]
    spreads: ShopSpreads

    def of(self, fly: Fly) -> tuple[RunParts, ...]:
        """Return the runs of a fly; where its speed stands without them, that speed."""
        known = self.by_fly.get(fly.code, ())
        if known or fly.speed is None:
            return known
        return (parts_without_runs(fly.code, fly.variant.code, fly.speed),)


def shop_runs(runs: Sequence[RunParts]) -> ShopRuns:
    """Return the runs of a shop by fly, and what they show of spreads."""
    return ShopRuns(runs_by_fly(runs), spreads_of(runs))


def runs_by_fly(runs: Sequence[RunParts]) -> dict[str, tuple[RunParts, ...]]:
    """Return runs by the code of their fly, in their order."""
    by_fly: dict[str, list[RunParts]] = {}
    for run in runs:
        by_fly.setdefault(run.fly, []).append(run)
    return {code: tuple(of) for code, of in by_fly.items()}
