"""The overlay clip: the clip again, upright, with the track, the fit and the scale drawn into it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.backdrop import eight_bit
from flybench.bench.footage import Clip, Frame
from flybench.bench.measure import Run
from flybench.bench.result import MeasuredDrop
from flybench.bench.steady import moved, unmoved

Picture = NDArray[Any]
Progress = Callable[[int, int], None]

TALLEST = 1280
"""Greatest height of the overlay [px]."""
_TICKS = 90_000
_USED, _UNUSED, _FIT, _INK = (60, 200, 60), (60, 60, 230), (0, 140, 255), (255, 255, 255)
_BARS_MM = (10, 20, 50, 100, 200)
_FONT = cv2.FONT_HERSHEY_SIMPLEX


def write_overlay(clip: Clip, run: Run, path: Path, progress: Progress | None = None) -> None:
    """Decode the clip again, draw, and write H.264 with the clip's own time stamps; nothing is kept in memory.

    In hand-held clips the marks are put where the frame itself shows the fly.
    """
    artist = _Artist(clip, run)
    with av.open(str(path), "w", format="mp4") as out:
        stream: Any = out.add_stream("libx264", rate=30)
        stream.width, stream.height, stream.pix_fmt = artist.width, artist.height, "yuv420p"
        stream.codec_context.time_base = stream.time_base = Fraction(1, _TICKS)
        stream.codec_context.options = {"crf": "21", "preset": "veryfast"}
        for frame in clip.frames():
            picture = av.VideoFrame.from_ndarray(artist.drawn(frame), format="bgr24")
            picture.pts, picture.time_base = round(frame.clip_time * _TICKS), Fraction(1, _TICKS)
            out.mux(stream.encode(picture))
            if progress is not None:
                progress(frame.index + 1, len(clip.survey.times))
        out.mux(stream.encode(None))


class _Artist:
    """Draws one frame after the other; remembers only the motion of the camera."""

    def __init__(self, clip: Clip, run: Run) -> None:
        self.clip, self.run = clip, run
        orientation = clip.orientation
        self.scale = min(TALLEST / orientation.height, 1.0)
        self.width = int(orientation.width * self.scale) // 2 * 2
        self.height = int(orientation.height * self.scale) // 2 * 2
        self.motion = None if run.stage.steadiness.still else unmoved()
        self.at: dict[int, tuple[int, int]] = {}
        for number, measured in enumerate(run.result.drops):
            for place, row in enumerate(measured.drop.rows):
                self.at[run.spots[row].frame] = (number, place)
        self.trails: dict[int, list[tuple[int, int]]] = defaultdict(list)
        self.text = max(self.height / 1600, 0.4)

    def drawn(self, frame: Frame) -> Picture:
        """Return the frame upright in colour (blue, green, red) with everything drawn in."""
        grey = eight_bit(frame.luma, frame.shift)
        if self.motion is not None:
            found = self.run.stage.steadier.motion(grey, self.motion)
            self.motion = self.motion if found is None else found
        upright = self.clip.orientation.picture(grey)
        small = cv2.resize(upright, (self.width, self.height), interpolation=cv2.INTER_AREA)
        canvas = cv2.cvtColor(small, cv2.COLOR_GRAY2BGR)
        if frame.index in self.at:
            self._fly(canvas, *self.at[frame.index])
        self._bar(canvas)
        return canvas

    def _pixel(self, x: float, y: float) -> tuple[int, int]:
        """Return where a place of the reference picture lies in this frame of the overlay."""
        point = np.array([[x, y]])
        if self.motion is not None:
            turn = self.clip.orientation
            point = turn.upright(moved(turn.stored(point), self.motion))
        return round(float(point[0, 0]) * self.scale), round(float(point[0, 1]) * self.scale)

    def _fly(self, canvas: Picture, number: int, place: int) -> None:
        measured = self.run.result.drops[number]
        spot = self.run.spots[measured.drop.rows[place]]
        colour = _USED if measured.used else _UNUSED
        centre = self._pixel(spot.x, spot.y)
        trail = self.trails[number]
        trail.append(centre)
        cv2.polylines(canvas, [np.array(trail, np.int32)], False, colour, 1, cv2.LINE_AA)
        cv2.circle(canvas, centre, max(round(0.7 * spot.length * self.scale), 6), colour, 2, cv2.LINE_AA)
        cv2.drawMarker(canvas, centre, _FIT, cv2.MARKER_CROSS, 10, 1, cv2.LINE_AA)
        self._words(canvas, _told(number, measured, place))

    def _words(self, canvas: Picture, lines: list[str]) -> None:
        """Write lines at the top left on a dark ground."""
        step = round(34 * self.text) + 4
        widest = max(cv2.getTextSize(line, _FONT, self.text, 1)[0][0] for line in lines)
        cv2.rectangle(canvas, (0, 0), (widest + 16, step * len(lines) + 10), (40, 40, 40), cv2.FILLED)
        for number, line in enumerate(lines, 1):
            cv2.putText(canvas, line, (8, step * number), _FONT, self.text, _INK, 1, cv2.LINE_AA)

    def _bar(self, canvas: Picture) -> None:
        """Draw a bar of true length on the fall plane at the bottom left."""
        millimetre = self.scale / (self.run.result.metres_per_px * 1e3)
        length = max((mm for mm in _BARS_MM if mm * millimetre < 0.4 * self.width), default=_BARS_MM[0])
        y, right = self.height - 16, 12 + round(length * millimetre)
        for colour, extra in (((0, 0, 0), 3), (_INK, 0)):
            cv2.line(canvas, (12, y), (right, y), colour, 3 + extra)
            cv2.putText(canvas, f"{length} mm", (12, y - 8), _FONT, self.text, colour, 1 + extra, cv2.LINE_AA)


def _told(number: int, measured: MeasuredDrop, place: int) -> list[str]:
    """Return what to write beside a falling fly; plain ASCII, which is all the drawing font has."""
    seconds = float(measured.drop.times[place] - measured.drop.times[0])
    lines = [f"drop {number + 1}   {seconds:5.2f} s"]
    fit = measured.fit
    if fit is not None:
        now = float(fit.speed_at(fit.times[place : place + 1])[0])
        lines.append(f"{100 * now:.1f} of {100 * fit.terminal_speed:.1f} cm/s")
    if not measured.used:
        lines.append("not used: " + ", ".join(measured.flags))
    return lines
