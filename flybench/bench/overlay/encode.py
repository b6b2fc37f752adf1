"""Writes colour pictures as an H.264 clip with given time stamps."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Any

import av
import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.own_mark import MARK, MARK_TAG

TICKS = 90_000
"""Time stamps per second."""


class Encoder:
    """An open clip; give it pictures (blue, green, red) in time order. Use as a context manager."""

    def __init__(self, path: Path, size: tuple[int, int], gap: float) -> None:
        """Open the file for pictures of ``size`` (even width and height [px]), usually ``gap`` apart [s]."""
        self.container = av.open(str(path), "w", format="mp4", options={"movflags": "faststart"})
        self.container.metadata[MARK_TAG] = MARK
        rate = Fraction(1.0 / gap).limit_denominator(1001)
        self.stream: Any = self.container.add_stream("libx264", rate=rate)
        self.stream.width, self.stream.height = size
        self.stream.pix_fmt = "yuv420p"
        self.stream.time_base = self.stream.codec_context.time_base = Fraction(1, TICKS)
        self.stream.codec_context.options = {"crf": "21", "preset": "veryfast"}

    def write(self, picture: NDArray[Any], seconds: float) -> None:
        """Add one picture, 0 to 255 and of the size given, shown from ``seconds`` on [s]."""
        planes = cv2.cvtColor(picture.astype(np.uint8, copy=False), cv2.COLOR_BGR2YUV_I420)
        frame = av.VideoFrame.from_ndarray(np.asarray(planes, np.uint8), format="yuv420p")
        frame.pts, frame.time_base = round(seconds * TICKS), Fraction(1, TICKS)
        self.container.mux(self.stream.encode(frame))

    def __enter__(self) -> Encoder:
        """Return the encoder itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Write what the encoder still holds, and close the file."""
        try:
            if kind is None:
                self.container.mux(self.stream.encode(None))
        finally:
            self.container.close()
