"""Measured flies and variants of the catalog as sides of a comparison: speed, and what its doubt is made of."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flybench.catalog.shelf.run_records import RunSpeed
from flybench.catalog.tables.flies import BenchRun, Fly, FlySpeed
from flybench.shop.speeds.pooling import FLY_SPREAD, RUN_SPREAD, pool_runs
from flybench.shop.speeds.set_ups import per_clip_share
from flybench.statistics.comparing import DoubtPart, Repeat, Side
from flybench.statistics.pooling import OwnAndShared, pooled

Floats = NDArray[np.float64]

EXPECTED_FREEDOM = 4.0
"""Degrees of freedom of an expected spread: known to a third or so (judgement; JCGM 100:2008, G.4.2)."""
_LEAST_OWN = 1e-4
"""Least own part of a run, as a share of the speed: no reading is exact, and weights need one (judgement)."""


@dataclass(frozen=True)
class RunParts:
    """One accepted run: speed in its own water [m/s], and relative standard uncertainties.

    own falls with drops; per_clip is another error in each clip; shared is one error for all runs in one set-up, which
    has a number; temperature of the water [K]; correction takes the speed to the water of the comparison, with its
    relative standard uncertainty.
    """

    fly: str
    speed: float
    own: float
    per_clip: float
    shared: float
    set_up: int
    temperature: float
    drops: int
    correction: float = 1.0
    correction_doubt: float = 0.0

    @property
    def corrected(self) -> float:
        """Return the speed in the water of the comparison [m/s]."""
        return self.speed * self.correction


@dataclass(frozen=True)
class FlyRuns:
    """A fly with its runs that count, at least one."""

    code: str
    runs: tuple[RunParts, ...]


def parts_of_run(run: BenchRun, set_up: int) -> RunParts:
    """Return a run with a free-water speed as parts; where it is not known what is shared, nothing is taken to be."""
    speed, whole = run.free_speed_m_s or 0.0, run.free_uncertainty_m_s or 0.0
    if run.shared_uncertainty_m_s is None:
        return RunParts(
            run.fly.code, speed, _LEAST_OWN, whole / speed, 0.0, set_up, run.temperature_k, _drops(run)
        )
    shared = min(run.shared_uncertainty_m_s, whole) / speed
    per_clip = min(per_clip_share(run), shared)
    own = math.sqrt(max((whole / speed) ** 2 - shared**2, _LEAST_OWN**2))
    common = math.sqrt(shared**2 - per_clip**2)
    return RunParts(run.fly.code, speed, own, per_clip, common, set_up, run.temperature_k, _drops(run))


def parts_without_runs(code: str, speed: FlySpeed, set_up: int) -> RunParts:
    """Return a speed that stands in the catalog without its runs: nobody can say what of its doubt is shared."""
    doubt = speed.free_uncertainty_m_s / speed.free_speed_m_s
    kelvin, drops = speed.temperature_k, max(speed.drops, 1)
    return RunParts(code, speed.free_speed_m_s, _LEAST_OWN, doubt, 0.0, set_up, kelvin, drops)


def _drops(run: BenchRun) -> int:
    return max(run.drops_used, 1)


def accepted_runs(fly: Fly) -> list[BenchRun]:
    """Return the runs of a fly that count and have a speed in free water."""
    return [run for run in fly.runs if run.accepted and run.free_speed_m_s and run.free_uncertainty_m_s]


def fly_side(fly: FlyRuns) -> Side:
    """Return a fly as a side: its speed as pooled over its runs, and the spread from run to run.

    One run says nothing of that spread; the expected one is taken (``shop.pooling.RUN_SPREAD``).
    """
    parts = [_parts(run) for run in fly.runs]
    whole = pooled(parts, RUN_SPREAD)
    weights = _weights(parts, whole.spread)
    return _side(fly.code, fly.runs, weights, whole.value, [_runs_part(whole.spread, weights)])


def variant_side(code: str, flies: Sequence[FlyRuns]) -> Side:
    """Return a variant as a side: pooled over its flies, with the spread between their runs and between them."""
    each = [pool_runs([_run_speed(run) for run in fly.runs]) for fly in flies]
    whole = pooled(each, FLY_SPREAD)
    among = _weights(each, whole.spread)
    weights, between_runs = [], []
    for fly, part, share in zip(flies, each, among, strict=True):
        inner = _weights([_parts(run) for run in fly.runs], part.spread)
        weights.append(share * inner)
        between_runs.append(_runs_part(part.spread, share * inner))
    flies_part = DoubtPart(
        "flies", Repeat.FLIES, whole.spread * float(np.linalg.norm(among)), blend_freedom(len(flies))
    )
    runs = [run for fly in flies for run in fly.runs]
    return _side(code, runs, np.concatenate(weights), whole.value, [*between_runs, flies_part], len(flies))


def blend_freedom(count: int) -> float:
    """Return degrees of freedom of a spread that blends the one found among ``count`` with an expected one.

    s^2 = ((n - 1) s_found^2 + s_expected^2) / n, as ``statistics.pooling`` has it; Welch and Satterthwaite of that sum.
    """
    return count**2 / (count - 1 + 1 / EXPECTED_FREEDOM)


def _runs_part(spread: float, weights: Floats) -> DoubtPart:
    return DoubtPart(
        "runs", Repeat.RUNS, spread * float(np.linalg.norm(weights)), blend_freedom(len(weights))
    )


def _side(
    code: str,
    runs: Sequence[RunParts],
    weights: Floats,
    speed: float,
    parts: Sequence[DoubtPart],
    flies: int | None = None,
) -> Side:
    """Put a side together from its runs, their weights (which add up to 1) and the spreads [m/s]."""
    speeds = np.array([run.corrected for run in runs])
    drops = int(sum(run.drops for run in runs))
    own = float(np.linalg.norm(weights * speeds * [run.own for run in runs]))
    fixed = {
        "clip": float(weights @ (speeds * [run.per_clip for run in runs])),
        "water": float(weights @ (speeds * [run.correction_doubt for run in runs])),
    }
    shared: dict[int, float] = {}
    for run, weight, pace in zip(runs, weights, speeds, strict=True):
        shared[run.set_up] = shared.get(run.set_up, 0.0) + float(weight * pace * run.shared)
    counts = {Repeat.DROPS: drops, Repeat.RUNS: len(runs)}
    return Side(
        code,
        speed,
        (
            DoubtPart("drops", Repeat.DROPS, own, drops - len(runs) + EXPECTED_FREEDOM),
            *(part for part in parts if part.uncertainty > 0),
            *(DoubtPart(name, Repeat.NOTHING, size) for name, size in fixed.items() if size > 0),
        ),
        counts if flies is None else {**counts, Repeat.FLIES: flies},
        shared,
    )


def _parts(run: RunParts) -> OwnAndShared:
    """Return a run as pooling takes it [m/s]."""
    speed = run.corrected
    return OwnAndShared(speed, speed * run.own, speed * math.hypot(run.shared, run.per_clip), 0.0)


def _run_speed(run: RunParts) -> RunSpeed:
    part = _parts(run)
    return RunSpeed(part.value, part.uncertainty, part.shared, run.temperature, run.drops)


def _weights(parts: Sequence[OwnAndShared], spread: float) -> Floats:
    """Return the weights that pooling gave, adding up to 1."""
    weights = 1.0 / (np.array([part.own for part in parts]) ** 2 + spread**2)
    shares: Floats = weights / weights.sum()
    return shares
