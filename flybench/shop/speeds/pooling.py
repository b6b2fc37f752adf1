"""Pooling runs to a fly and flies to a variant: plain numbers in, plain numbers out.

Each run's uncertainty has a part of its own (reading, drop-to-drop spread) and one that all runs in one set-up
share (scale, walls, temperature). The shared part does not average down: more runs in the same tank cannot
tell that the tank is off. Runs, and then flies, are random effects with a spread found after Paule and
Mandel; as two or three values tell little about a spread, an expected one counts as one degree of freedom.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from flybench.catalog.shelf.run_records import PooledFly, PooledVariant, RunSpeed
from flybench.statistics.pooling import OwnAndShared, pooled

RUN_SPREAD = 0.015
"""Expected standard deviation between runs of one fly, as a share of the speed: soaked and let go anew
(judgement)."""
FLY_SPREAD = 0.04
"""Expected standard deviation between flies of one variant, as a share of the speed: a hand's spread in
tying (judgement)."""
_LEAST_OWN = 1e-4


def pool_variant(flies: Sequence[Sequence[RunSpeed]]) -> PooledVariant:
    """Pool the runs of each fly, and the flies to their variant; at least one fly with one run each.

    A single fly stands for its variant with the expected spread between flies in its uncertainty.
    """
    runs = [pool_runs(fly) for fly in flies]
    whole = pooled(runs, FLY_SPREAD)
    return PooledVariant(
        whole.value,
        whole.uncertainty,
        whole.spread if len(flies) > 1 else None,
        float(np.mean([run.temperature for fly in flies for run in fly])),
        [_fly(parts, fly) for parts, fly in zip(runs, flies, strict=True)],
    )


def pool_runs(runs: Sequence[RunSpeed]) -> OwnAndShared:
    """Pool the runs of one fly; a single run is taken as it is."""
    parts = [OwnAndShared(run.speed, _own(run), run.shared, 0.0) for run in runs]
    return parts[0] if len(parts) == 1 else pooled(parts, RUN_SPREAD)


def _own(run: RunSpeed) -> float:
    """Return the part of a run's uncertainty that no other run shares [m/s]."""
    square = run.uncertainty**2 - run.shared**2
    return float(np.sqrt(max(square, (_LEAST_OWN * run.speed) ** 2)))


def _fly(parts: OwnAndShared, runs: Sequence[RunSpeed]) -> PooledFly:
    return PooledFly(
        parts.value,
        parts.uncertainty,
        float(np.mean([run.temperature for run in runs])),
        len(runs),
        sum(run.drops for run in runs),
    )
