"""What a clip's file says before anything is decoded: its packets' times, its capture rate, whether its header agrees.

FFmpeg works a clip's length out from the time tables, so damage to those would not show. The movie header of
an MP4 or MOV file states the length apart from them; it is read here from the file's own bytes.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.container import DecodingTally, opened, packets

RATE_TAGS = ("com.android.capture.fps",)
"""Tags in which phones write how many frames a second they captured [text]; the first that makes sense counts."""
_RATES = (1.0, 10_000.0)
"""Capture rates that make sense [Hz]: from a frame a second to the fastest cameras one can buy (judgement)."""
_HEADER_SLACK = 0.003
"""By how much the stated length may differ from that of the time tables, over it [-]: writers round differently, and
damage that matters to a speed is larger (judgement)."""
_ROUNDING = 0.02
"""The same in absolute terms [s]: sound ends up to a block of 1024 samples after the pictures, 21 ms at 48 kHz."""
_MOST_BOXES = 1000
"""Boxes looked through on one level [-]: real files have some ten; damage could make an endless chain (judgement)."""


@dataclass(frozen=True)
class Survey:
    """What the packets say before anything is decoded."""

    times: NDArray[np.float64]
    """Presentation times of the packets to be shown, ascending [s]."""
    key_times: NDArray[np.float64]
    """The same of those that decode without others [s]."""
    promised: int
    """Frames that the file says it holds [-]."""
    contradicted: bool = False
    """True where the file's header gives another length than the frames' times: one of them is damaged."""


def survey_of(path: Path) -> Survey:
    """Read the times of all packets without decoding them. Raises FlybenchError where the file cannot be opened."""
    with opened(path) as container:
        stream = container.streams.video[0]
        shown = [
            (packet.pts, packet.is_keyframe)
            for packet in packets(container, stream, DecodingTally())
            if packet.pts is not None and not packet.is_discard
        ]
        base = float(stream.time_base)
        promised = max(stream.frames, len(shown))
        times = np.unique(np.array([stamp for stamp, _ in shown], dtype=float)) * base
        keys = np.unique(np.array([stamp for stamp, key in shown if key], dtype=float)) * base
        return Survey(times, keys, promised, _contradicted(path, container, stream, times))


def capture_rate(tags: dict[str, str]) -> float | None:
    """Return the capture rate that the phone wrote into the file [Hz], None where there is none that makes sense."""
    rates = (_rate(tags.get(name, "")) for name in RATE_TAGS)
    return next((rate for rate in rates if rate is not None), None)


def _rate(text: str) -> float | None:
    """Return the rate that a tag holds [Hz], None where it is no number or out of all reason."""
    try:
        rate = float(text)
    except ValueError:
        return None
    return rate if _RATES[0] <= rate <= _RATES[1] else None


def _contradicted(path: Path, container: Any, stream: Any, times: NDArray[np.float64]) -> bool:
    """Tell whether the file's header says that it lasts shorter or longer than its tracks do."""
    told = stated_length(path) if "mp4" in container.format.name and stream.frames else None
    if told is None or len(times) < 2:
        return False
    gap = float(np.median(np.diff(times)))
    end = float(times[-1]) + gap
    others = [_end(other) for other in container.streams if other.index != stream.index]
    slack = _HEADER_SLACK * end + max(gap, _ROUNDING)
    shortest, longest = min(end, end - float(times[0])), max([end, *others])
    return not shortest - slack <= told <= longest + slack


def _end(stream: Any) -> float:
    """Return when a track of sound or data ends [s]."""
    if stream.duration is None or stream.time_base is None:
        return 0.0
    return float(((stream.start_time or 0) + stream.duration) * stream.time_base)


def stated_length(path: Path) -> float | None:
    """Return the length [s] in the movie header (ISO/IEC 14496-12, 8.2.2), None where there is none.

    Files in fragments state none: theirs is zero.
    """
    with path.open("rb") as file:
        for kind, start, end in _boxes(file, 0, file.seek(0, os.SEEK_END)):
            if kind == b"moov":
                return _movie_length(file, start, end)
    return None


def _movie_length(file: BinaryIO, start: int, end: int) -> float | None:
    for kind, inside, _ in _boxes(file, start, end):
        if kind == b"mvhd":
            file.seek(inside)
            header = file.read(32)
            long = header[:1] == b"\x01"
            rate, length = (header[20:24], header[24:32]) if long else (header[12:16], header[16:20])
            if length.strip(b"\xff") and int.from_bytes(rate):
                return int.from_bytes(length) / int.from_bytes(rate) or None
    return None


def _boxes(file: BinaryIO, start: int, end: int) -> Iterator[tuple[bytes, int, int]]:
    """Yield type, first byte of the content and end of each box (ISO/IEC 14496-12, 4.2)."""
    for _ in range(_MOST_BOXES):
        file.seek(start)
        head = file.read(16)
        size, content = int.from_bytes(head[:4]), start + 8
        if size == 1:
            size, content = int.from_bytes(head[8:16]), start + 16
        stop = end if size == 0 else start + size
        if len(head) < 8 or stop < content or start >= end:
            return
        yield head[4:8], content, stop
        start = stop
