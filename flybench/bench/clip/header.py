"""The length that an MP4 or MOV file states in its movie header, apart from its tracks' time tables.

FFmpeg works the length out from the time tables, so that damage to those would not show.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

_MOST_BOXES = 1000


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
