"""How long an MP4 or MOV file says that it lasts, read from its own bytes: the movie as a whole, and its pictures.

Decoders work lengths out from the time tables, so that damage to those, or a wrong scale of ticks, would not show.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

_MOST_BOXES = 1000
"""Boxes looked through on one level [-]: real files have some ten; damage could make an endless chain (judgement)."""


def stated_length(path: Path) -> float | None:
    """Return the length [s] in the movie header (ISO/IEC 14496-12, 8.2.2), None where there is none.

    Files in fragments state none: theirs is zero.
    """
    with path.open("rb") as file:
        whole = (0, file.seek(0, os.SEEK_END))
        return next(
            (
                length
                for inside in _inside(file, whole, b"moov")
                for length in _lengths(file, inside, b"mvhd")
            ),
            None,
        )


def pictures_length(path: Path) -> float | None:
    """Return the length [s] in the header of the first track of pictures (ISO/IEC 14496-12, 8.4.2), None without one.

    It counts everything that the track holds, whatever an edit list leaves out.
    """
    with path.open("rb") as file:
        for movie in _inside(file, (0, file.seek(0, os.SEEK_END)), b"moov"):
            for track in _inside(file, movie, b"trak"):
                for media in _inside(file, track, b"mdia"):
                    if _holds_pictures(file, media):
                        return next(_lengths(file, media, b"mdhd"), None)
    return None


def _holds_pictures(file: BinaryIO, media: tuple[int, int]) -> bool:
    """Tell whether the handler of a track is that of pictures (8.4.3)."""
    for start, _ in _inside(file, media, b"hdlr"):
        file.seek(start + 8)
        return file.read(4) == b"vide"
    return False


def _inside(file: BinaryIO, within: tuple[int, int], kind: bytes) -> Iterator[tuple[int, int]]:
    """Yield where the content of each box of a kind begins and ends."""
    return ((start, end) for found, start, end in _boxes(file, *within) if found == kind)


def _lengths(file: BinaryIO, within: tuple[int, int], kind: bytes) -> Iterator[float]:
    """Yield the length [s] of each header of a kind that states one: two times, ticks a second, length."""
    for start, _ in _inside(file, within, kind):
        file.seek(start)
        header = file.read(32)
        long = header[:1] == b"\x01"
        rate, length = (header[20:24], header[24:32]) if long else (header[12:16], header[16:20])
        if length.strip(b"\xff") and int.from_bytes(rate) and int.from_bytes(length):
            yield int.from_bytes(length) / int.from_bytes(rate)


def _boxes(file: BinaryIO, start: int, end: int) -> Iterator[tuple[bytes, int, int]]:
    """Yield type, first byte of the content and end of each box (ISO/IEC 14496-12, 4.2)."""
    for _ in range(_MOST_BOXES):
        file.seek(start)
        head = file.read(16)
        size, content = int.from_bytes(head[:4]), start + 8
        if size == 1:
            size, content = int.from_bytes(head[8:16]), start + 16
        stop = end if size == 0 else min(start + size, end)
        if len(head) < 8 or stop < content or start >= end:
            return
        yield head[4:8], content, stop
        start = stop
