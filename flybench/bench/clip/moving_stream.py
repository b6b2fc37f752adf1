"""Which of a file's streams of pictures is the clip: never its cover, and of several the one that shows most."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from av.stream import Disposition

from flybench.bench.clip.container import DecodingTally, opened, packets
from flybench.errors import FlybenchError

_STILL = Disposition.attached_pic | Disposition.still_image | Disposition.timed_thumbnails
"""Marks of streams that are no clip: covers, photos, small pictures for a time line."""


def moving_stream(path: Path, container: Any) -> tuple[int, bool]:
    """Return the number of the stream that is measured, and whether others in the file move too.

    Of several moving ones it is the one with the most pictures times pixels: the longest, and the largest of those that
    last as long. Packets are counted only where there are several, in the file opened anew.
    Raises FlybenchError where there is no stream of moving pictures, or none in a form that can be read.
    """
    streams = [stream for stream in container.streams.video if not stream.disposition & _STILL]
    if not streams:
        raise FlybenchError(f"{path}: holds sound but no picture. Give a video clip.")
    readable = [stream for stream in streams if stream.codec_context is not None]
    if not readable:
        raise FlybenchError(
            f"{path}: its pictures are in a form that cannot be read. Copy it from the phone again, unedited."
        )
    if len(readable) == 1:
        return int(readable[0].index), False
    counts = _counts(path, [stream.index for stream in readable])
    moving = [stream for stream in readable if counts[stream.index] > 1] or readable
    shown = {int(stream.index): counts[stream.index] * _pixels(stream) for stream in moving}
    return max(shown, key=lambda number: shown[number]), len(moving) > 1


def _counts(path: Path, numbers: list[int]) -> dict[int, int]:
    """Return how many pictures each stream holds."""
    counts = dict.fromkeys(numbers, 0)
    with opened(path) as container:
        streams = [container.streams[number] for number in numbers]
        for packet in packets(container, streams, DecodingTally()):
            counts[packet.stream.index] += packet.size > 0
    return counts


def _pixels(stream: Any) -> int:
    """Return the size of a stream's pictures [px], 1 where it is not known."""
    size: int = stream.codec_context.width * stream.codec_context.height
    return max(size, 1)
