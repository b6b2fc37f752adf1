"""From what a clip showed to a result: spots joined, cut into drops, fitted, pooled and budgeted.

The same for a clip that was just read and for one whose spots were kept.
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
from flybench.bench.track.join import Sightings, join
from flybench.bench.track.sightings import Seen
from flybench.bench.verdict.drop_flags import clip_flags, drop_flags, odd_drops
from flybench.bench.verdict.result import BenchResult, ClipFacts, MeasuredDrop
from flybench.bench.verdict.sink_speed import conclude
from flybench.bench.view.geometry import Geometry
from flybench.bench.view.stage import scale_flags

Floats = NDArray[np.float64]

READING_NOISE_PX = 0.1
"""First guess of the scatter of one reading [px]."""
FEWEST_FITTED = 12
"""Fewest frames from which a fall is fitted; below it four values are not told apart from noise."""


@dataclass(frozen=True)
class Fitted:
    """A result, and the vertical on the fall plane, shape (2,)."""

    result: BenchResult
    down: Floats


def fit_seen(seen: Seen, geometry: Geometry, clock: Clock) -> Fitted:
    """Return the result for these spots under this geometry and clock; it may have no speed."""
    findings = _findings(seen, geometry, clock)
    down = _down(findings.drops)
    measured = _measured(findings, geometry, down)
    result = _unpooled(seen, geometry, clock, measured, findings)
    if result.used_drops:
        along = seen.orientation.rows_run_along_fall
        result = conclude(result, seen.spots, down, geometry, clock, along)
    return Fitted(result, down)


def sightings_of(seen: Seen, geometry: Geometry, clock: Clock) -> Sightings:
    """Return the spots with their real times [s] and places [m]; there must be at least one."""
    places = geometry.places(np.array([[spot.x, spot.y] for spot in seen.spots]))
    readout = geometry.settings.camera.readout or 0.0
    times = [spot.clip_time / clock.stretch + (spot.sensor_row - 0.5) * readout for spot in seen.spots]
    return Sightings(seen.spots, np.array(times), places)


def _findings(seen: Seen, geometry: Geometry, clock: Clock) -> Findings:
    """Join the spots to tracks and the tracks to drops."""
    if not seen.spots:
        return Findings([], Counter())
    sightings = sightings_of(seen, geometry, clock)
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
    seen: Seen, geometry: Geometry, clock: Clock, measured: list[MeasuredDrop], findings: Findings
) -> BenchResult:
    """Return what is known before the drops are pooled: a result without a speed."""
    flags = seen.flags + scale_flags(geometry) + clip_flags(seen, clock, geometry.settings)
    return BenchResult(
        _facts(seen, clock),
        geometry.settings.scale.source,
        geometry.metres_per_px,
        0.0,
        measured,
        None,
        flags=flags,
        left_out=dict(findings.left_out),
    )


def _facts(seen: Seen, clock: Clock) -> ClipFacts:
    times, orientation = seen.times, seen.orientation
    return ClipFacts(
        seen.name,
        seen.sha256,
        seen.tally.decoded,
        orientation.width,
        orientation.height,
        orientation.rotation,
        float(times[-1] - times[0]) / clock.stretch,
        clock.capture_rate,
        clock.stretch,
    )
