"""Pooling runs to a fly and flies to a variant: plain numbers in, plain numbers out.

Each run's uncertainty has a part of its own (reading, drop-to-drop spread) and one that all runs in one set-up
share (scale, walls, temperature). The shared part does not average down: more runs in the same tank cannot
tell that the tank is off. Runs, and then flies, are random effects with a spread found after Paule and
Mandel; as two or three values tell little about a spread, an expected one counts as one degree of freedom.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flybench.bench.fit.drop_pooling import paule_mandel
from flybench.catalog.shelf.run_records import PooledFly, PooledVariant, RunSpeed

Floats = NDArray[np.float64]

RUN_SPREAD = 0.015
"""Expected standard deviation between runs of one fly, as a share of the speed: soaked and let go anew
(judgement)."""
FLY_SPREAD = 0.04
"""Expected standard deviation between flies of one variant, as a share of the speed: a hand's spread in
tying (judgement)."""
_LEAST_OWN = 1e-4


@dataclass(frozen=True)
class Parts:
    """A pooled speed, its own and its shared standard uncertainty, and the spread it was pooled with [m/s]."""

    speed: float
    own: float
    shared: float
    spread: float

    @property
    def uncertainty(self) -> float:
        """Return both parts together [m/s]."""
        return float(np.hypot(self.own, self.shared))


def pool_variant(flies: Sequence[Sequence[RunSpeed]]) -> PooledVariant:
    """Pool the runs of each fly, and the flies to their variant; at least one fly with one run each.

    A single fly stands for its variant with the expected spread between flies in its uncertainty.
    """
    runs = [pool_runs(fly) for fly in flies]
    whole = pooled(runs, FLY_SPREAD)
    return PooledVariant(
        whole.speed,
        whole.uncertainty,
        whole.spread if len(flies) > 1 else None,
        float(np.mean([run.temperature for fly in flies for run in fly])),
        [_fly(parts, fly) for parts, fly in zip(runs, flies, strict=True)],
    )


def pool_runs(runs: Sequence[RunSpeed]) -> Parts:
    """Pool the runs of one fly; a single run is taken as it is."""
    parts = [Parts(run.speed, _own(run), run.shared, 0.0) for run in runs]
    return parts[0] if len(parts) == 1 else pooled(parts, RUN_SPREAD)


def pooled(parts: Sequence[Parts], expected: float) -> Parts:
    """Pool speeds whose shared parts are one and the same error; ``expected`` is a share of the speed.

    s^2 = ((n - 1) s_PM^2 + s_0^2) / n with s_PM from Paule and Mandel, s_0 the expected spread; never less than
    s_PM^2, so that runs which contradict each other are not pooled to a small uncertainty.
    """
    speeds = np.array([part.speed for part in parts])
    own = np.array([part.own for part in parts])
    count = len(parts)
    found = paule_mandel(speeds, own) ** 2
    blended = ((count - 1) * found + (expected * np.median(speeds)) ** 2) / count
    spread = float(np.sqrt(max(found, blended)))
    weight = 1.0 / (own**2 + spread**2)
    total = float(weight.sum())
    shared = float(weight @ np.array([part.shared for part in parts])) / total
    return Parts(float(weight @ speeds) / total, total**-0.5, shared, spread)


def _own(run: RunSpeed) -> float:
    """Return the part of a run's uncertainty that no other run shares [m/s]."""
    square = run.uncertainty**2 - run.shared**2
    return float(np.sqrt(max(square, (_LEAST_OWN * run.speed) ** 2)))


def _fly(parts: Parts, runs: Sequence[RunSpeed]) -> PooledFly:
    return PooledFly(
        parts.speed,
        parts.uncertainty,
        float(np.mean([run.temperature for run in runs])),
        len(runs),
        sum(run.drops for run in runs),
    )
