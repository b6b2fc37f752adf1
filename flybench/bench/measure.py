"""The method from end to end: a clip's frames and the user's settings in, a bench result out."""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Callable, Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flybench.bench.backdrop import eight_bit
from flybench.bench.clock import Clock, clock_of
from flybench.bench.conclude import conclude
from flybench.bench.drag import submerged_weight
from flybench.bench.dropchecks import clip_flags, drop_flags, odd_drops
from flybench.bench.drops import Drop, Findings, find_drops
from flybench.bench.fall import FallFit, fit_fall
from flybench.bench.footage import Clip, Frame
from flybench.bench.geometry import Geometry
from flybench.bench.orientation import Orientation
from flybench.bench.result import BenchResult, ClipFacts, MeasuredDrop
from flybench.bench.settings import Settings
from flybench.bench.spotting import Spot, Spotter
from flybench.bench.stage import Stage, set_up
from flybench.bench.steady import unmoved
from flybench.bench.track import Sightings, join
from flybench.hydraulics.water import Water

Floats = NDArray[np.float64]
Progress = Callable[[int, int], None]

READING_NOISE_PX = 0.1
"""First guess of the scatter of one reading [px]."""
AHEAD = 3
"""Frames decoded ahead of the one looked at."""
FEWEST_FITTED = 12
"""Fewest frames from which a fall is fitted; below it four values are not told apart from noise."""


@dataclass(frozen=True)
class Run:
    """A result together with what its pictures need."""

    result: BenchResult
    stage: Stage
    clock: Clock
    spots: list[Spot]
    down: Floats


def measure(clip: Clip, settings: Settings, progress: Progress | None = None) -> Run:
    """Measure the sink speed of the fly in a clip.

    Raises FlybenchError (or BadValueError) where there is nothing to measure: no scale, no card found, no
    fall found. A fall that is seen but gives no sink speed is a result with the verdict "refused".
    """
    submerged_weight(settings.fly, Water(settings.temperature, settings.salinity))
    clock = clock_of(clip.survey.times, clip.capture_rate_tag, settings.camera.capture_rate)
    stage = set_up(clip, settings)
    spots = _watch(clip, stage, progress)
    findings = _findings(spots, clip, stage, clock, settings)
    down = _down(findings.drops)
    measured = _measured(findings, stage.geometry, down)
    result = _unpooled(clip, settings, stage, clock, measured, findings)
    if result.used_drops:
        rows_along_fall = clip.orientation.rows_run_along_fall
        result = conclude(result, spots, down, stage.geometry, clock, rows_along_fall)
    return Run(result, stage, clock, spots, down)


def _watch(clip: Clip, stage: Stage, progress: Progress | None) -> list[Spot]:
    """Stream the frames and keep what was spotted.

    One thread asks for frames while another looks at those that came; never more than AHEAD are held.
    """
    look_at = _Watcher(stage, clip.orientation)
    spots: list[Spot] = []
    waiting: deque[Future[list[Spot]]] = deque()
    with ThreadPoolExecutor(max_workers=1) as pool:
        for frame in clip.frames():
            waiting.append(pool.submit(look_at, frame))
            if len(waiting) > AHEAD:
                spots += waiting.popleft().result()
            if progress is not None:
                progress(frame.index + 1, len(clip.survey.times))
        for late in waiting:
            spots += late.result()
    return spots


class _Watcher:
    """Looks at one frame after the other and follows the camera's shaking from each to the next."""

    def __init__(self, stage: Stage, orientation: Orientation) -> None:
        self.stage = stage
        self.spotter = Spotter(stage.backdrop, orientation)
        self.motion = None if stage.steadiness.still else unmoved()

    def __call__(self, frame: Frame) -> list[Spot]:
        """Return what is not background; nothing where the shaking cannot be told."""
        if self.motion is not None:
            found = self.stage.steadier.motion(eight_bit(frame.luma, frame.shift), self.motion)
            if found is None:
                return []
            self.motion = found
        return self.spotter.spots(frame, self.motion)


def _findings(spots: list[Spot], clip: Clip, stage: Stage, clock: Clock, settings: Settings) -> Findings:
    """Join the spots to tracks and the tracks to drops."""
    if not spots:
        return Findings([], Counter())
    places = stage.geometry.places(np.array([[spot.x, spot.y] for spot in spots]))
    readout = settings.camera.readout or 0.0
    times = np.array([spot.clip_time / clock.stretch + (spot.sensor_row - 0.5) * readout for spot in spots])
    sightings = Sightings(spots, times, places)
    return find_drops(sightings, join(sightings), stage.geometry.metres_per_px)


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
    clip: Clip,
    settings: Settings,
    stage: Stage,
    clock: Clock,
    measured: list[MeasuredDrop],
    findings: Findings,
) -> BenchResult:
    """Return what is known before the drops are pooled: a result without a speed."""
    return BenchResult(
        _facts(clip, clock),
        settings.scale.source,
        stage.geometry.metres_per_px,
        0.0,
        measured,
        None,
        flags=stage.flags + clip_flags(clip, clock, settings),
        left_out=dict(findings.left_out),
    )


def _facts(clip: Clip, clock: Clock) -> ClipFacts:
    times, orientation = clip.survey.times, clip.orientation
    return ClipFacts(
        clip.name,
        clip.sha256(),
        clip.tally.decoded,
        orientation.width,
        orientation.height,
        orientation.rotation,
        float(times[-1] - times[0]) / clock.stretch,
        clock.capture_rate,
        clock.stretch,
    )
