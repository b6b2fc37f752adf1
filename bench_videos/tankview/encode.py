"""Writes grey pictures as a compressed clip: exact time stamps, rotation, tags."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from types import TracebackType

import av
import numpy as np
from numpy.typing import NDArray

from tankview.scene import Scene

TICKS = 90_000
"""Time stamps per second."""
CAPTURE_TAG = "com.android.capture.fps"
_LIMITED, _FULL = 1, 2


class Writer:
    """An open clip; give it upright pictures in order, each with its time stamp."""

    def __init__(self, scene: Scene, path: Path) -> None:
        """Open the file and set the encoder up."""
        how, timing, camera = scene.encoding, scene.timing, scene.camera
        self.quarter_turns = round(camera.stored_rotation / 90)
        self.how = how
        self.container = av.open(str(path), "w", options={"movflags": "use_metadata_tags"})
        for name, value in _tags(scene):
            self.container.metadata[name] = value
        rate = Fraction(timing.fps / timing.stretch).limit_denominator(1001)
        stream = self.container.add_stream("libx265" if how.codec == "hevc" else "libx264", rate=rate)
        turned = self.quarter_turns % 2
        size = (camera.width, camera.height)
        stream.width, stream.height = size[::-1] if turned else size
        self.pix_fmt = stream.pix_fmt = "yuv420p10le" if how.ten_bit else "yuv420p"
        stream.time_base = stream.codec_context.time_base = Fraction(1, TICKS)
        stream.codec_context.color_range = _FULL if how.full_range else _LIMITED
        stream.codec_context.options = _options(scene)
        if how.codec == "hevc":
            stream.codec_context.codec_tag = "hvc1"
        if self.quarter_turns:
            stream.set_display_rotation(camera.stored_rotation)
        self.stream = stream

    def write(self, picture: NDArray[np.float32], stamp: int) -> None:
        """Add one picture in grey levels 0 to 255; ``stamp`` in ticks."""
        luma = np.rot90(self._luma(picture), -self.quarter_turns)
        frame = av.VideoFrame(luma.shape[1], luma.shape[0], self.pix_fmt)
        factor = 4 if self.how.ten_bit else 1
        _fill(frame.planes[0], luma)
        for plane, chroma in zip(frame.planes[1:], self.how.tint, strict=True):
            np.frombuffer(memoryview(plane), luma.dtype)[:] = chroma * factor
        frame.color_range = _FULL if self.how.full_range else _LIMITED
        frame.pts, frame.time_base = stamp, Fraction(1, TICKS)
        for packet in self.stream.encode(frame):
            self.container.mux(packet)

    def _luma(self, picture: NDArray[np.float32]) -> NDArray[np.uint8] | NDArray[np.uint16]:
        factor = 4 if self.how.ten_bit else 1
        gain, floor = (factor, 0) if self.how.full_range else (factor * 219 / 255, factor * 16)
        top = factor * (255 if self.how.full_range else 235)
        levels = picture * np.float32(gain)
        levels += np.float32(floor + 0.5)
        np.clip(levels, floor, top + 0.5, out=levels)
        return levels.astype(np.uint16) if self.how.ten_bit else levels.astype(np.uint8)

    def __enter__(self) -> Writer:
        """Return the writer itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Flush the encoder and close the file."""
        if kind is None:
            for packet in self.stream.encode():
                self.container.mux(packet)
        self.container.close()


def _tags(scene: Scene) -> list[tuple[str, str]]:
    tags = list(scene.encoding.tags)
    if scene.timing.stretch != 1 and scene.timing.tag:
        tags.append((CAPTURE_TAG, f"{scene.timing.fps:.6f}"))
    return tags


def _options(scene: Scene) -> dict[str, str]:
    how = scene.encoding
    interval = how.keyint or max(1, round(scene.timing.fps))
    options = {"crf": f"{how.crf:g}", "preset": how.preset}
    if how.codec == "hevc":
        span = "full" if how.full_range else "limited"
        told = f"log-level=error:bframes={how.bframes}:keyint={interval}:range={span}"
        return options | {"x265-params": told}
    return options | {"bf": str(how.bframes), "g": str(interval)}


def _fill(plane: av.video.plane.VideoPlane, values: NDArray[np.uint8] | NDArray[np.uint16]) -> None:
    rows = np.frombuffer(memoryview(plane), values.dtype).reshape(plane.height, -1)
    rows[:, : values.shape[1]] = values
