"""From what a clip showed to a result: spots joined, cut into drops, fitted, pooled and budgeted.

The same for a clip that was just read and for one whose spots were saved.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.clock import Clock
from flybench.bench.fit.fall import FallFit, fit_fall
from flybench.bench.track.drops import Drop, Findings, find_drops
from flybench.bench.track.joining import join
from flybench.bench.track.observations import Observations, placed_spots
from flybench.bench.verdict.drop_flags import clip_flags, drop_flags, odd_drops
from flybench.bench.verdict.result import BenchResult, ClipFacts, MeasuredDrop
from flybench.bench.verdict.sink_speed import conclude
from flybench.bench.view.geometry import Geometry
from flybench.bench.view.tank_view import scale_flags

Floats = NDArray[np.float64]

READING_NOISE_PX = 0.1
"""First guess of the scatter of one reading [px]."""
FEWEST_FITTED = 12
"""Fewest frames from which a fall is fitted; below it four values are not told apart from noise."""


@dataclass(frozen=True)
class Evaluation:
    """A result, and the vertical on the fall plane, shape (2,)."""

    result: BenchResult
    down: Floats


def evaluate(observed: Observations, geometry: Geometry, clock: Clock) -> Evaluation:
    """Return the result for these spots under this geometry and clock; it may have no speed."""
    findings = _findings(observed, geometry, clock)
    down = _down(findings.drops)
    measured = _measured(findings, geometry, down)
    result = _unpooled(observed, geometry, clock, measured, findings)
    if result.used_drops:
        along = observed.orientation.rows_run_along_fall
        result = conclude(result, observed.spots, down, geometry, clock, along)
    return Evaluation(result, down)


def _findings(observed: Observations, geometry: Geometry, clock: Clock) -> Findings:
    """Join the spots to tracks and the tracks to drops."""
    if not observed.spots:
        return Findings([], Counter())
    sightings = placed_spots(observed, geometry, clock)
    return find_drops(sightings, join(sightings), geometry.metres_per_px)


def _down(drops: Iterable[Drop]) -> Floats:
    """Return the vertical on the fall plane: the middle direction of all paths."""
    paths = np.array([drop.places[-1] - drop.places[0] for drop in drops])
    if not len(paths):
        return np.array([0.0, 1.0])
    slant = float(np.median(paths[:, 0] / paths[:, 1]))
    return np.asarray(np.array([slant, 1.0]) / np.hypot(slant, 1.0))


def _measured(findings: Findings, geometry: Geometry, down: Floats) -> list[MeasuredDrop]:
    """Fit every drop and look for what is wrong with it."""
    noise = READING_NOISE_PX * geometry.metres_per_px
    measured = []
    for drop in findings.drops:
        fit = fit_fall(drop.times, drop.places @ down, noise) if len(drop.times) >= FEWEST_FITTED else None
        flags, tilt = drop_flags(drop, fit, down, geometry)
        measured.append(MeasuredDrop(drop, fit, 0.0 if fit is None else _own(fit), tilt, flags))
    return odd_drops(measured)


def _own(fit: FallFit) -> float:
    """Return the uncertainty that a drop shares with no other [m/s]."""
    return float(np.hypot(fit.fit_uncertainty, fit.history_uncertainty))


def _unpooled(
    observed: Observations, geometry: Geometry, clock: Clock, measured: list[MeasuredDrop], findings: Findings
) -> BenchResult:
    """Return what is known before the drops are pooled: a result without a speed."""
    flags = observed.flags + scale_flags(geometry) + clip_flags(observed, clock, geometry.settings)
    return BenchResult(
        _facts(observed, clock),
        geometry.settings.scale.source,
        geometry.metres_per_px,
        0.0,
        measured,
        None,
        flags=flags,
        left_out=dict(findings.left_out),
    )


def _facts(observed: Observations, clock: Clock) -> ClipFacts:
    times, orientation = observed.times, observed.orientation
    return ClipFacts(
        observed.name,
        observed.sha256,
        observed.tally.decoded,
        orientation.width,
        orientation.height,
        orientation.rotation,
        float(times[-1] - times[0]) / clock.stretch,
        clock.capture_rate,
        clock.stretch,
    )
