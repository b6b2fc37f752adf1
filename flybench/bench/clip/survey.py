"""What a clip's file says before anything is decoded: its packets' times, its capture rate, whether its header agrees."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.clock import NO_DOUBT, TimesDoubt
from flybench.bench.clip.container import DecodingTally, opened, packets, without_times
from flybench.bench.clip.header import Lengths, lengths, stated_length
from flybench.bench.clip.length_doubt import (
    MOST_CODED,
    ROUNDING,
    SLACK,
    Pictures,
    header_ratio,
    leaves_out,
    plays_at,
)
from flybench.bench.clip.maker_marks import marked_as_slow_motion

RATE_TAGS = ("com.android.capture.fps",)
"""Tags in which phones write how many frames a second they captured [text]; the first that makes sense counts."""
_RATES = (1.0, 10_000.0)
"""Capture rates that make sense [Hz]: from a frame a second to the fastest cameras one can buy (judgement)."""
MADE_UP_RATE = 25.0
"""Frames a second given to a raw stream, which has no times [Hz]: any will do, as the user's rate replaces it."""


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
    """True where the file's header gives another length than the frames' times, and no wrong scale of ticks and no edit list
    explains it: one of them is damaged."""
    doubt: TimesDoubt = NO_DOUBT


def survey_of(path: Path, number: int) -> Survey:
    """Read the times of all packets of a stream without decoding them.

    Raises FlybenchError where the file cannot be opened.
    """
    with opened(path) as container:
        stream = container.streams[number]
        if without_times(container):
            count = sum(packet.size > 0 for packet in packets(container, stream, DecodingTally()))
            times = np.arange(count) / MADE_UP_RATE
            return Survey(times, times[:0], count, doubt=TimesDoubt(made_up=True))
        read = [
            (packet.pts, packet.is_keyframe, packet.is_discard)
            for packet in packets(container, stream, DecodingTally())
            if packet.pts is not None
        ]
        shown = [(stamp, key) for stamp, key, left_out in read if not left_out]
        base = float(stream.time_base)
        times = np.unique(np.array([stamp for stamp, _ in shown], dtype=float)) * base
        keys = np.unique(np.array([stamp for stamp, key in shown if key], dtype=float)) * base
        told = lengths(path, stream.id) if "mp4" in container.format.name and stream.frames else None
        contradicted = _contradicted(path, container, stream, times)
        marked = "the phone marked the clip as slow motion" if marked_as_slow_motion(path) else ""
        if told is None or len(times) < 2:
            promised = max(stream.frames, len(shown))
            return Survey(times, keys, promised, contradicted, TimesDoubt(slowed=marked))
        pictures = _pictures(container, stream, times)
        trimmed = len(shown) < len(read) or leaves_out(told, pictures)
        promised = len(shown) if trimmed else max(stream.frames, len(shown))
        doubt = _doubt(told, pictures, marked)
        explained = doubt.by_edit_list or doubt.header_ratio != 1.0
        return Survey(times, keys, promised, contradicted and not explained, doubt)


def _pictures(container: Any, stream: Any, times: NDArray[np.float64]) -> Pictures:
    """Return what is known of the pictures besides the stated length of their track; two times at least."""
    rate = stream.codec_context.framerate
    others = [_end(other) for other in container.streams if other.index != stream.index]
    return Pictures(
        stream.frames,
        float(np.median(np.diff(times))),
        float(rate) if rate and rate <= MOST_CODED else None,
        max(others, default=0.0),
    )


def _doubt(told: Lengths, pictures: Pictures, marked: str) -> TimesDoubt:
    """Return what the header says against the pictures' times; ``marked`` is what the phone noted."""
    rate = plays_at(told)
    return TimesDoubt(
        header_ratio=header_ratio(told, pictures),
        slowed=marked if rate == 1.0 else f"the file has its pictures played at {rate:g} times their speed",
        by_edit_list=rate != 1.0,
    )


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
    slack = SLACK * end + max(gap, ROUNDING)
    shortest, longest = min(end, end - float(times[0])), max([end, *others])
    return not shortest - slack <= told <= longest + slack


def _end(stream: Any) -> float:
    """Return when a track of sound or data ends [s]."""
    if stream.duration is None or stream.time_base is None:
        return 0.0
    return float(((stream.start_time or 0) + stream.duration) * stream.time_base)
