"""How much runs of a fly and flies of a variant differ in a shop: what is usual, and what all its runs show of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import groupby

import numpy as np

from flybench.shop.speeds.run_parts import RunParts, by_water, once_each
from flybench.statistics.pooling import weights
from flybench.statistics.spread import Group, Spread, least_spread, own_spread, seen
from flybench.statistics.unlike import unlike_variances

USUAL_RUNS = Spread(0.02, 2.0)
"""Expected standard deviation between runs of one fly, as a share of the speed, soaked and let go anew; two degrees of
freedom, so that it is anything from 1.2 to 9 %, and a shop whose runs differ otherwise is soon believed (judgement)."""
USUAL_FLIES = Spread(0.04, 2.0)
"""Expected standard deviation between flies of one variant, as a share of the speed: a hand's spread in tying (judgement)."""
USUAL_VARIANTS = 0.3
"""Standard deviation between the variants of a shop, as a share of the speed, where fewer than three are measured [-]: a box
from 20 to 50 cm/s (judgement)."""
MOST_ALIKE = 10.0
"""Degrees of freedom with which one fly's runs scatter as those of the shop's other flies do, and one variant's flies as
those of other variants, were those known for certain [-]: spreads then differ by a quarter from fly to fly (judgement)."""
MOST_RUNS = 2000
"""Newest runs of a shop from which spreads are learned [-]: they tell them to 2 %, a step of what is expected (judgement)."""
_STEP_OF_SIZE, _STEP_OF_FREEDOM = 0.02, 0.1
"""Steps of what is expected of a spread, as shares of it, and of its degrees of freedom [-]: the newest runs tell it no
better (judgement); a standard uncertainty is off by half a step at the most, 1 % of the part that spreads make of it."""
_FEW = 12
"""Groups up to which what a fly itself showed is left out of what is expected of it [-]; of more it is little (judgement)."""

Groups = Mapping[str, Sequence[Group]]
"""Groups of relative values by the variant that they are of."""


@dataclass(frozen=True)
class ShopSpreads:
    """What the runs of a shop show of spreads, as shares of the speed: between runs of a fly, between flies of a variant, and
    between variants."""

    runs: Spread = USUAL_RUNS
    flies: Spread = USUAL_FLIES
    variants: float = USUAL_VARIANTS
    run_groups: Groups = field(default_factory=dict)
    fly_groups: Groups = field(default_factory=dict)
    _two: dict[str, tuple[float, tuple[float, ...]]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    """What was asked before, by variant: all pairs of its flies ask alike."""

    def between_two(self, variant: str) -> tuple[float, tuple[float, ...]]:
        """Return the spread between two flies of a variant before either is looked at: the root of its mean square, as a
        share of the speed, and equally likely squares over that [-].

        Flies of a bare pattern differ by little, those of a bushy one by much: how unlike variants are is learned from the
        shop's others.
        """
        if variant not in self._two:
            others = [one for code, of in self.fly_groups.items() if code != variant for one in of]
            squares = unlike_variances(USUAL_FLIES.size, others)
            mean = float(squares.mean())
            self._two[variant] = math.sqrt(mean), tuple((squares / mean).tolist())
        return self._two[variant]

    def of_runs(self, variant: str, group: Group) -> Spread:
        """Return the spread between runs of one fly, or of the flies of one variant, from the shop's and its own."""
        return own_spread(self.expected_runs(variant), group)

    def of_flies(self, variant: str, group: Group) -> Spread:
        """Return the spread between the flies of a variant, from the shop's and its own."""
        return least_spread(self.expected_flies(variant), group)

    def expected_runs(self, variant: str) -> Spread:
        """Return what is expected of the runs of a variant's flies before these are looked at."""
        return _expected(self.runs, USUAL_RUNS, self._few[0], variant)

    def expected_flies(self, variant: str) -> Spread:
        """Return what is expected of a variant's flies before these are looked at."""
        return _expected(self.flies, USUAL_FLIES, self._few[1], variant)

    @cached_property
    def _few(self) -> tuple[Groups, Groups]:
        """Return the groups of runs and of flies where they are few, else none."""
        runs, flies = (
            groups if sum(map(len, groups.values())) <= _FEW else {}
            for groups in (self.run_groups, self.fly_groups)
        )
        return runs, flies


def _expected(shop: Spread, usual: Spread, few: Groups, variant: str) -> Spread:
    """Return what is expected of a variant before its own runs are looked at; few, the shop's groups where they are few."""
    found = shop
    if variant in few:
        found = seen(usual, [one for code, of in few.items() if code != variant for one in of])
    return found if found == usual else _in_steps(found.of_one(MOST_ALIKE, usual.freedom))


def _in_steps(found: Spread) -> Spread:
    """Return a spread rounded to steps, so that one more run seldom moves the numbers of all other flies."""
    size, freedom = (
        math.exp(round(math.log(one) / step) * step)
        for one, step in ((found.size, _STEP_OF_SIZE), (found.freedom, _STEP_OF_FREEDOM))
    )
    return Spread(size, freedom)


def spreads_of(runs: Sequence[RunParts]) -> ShopSpreads:
    """Return the spreads that the runs of a shop show: from each fly with two or more in one water, and each variant
    with two or more such flies; a clip that is kept under several flies counts once."""
    newest = once_each(sorted(runs, key=lambda run: run.number)[-MOST_RUNS:])
    run_groups = _grouped(newest, lambda run: (run.variant, run.fly), _of_runs)
    between = seen(USUAL_RUNS, _all(run_groups))
    fly_groups = _grouped(newest, lambda run: (run.variant, ""), lambda of: _of_flies(of, between))
    return ShopSpreads(
        between, seen(USUAL_FLIES, _all(fly_groups)), _between_variants(newest), run_groups, fly_groups
    )


def _between_variants(runs: Sequence[RunParts]) -> float:
    """Return the standard deviation between the speeds of variants, as a share of them; that of flies at the least."""
    ordered = sorted(runs, key=lambda run: run.variant)
    logs = [
        float(np.mean([np.log(run.corrected) for run in of]))
        for _, of in groupby(ordered, lambda run: run.variant)
    ]
    return max(float(np.std(logs, ddof=1)), USUAL_FLIES.size) if len(logs) > 2 else USUAL_VARIANTS


def _all(groups: Groups) -> list[Group]:
    return [one for of in groups.values() for one in of]


def _grouped(
    runs: Sequence[RunParts],
    key: Callable[[RunParts], tuple[str, str]],
    group: Callable[[Sequence[RunParts]], Group],
) -> dict[str, list[Group]]:
    """Return the groups that tell something, by variant: runs of one ``key`` in one water."""
    found: dict[str, list[Group]] = {}
    for (variant, _), of in groupby(sorted(runs, key=lambda run: (key(run), run.number)), key):
        for alike in by_water(list(of)):
            one = group(alike)
            if len(one.values) > 1:
                found.setdefault(variant, []).append(one)
    return found


def _of_runs(runs: Sequence[RunParts]) -> Group:
    """Return the runs of a fly as one group; an error that all of them share does not scatter them."""
    common = set(runs[0].shares).intersection(*(run.shares for run in runs[1:]))
    own = [
        math.hypot(run.own, *(size for one, size in run.shares.items() if one not in common)) for run in runs
    ]
    return Group(np.log([run.corrected for run in runs]), np.array(own))


def _of_flies(runs: Sequence[RunParts], between: Spread) -> Group:
    """Return the flies of a variant as one group: the mean of each, and what its own runs leave open."""
    values, doubts = [], []
    for _, of in groupby(sorted(runs, key=lambda run: (run.fly, run.number)), lambda run: run.fly):
        alike = list(of)
        group = _of_runs(alike)
        shares = weights(group.uncertainties, between.size)
        own = sum(size**2 for (what, _), size in alike[0].shares.items() if what == "fly")
        doubts.append(math.sqrt(shares**2 @ (group.uncertainties**2 + between.size**2) + own))
        values.append(float(shares @ group.values))
    return Group(np.array(values), np.array(doubts))
