"""The method from end to end: a clip's frames and the user's settings in, a bench result out."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.clock import Clock
from flybench.bench.clip.footage import Clip, Frame
from flybench.bench.clip.orientation import Orientation
from flybench.bench.evaluate import evaluate
from flybench.bench.sheet.settings import Settings
from flybench.bench.track.close_ups import Album, CloseUp
from flybench.bench.track.observations import Observations, rounded_to_grain
from flybench.bench.track.spotting import Spot, Spotter
from flybench.bench.verdict.free_water import submerged_weight
from flybench.bench.verdict.result import BenchResult
from flybench.bench.view.backdrop import eight_bit
from flybench.bench.view.steadiness import unmoved
from flybench.bench.view.tank_view import TankView, view_tank

Floats = NDArray[np.float64]
Progress = Callable[[int, int], None]

AHEAD = 3
"""Frames decoded ahead of the one looked at."""


@dataclass(frozen=True)
class Measurement:
    """A result together with what its pictures need, and what would be needed to fit it again."""

    result: BenchResult
    view: TankView
    clock: Clock
    spots: list[Spot]
    down: Floats
    """The vertical on the fall plane, of length 1 [-], shape (2,)."""
    observed: Observations
    close_up: CloseUp | None = None
    """The sharpest picture of the fly on its way down; None where there is none."""
    filmed: date | None = None
    """The day of filming, where the clip's file says one that can be."""


def measure(
    clip: Clip, settings: Settings, progress: Progress | None = None, close_ups: bool = True
) -> Measurement:
    """Measure the sink speed of the fly in a clip; ``close_ups`` keeps pictures of it for a page.

    Raises FlybenchError (or BadValueError) where there is nothing to measure: no scale, no card found, no
    fall found. A fall that is seen but gives no sink speed is a result with the verdict "refused".
    """
    submerged_weight(settings.fly, settings.water)
    clock = clip.clock(settings.camera.capture_rate)
    view = view_tank(clip, settings)
    album = Album(clip.orientation) if close_ups else None
    observed = _observed(clip, view, _watch(clip, view, album, progress))
    fitted = evaluate(observed, view.geometry, clock)
    fell = fitted.result.used_drops or fitted.result.drops
    rows = [int(row) for drop in fell for row in drop.drop.rows]
    close_up = None if album is None else album.sharpest(observed.spots, rows)
    return Measurement(
        fitted.result, view, clock, observed.spots, fitted.down, observed, close_up, clip.filmed
    )


def _observed(clip: Clip, view: TankView, spots: list[Spot]) -> Observations:
    return Observations(
        clip.name,
        clip.sha256(),
        clip.orientation,
        clip.capture_rate_tag,
        clip.survey.times,
        clip.survey.promised,
        clip.tally,
        view.geometry.scale_points,
        list(dict.fromkeys([*clip.flags, *view.flags, *view.watch.flags()])),
        [rounded_to_grain(spot) for spot in spots if view.watch.sound(spot.frame)],
        clip.survey.doubt,
        tuple((one.first, one.last, one.growth) for one in view.watch.seen.breaths),
    )


def _watch(clip: Clip, view: TankView, album: Album | None, progress: Progress | None) -> list[Spot]:
    """Stream the frames and keep what was spotted, and close-ups of it, if wanted.

    One thread asks for frames while another looks at those that came; never more than AHEAD are held.
    """
    look_at = _Watcher(view, clip.orientation, album)
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

    def __init__(self, view: TankView, orientation: Orientation, album: Album | None) -> None:
        self.view, self.album = view, album
        self.spotter = Spotter(view.backdrop, orientation)
        self.motion = None if view.steadiness.still else unmoved()

    def __call__(self, frame: Frame) -> list[Spot]:
        """Return what is not background; nothing where the shaking cannot be told."""
        watched = self.view.watch if self.view.watch.wants(frame.index) else None
        if self.motion is not None:
            picture = eight_bit(frame.luma, frame.shift)
            found = self.view.tracker.motion(picture, self.motion)
            self.view.watch.begin(found)
            if watched:
                watched.follow(picture, found)
            if found is None:
                return []
            self.motion = found
        elif watched:
            watched.look(eight_bit(frame.luma, frame.shift))
        spots = self.spotter.spots(frame, self.motion)
        if self.album is not None:
            self.album.keep(frame, spots, self.motion)
        return spots
