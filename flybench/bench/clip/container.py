"""A clip's container: opened, its packets read and decoded one by one, whatever is broken in it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import av
import av.error

from flybench.errors import FlybenchError

MAX_PIXELS = 36_000_000
"""Largest picture read (8K is 33 megapixels); a header that claims more is not believed."""
_MAX_BROKEN_PACKETS = 2000
"""Packets that do not decode after which the rest is given up [-]: about a minute at 30 frames a second; nothing is left
of such a clip, and a damaged index can name millions (judgement)."""
_DECODER = {"max_pixels": str(MAX_PIXELS)}
"""What decoders are told: without it a header that claims 16 000 x 16 000 px makes them work for a minute and take 2 GB
before anybody learns of its size."""
_NO_TIMES = 0x80
"""FFmpeg's mark of forms without time stamps (AVFMT_NOTIMESTAMPS, libavformat/avformat.h)."""


@dataclass
class DecodingTally:
    """What decoding met: filled while frames are streamed."""

    decoded: int = 0
    """Frames that decoded [-]."""
    broken: int = 0
    """What does not decode or does not fit; a time table that the file's own header contradicts is one."""
    unordered: int = 0
    """Frames whose time is not after that of the one before [-]."""


def check_size(path: Path, width: int, height: int) -> None:
    """Refuse a picture of more than MAX_PIXELS; ``width`` and ``height`` [px]. Raises FlybenchError."""
    if width * height > MAX_PIXELS:
        raise FlybenchError(
            f"{path}: the picture is {width} x {height} px; the limit is {MAX_PIXELS // 10**6} megapixels (8K). "
            "Film at 1080p: it is ample."
        )


def opened(path: Path) -> Any:
    """Open the file with PyAV. Raises FlybenchError that says plainly why it cannot be."""
    more: dict[str, Any] = {"metadata_errors": "replace"} if _takes_metadata_errors() else {}
    try:
        return av.open(str(path), options=_DECODER, **more)
    except av.error.FileNotFoundError as error:
        raise FlybenchError(f"{path}: no such file. Check the name and the folder.") from error
    except (av.error.FFmpegError, OSError) as error:
        size = path.stat().st_size if path.exists() else 0
        what = "is empty (0 bytes)" if size == 0 else f"is not a clip that can be read ({size} bytes)"
        raise FlybenchError(f"{path}: {what}. Copy it from the phone again, unedited.") from error


def stream_of(container: Any, number: int) -> Any:
    """Return a stream of pictures by its number, its decoder told how large pictures may be at the most."""
    stream = container.streams[number]
    stream.codec_context.options = _DECODER
    return stream


def _takes_metadata_errors() -> bool:
    """Tell whether this PyAV (before 19) needs to be told to live with odd bytes in tags."""
    return int(av.__version__.split(".", 1)[0]) < 19


def without_times(container: Any) -> bool:
    """Tell whether the file is a raw stream, which holds pictures without times."""
    return bool(container.format.flags & _NO_TIMES)


def decoded(container: Any, stream: Any, tally: DecodingTally) -> Iterator[Any]:
    """Yield decoded pictures, packet by packet, passing over what does not decode."""
    untimed = without_times(container)
    for packet in packets(container, stream, tally):
        try:
            pictures = packet.decode()
        except av.error.EOFError:
            return
        except (av.error.FFmpegError, ValueError):
            tally.broken += 1
            if tally.broken > _MAX_BROKEN_PACKETS:
                return
            continue
        yield from (picture for picture in pictures if untimed or picture.pts is not None)


def key_picture(container: Any, stream: Any) -> Any | None:
    """Return the next key frame's picture, or None where none is left that decodes.

    The decoder is told that nothing follows, else it holds the picture back until it has seen the next ones.
    Seek before anything else is decoded.
    """
    for packet in packets(container, stream, DecodingTally()):
        if not packet.is_keyframe:
            continue
        try:
            pictures = [*packet.decode(), *stream.codec_context.decode(None)]
        except (av.error.FFmpegError, ValueError):
            return None
        return next((picture for picture in pictures if picture.pts is not None), None)
    return None


def packets(container: Any, streams: Any, tally: DecodingTally) -> Iterator[Any]:
    """Yield the packets of a stream, or of several, until the end or until the file itself breaks off."""
    packets = container.demux(streams)
    while True:
        try:
            packet = next(packets, None)
        except (av.error.FFmpegError, OSError):
            tally.broken += 1
            return
        if packet is None:
            return
        yield packet
