"""Clips written by PyAV alone: pictures that know their number, at any times."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np

TICKS = 90_000
"""Time stamps per second."""


def numbered_picture(number: int, width: int = 320, height: int = 240) -> np.ndarray:
    """Return a grey picture whose top left corner is bright and whose number can be read off its middle."""
    grey = np.full((height, width), 90, np.uint8)
    grey[:40, :60] = 220
    for bit in range(8):
        grey[height // 2 : height // 2 + 24, 80 + 20 * bit : 100 + 20 * bit] = (
            200 if number >> bit & 1 else 40
        )
    return grey


def write_clip(path: Path, stamps: list[int], codec: str = "libx264", turn: Any = None, **more: Any) -> None:
    """Encode one picture a stamp (in ticks) with B-frames; ``turn`` are arguments of the display matrix."""
    with av.open(str(path), "w", options={"movflags": "use_metadata_tags"}) as out:
        stream: Any = out.add_stream(codec, rate=30)
        stream.width, stream.height, stream.pix_fmt = 320, 240, more.get("pix_fmt", "yuv420p")
        stream.codec_context.time_base = stream.time_base = Fraction(1, TICKS)
        quiet = {"x265-params": "log-level=error:bframes=3"} if codec == "libx265" else {"bf": "3"}
        stream.codec_context.options = {"crf": "12", **quiet}
        if turn is not None:
            stream.set_display_rotation(turn[0], **turn[1])
        out.metadata.update(more.get("tags", {}))
        for number, stamp in enumerate(stamps):
            frame = av.VideoFrame.from_ndarray(numbered_picture(number), format="gray").reformat(
                format=stream.pix_fmt
            )
            frame.pts, frame.time_base = stamp, Fraction(1, TICKS)
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
