"""Measured flies and variants as sides of a comparison: speed, and what its doubt is made of. Every number of a measured fly,
on the ladder, in a list, on a label, in a comparison or in a rig, is that of its side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flybench.quantity import Floats
from flybench.shop.speeds.run_parts import RunParts, once_each
from flybench.shop.speeds.shop_spreads import ShopSpreads
from flybench.statistics.comparing import DoubtPart, Repeat, Side
from flybench.statistics.pooling import paule_mandel, weights
from flybench.statistics.spread import Group, Spread

_ONE_STEP = 0.005
"""Steps to other water whose doubts differ by no more are as from one water, as shares of the speed: what 1 K makes
(judgement)."""
_IN_EACH_CLIP, _IN_EACH_FLY = "clip", "fly"
USUAL = ShopSpreads()
"""Spreads where no run of the shop tells them."""


@dataclass(frozen=True)
class FlyRuns:
    """A fly with its runs that count, at least one."""

    code: str
    runs: tuple[RunParts, ...]


def fly_side(fly: FlyRuns, spreads: ShopSpreads = USUAL) -> Side:
    """Return a fly as a side: its speed as pooled over its runs, and the spread from run to run.

    The spread is always in, for a single run too: as the shop's other flies show it, else as is usual.
    """
    group = _group(fly.runs)
    spread = _between_runs(fly.runs, spreads, group)
    shares = weights(group.uncertainties, spread.size)
    return _side(fly.code, fly.runs, shares, {Repeat.RUNS: _spread_part("runs", Repeat.RUNS, spread, shares)})


@dataclass(frozen=True)
class Among:
    """The flies of a variant pooled: the spread between them and their weights, and for each the spread between its runs
    and the weights of these."""

    spread: Spread
    weights: Floats
    between_runs: tuple[Spread, ...]
    run_weights: tuple[Floats, ...]


def among_flies(code: str, flies: Sequence[FlyRuns], spreads: ShopSpreads = USUAL) -> Among:
    """Return how the flies of a variant are pooled; those whose every clip stands for another one already are left out."""
    flies = _once(flies)
    groups = [_group(fly.runs) for fly in flies]
    between = tuple(_between_runs(fly.runs, spreads, one) for fly, one in zip(flies, groups, strict=True))
    inner = tuple(
        weights(one.uncertainties, spread.size) for one, spread in zip(groups, between, strict=True)
    )
    means = np.array([share @ one.values for share, one in zip(inner, groups, strict=True)])
    own = [
        math.hypot(float(np.linalg.norm(share * np.hypot(_own(fly.runs), spread.size))), _own_of(fly))
        for share, spread, fly in zip(inner, between, flies, strict=True)
    ]
    doubts = np.hypot(own, _apart([_step_of(fly, share) for fly, share in zip(flies, inner, strict=True)]))
    spread = spreads.of_flies(code, Group(means, doubts))
    return Among(spread, weights(doubts, spread.size), between, inner)


def variant_side(
    code: str, flies: Sequence[FlyRuns], spreads: ShopSpreads = USUAL, found: Among | None = None
) -> Side:
    """Return a variant as a side: pooled over its flies, with the spread between their runs and between them.

    Parameters: found, how its flies are pooled, where that was worked out already.
    """
    flies = _once(flies)
    found = among_flies(code, flies, spreads) if found is None else found
    pairs = list(zip(found.weights, found.run_weights, strict=True))
    parts = {
        Repeat.RUNS: _runs_part(found),
        Repeat.FLIES: _spread_part("flies", Repeat.FLIES, found.spread, found.weights),
    }
    shares = np.concatenate([share * one for share, one in pairs])
    return _side(code, [run for fly in flies for run in fly.runs], shares, parts, len(flies))


def _once(flies: Sequence[FlyRuns]) -> list[FlyRuns]:
    """Return flies with each clip under one of them only, without those of which no run is left."""
    kept = {id(run) for run in once_each(run for fly in flies for run in fly.runs)}
    left = [FlyRuns(fly.code, tuple(run for run in fly.runs if id(run) in kept)) for fly in flies]
    return [fly for fly in left if fly.runs]


def _group(runs: Sequence[RunParts]) -> Group:
    """Return runs as relative values with what sets each apart from the others: its own error, and by how much its step to
    this water may be off otherwise than theirs."""
    apart = _apart([run.correction_doubt for run in runs])
    return Group(np.log([run.corrected for run in runs]), np.hypot(_own(runs), apart))


def _own(runs: Sequence[RunParts]) -> Floats:
    """Return what each run has of its own, as a share of its speed."""
    own = [math.hypot(run.own, run.shares.get(_clip_of(run), 0.0)) for run in runs]
    return np.array([max(one, 1e-9) for one in own])


def _apart(steps: Sequence[float]) -> Floats:
    """Return by how much each step's doubt is more than what all have alike, as shares of the speed.

    One law takes all runs to the water, so that it is off by one and the same for runs of one water: that scatters nothing.
    """
    least = min(max(0.0, min(steps)), max(steps))
    return np.array(steps) - least


def _step_of(fly: FlyRuns, shares: Floats) -> float:
    """Return the doubt of the step to this water of a fly, as a share of its speed, signed as those of its runs."""
    return float(shares @ [run.correction_doubt for run in fly.runs])


def _clip_of(run: RunParts) -> tuple[str, str]:
    return next((one for one in run.shares if one[0] == _IN_EACH_CLIP), (_IN_EACH_CLIP, ""))


def _own_of(fly: FlyRuns) -> float:
    """Return what is another error in each fly, as a share of its speed."""
    return float(
        np.mean(
            [math.hypot(*(size for one, size in run.shares.items() if one[0] == "fly")) for run in fly.runs]
        )
    )


def _between_runs(runs: Sequence[RunParts], spreads: ShopSpreads, group: Group) -> Spread:
    """Return the spread between the runs of a fly, where they are of several waters never less than those of one water show
    among themselves; none where its speed stands in the catalog without them."""
    if runs[0].pooled:
        return Spread(0.0, math.inf)
    found = spreads.of_runs(runs[0].variant, group)
    steps = np.array([run.correction_doubt for run in runs])
    alike = [np.abs(steps - step) < _ONE_STEP for step in sorted(set(steps))]
    scatter = [paule_mandel(group.values[of], _own(runs)[of]) for of in alike if 1 < np.sum(of) < len(runs)]
    return Spread(max([found.size, *scatter]), found.freedom)


def _spread_part(name: str, repeat: Repeat, spread: Spread, shares: Floats) -> DoubtPart:
    return DoubtPart(name, repeat, spread.size * float(np.linalg.norm(shares)), spread.freedom)


def _runs_part(found: Among) -> DoubtPart:
    """Return the spread between runs as it goes into a variant; how it was learned is one and the same for its flies."""
    sizes = [
        share * spread.size * float(np.linalg.norm(one))
        for share, spread, one in zip(found.weights, found.between_runs, found.run_weights, strict=True)
    ]
    freedom = min(spread.freedom for spread in found.between_runs)
    return DoubtPart("runs", Repeat.RUNS, math.hypot(*sizes), freedom)


def _side(
    code: str,
    runs: Sequence[RunParts],
    shares: Floats,
    spreads: dict[Repeat, DoubtPart],
    flies: int | None = None,
) -> Side:
    """Put a side together from its runs, their weights (which add up to 1) and the relative spreads."""
    speeds = np.array([run.corrected for run in runs])
    speed, drops = float(shares @ speeds), int(sum(run.drops for run in runs))
    own = float(np.linalg.norm(shares * [run.own for run in runs]))
    water = abs(float(shares @ [run.correction_doubt for run in runs]))
    common: dict[tuple[str, str], float] = {}
    for run, weight in zip(runs, shares, strict=True):
        for one, size in run.shares.items():
            common[one] = common.get(one, 0.0) + float(weight * size)
    each = {
        what: math.hypot(*(size for one, size in common.items() if one[0] == what))
        for what in (_IN_EACH_CLIP, _IN_EACH_FLY)
    }
    parts = [
        DoubtPart("drops", Repeat.DROPS, own, sum(run.own_freedom for run in runs)),
        *(spreads[level] for level in sorted(spreads)),
        DoubtPart("clip", Repeat.RUNS, each[_IN_EACH_CLIP]),
        DoubtPart("walls", Repeat.NOTHING if flies is None else Repeat.FLIES, each[_IN_EACH_FLY]),
        DoubtPart("water", Repeat.NOTHING, water),
    ]
    counts = {Repeat.DROPS: drops, Repeat.RUNS: len(runs)}
    return Side(
        code,
        speed,
        tuple(
            DoubtPart(part.source, part.repeat, part.uncertainty * speed, part.freedom)
            for part in parts
            if part.uncertainty > 0
        ),
        counts if flies is None else {**counts, Repeat.FLIES: flies},
        {one: size * speed for one, size in common.items() if one[0] not in (_IN_EACH_CLIP, _IN_EACH_FLY)},
    )
