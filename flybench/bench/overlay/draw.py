"""The overlay clip: the clip again, upright, with the track, the fit and the scale drawn into it.

The picture stands unchanged above a band with the words, so that nothing hides the fly.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.footage import Clip, Frame
from flybench.bench.measure import Measurement
from flybench.bench.overlay import pen
from flybench.bench.overlay.encode import Encoder
from flybench.bench.verdict.result import BenchResult, MeasuredDrop
from flybench.bench.view.backdrop import eight_bit
from flybench.bench.view.steadiness import moved, unmoved
from flybench.quantity import COVERAGE_FACTOR
from flybench.rounding import rounded

Floats = NDArray[np.float64]
Picture = NDArray[Any]
Progress = Callable[[int, int], None]

TALLEST = 1280
"""Greatest height of the overlay [px]."""
_NARROWEST = 400
"""Least width of the overlay [px]: narrower, the words below the picture could not be read."""
_LINES = 3
"""Lines of words below the picture: the verdict, a drop, and why it is not used."""
_USED, _UNUSED, _FIT, _INK = (80, 220, 80), (70, 70, 240), (0, 150, 255), (255, 255, 255)
"""Colours as blue, green, red [0 to 255]: used drops green, others red, the fit orange, words white; told apart in grey too,
as unused trails are dotted (judgement)."""
_GROUND = (45, 38, 32)
"""Ground of the words, blue, green, red [0 to 255]: dark, so that the picture stands out (judgement)."""
_BARS_MM = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
"""Lengths that the bar may have [mm]: round ones, from a fly to a tall column."""
_MOST_LETTERS = 70
"""Letters in a line of words before it is cut short: as many as can be read at the overlay's least width."""


class OverlayLayout(NamedTuple):
    """Where the picture stands in the overlay [px]: its size, its left edge, and the whole."""

    scale: float
    picture: tuple[int, int]
    left: int
    size: tuple[int, int]
    line: int

    def place(self, xy: Floats) -> Floats:
        """Return where upright px (n, 2) of the clip lie in the overlay."""
        return np.asarray((xy + 0.5) * self.scale - 0.5 + [self.left, 0.0])


def layout_of(width: int, height: int) -> OverlayLayout:
    """Lay out an upright picture over a band of three lines of words, both sides even."""
    line = round(np.clip(max(width, _NARROWEST) / 24, 18, 36))
    band = _LINES * line + line // 2
    scale = min((TALLEST - band) / height, TALLEST / width, 1.0)
    picture = max(round(width * scale), 2), max(round(height * scale), 2)
    across, down = max(picture[0], _NARROWEST), picture[1] + band
    size = across + across % 2, down // 2 * 2
    return OverlayLayout(scale, picture, (size[0] - picture[0]) // 2, size, line)


def write_overlay(clip: Clip, run: Measurement, path: Path, progress: Progress | None = None) -> None:
    """Decode the clip again, draw, and write H.264 with the clip's own time stamps, frame by frame.

    In hand-held clips the marks are put where the frame itself shows the fly.
    """
    artist = _Artist(clip, run)
    gap = float(np.median(np.diff(clip.survey.times)))
    with Encoder(path, artist.layout.size, gap) as out:
        for frame in clip.frames():
            out.write(artist.drawn(frame), frame.clip_time)
            if progress is not None:
                progress(frame.index + 1, len(clip.survey.times))


class _Artist:
    """Draws one frame after the other; remembers the motion of the camera and what has fallen so far."""

    def __init__(self, clip: Clip, run: Measurement) -> None:
        self.turn, self.run = clip.orientation, run
        self.layout = layout_of(clip.orientation.width, clip.orientation.height)
        self.ground = np.full((*self.layout.size[::-1], 3), _GROUND, np.uint8)
        self.motion = None if run.view.steadiness.still else unmoved()
        drops = run.result.drops
        self.tracks = [_track(run, drop) for drop in drops]
        self.fits = [_fitted(run, drop, xy) for drop, xy in zip(drops, self.tracks, strict=True)]
        self.now: dict[int, list[tuple[int, int]]] = defaultdict(list)
        for number, measured in enumerate(drops):
            for place, row in enumerate(measured.drop.rows):
                self.now[run.spots[row].frame].append((number, place))
        ends = [float(track[-1, 0]) for track in self.tracks]
        self.falls_on_the_left = bool(ends) and float(np.mean(ends)) < clip.orientation.width / 2
        self.last: list[tuple[int, int]] = []
        self.verdict = verdict_text(run.result)

    def drawn(self, frame: Frame) -> Picture:
        """Return the frame upright in colour (blue, green, red) with everything drawn in."""
        grey = eight_bit(frame.luma, frame.shift)
        if self.motion is not None:
            found = self.run.view.tracker.motion(grey, self.motion)
            self.motion = self.motion if found is None else found
        canvas = self._canvas(grey)
        seen = frame.index in self.now
        self.last = self.now.get(frame.index, self.last)
        for number, place in self.last:
            self._fall(canvas, number, place, seen)
        self._bar(canvas)
        self._words(canvas, [self.verdict, *self._told()])
        return canvas

    def _canvas(self, grey: Picture) -> Picture:
        width, height = self.layout.picture
        small = cv2.resize(self.turn.picture(grey), (width, height), interpolation=cv2.INTER_AREA)
        canvas = self.ground.copy()
        left = self.layout.left
        canvas[:height, left : left + width] = cv2.cvtColor(small, cv2.COLOR_GRAY2BGR)
        return canvas

    def _places(self, xy: Floats) -> Floats:
        """Return where places of the reference picture lie in this frame of the overlay."""
        if self.motion is not None:
            xy = self.turn.upright(moved(self.turn.stored(xy), self.motion))
        return self.layout.place(xy)

    def _fall(self, canvas: Picture, number: int, place: int, seen: bool) -> None:
        """Draw the trail of a drop, and the fly and its fit while it is seen; unused drops dotted and red."""
        measured = self.run.result.drops[number]
        colour = _USED if measured.used else _UNUSED
        trail = self._places(self.tracks[number][: place + 1])
        pen.trail(canvas, trail, colour, whole=measured.used)
        if not seen:
            return
        spot = self.run.spots[measured.drop.rows[place]]
        radius = max(0.75 * spot.length * self.layout.scale, 7.0)
        pen.ring(canvas, trail[-1], radius, colour)
        fit = self.fits[number]
        if fit is not None:
            pen.cross(canvas, self._places(fit[place : place + 1])[0], _FIT)

    def _told(self) -> list[str]:
        """Return what is said about the drops that are falling, or fell last."""
        lines: list[str] = []
        for number, place in self.last:
            lines += told_of(number, self.run.result.drops[number], place)
        return lines[: _LINES - 1]

    def _words(self, canvas: Picture, lines: list[str]) -> None:
        """Write lines into the band below the picture."""
        width, step = self.layout.size[0] - 16, self.layout.line
        for number, line in enumerate(lines, 1):
            text = line if len(line) <= _MOST_LETTERS else f"{line[: _MOST_LETTERS - 3]}..."
            size = min(step / 38.0, width / max(pen.width_of(text, 1.0), 1.0))
            at = (8, self.layout.picture[1] + round(step * (number - 0.1)))
            pen.write(canvas, text, at, size, _INK)

    def _bar(self, canvas: Picture) -> None:
        """Draw a bar of true length on the fall plane at the bottom of the picture, on the side away from the falls."""
        width, height = self.layout.picture
        millimetre = self.layout.scale / (self.run.result.metres_per_px * 1e3)
        length = max((mm for mm in _BARS_MM if mm * millimetre < 0.33 * width), default=_BARS_MM[0])
        left, right = self.layout.left + 8, self.layout.left + width - 8
        x = -right if self.falls_on_the_left else left
        pen.scale_bar(canvas, (x, height - 8), length * millimetre, f"{length} mm", self.layout.line)


def verdict_text(result: BenchResult) -> str:
    """Return the verdict line, in signs that the drawing has."""
    if result.sink_speed is None or result.standard_uncertainty is None:
        return "REFUSED: no sink speed"
    told = rounded(100 * result.sink_speed, 100 * COVERAGE_FACTOR * result.standard_uncertainty)
    return f"{result.verdict.upper()}: {told[0]} ± {told[1]} cm/s in the tank, k = 2"


def told_of(number: int, measured: MeasuredDrop, place: int) -> list[str]:
    """Return number, time and speed of a drop at one of its frames, and why it is not used."""
    drop, fit = measured.drop, measured.fit
    line = f"drop {number + 1}   {drop.times[place] - drop.times[0]:.2f} s"
    if fit is not None:
        now = float(fit.speed_at(drop.times[place : place + 1])[0])
        line += (
            f"   {100 * now:.1f}" + (f" of {100 * fit.terminal_speed:.1f}" if measured.used else "") + " cm/s"
        )
    return [line] if measured.used else [line, "not used: " + ", ".join(measured.flags)]


def _track(run: Measurement, measured: MeasuredDrop) -> Floats:
    """Return where the fly was seen, upright px of the reference picture (n, 2)."""
    return np.array([[run.spots[row].x, run.spots[row].y] for row in measured.drop.rows])


def _fitted(run: Measurement, measured: MeasuredDrop, track: Floats) -> Floats | None:
    """Return where the fit has the fly: the track moved along the fall by the residuals [px], (n, 2)."""
    if measured.fit is None:
        return None
    places = run.view.geometry.places
    here = places(track)
    across, along = (places(track + step) - here for step in np.eye(2))
    slope = np.stack([across, along], axis=2)
    shift = -measured.fit.residuals[:, None] * run.down
    return np.asarray(track + np.linalg.solve(slope, shift[:, :, None])[:, :, 0])
