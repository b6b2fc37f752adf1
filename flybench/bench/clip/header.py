"""What an MP4 or MOV file says of its lengths, read from its own bytes: the movie, a track, and the track's edit list.

Decoders work lengths out from the time tables, so that damage to those, or a wrong scale of ticks, would not show.
Boxes are those of ISO/IEC 14496-12; the QuickTime file format has the same.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

Span = tuple[int, int]
"""First byte of a box's content, and its end."""

_MOST_BOXES = 1000
"""Boxes looked through on one level [-]: real files have some ten; damage could make an endless chain (judgement)."""
_MOST_EDITS = 1000
"""Entries of an edit list that are read [-]: phones write one or two (judgement)."""


@dataclass(frozen=True)
class Edit:
    """One entry of an edit list (8.6.6): a piece of the track as the movie plays it."""

    length: float
    """How long the movie plays it [s]."""
    start: float | None
    """Where in the track it begins [s]; None for a pause without pictures."""
    rate: float
    """Speed at which the track's pictures are played [-]; 0 for one that stands still."""


@dataclass(frozen=True)
class Lengths:
    """What the header says of how long movie and track last."""

    movie: float
    """Length of the movie [s]."""
    movie_ticks: int
    """Ticks a second in which the movie is counted [Hz]."""
    track: float
    """Length of all that the track holds [s], whatever an edit list leaves out."""
    edits: tuple[Edit, ...]
    """The track's edit list; empty where all of it is played."""


def lengths(path: Path, track: int) -> Lengths | None:
    """Return what the file says of its length and of that of the track with a number; None where it does not.

    Files in fragments state no length: theirs is zero.
    """
    with path.open("rb") as file:
        for movie in _inside(file, _whole(file), b"moov"):
            for told in _counted(file, movie, b"mvhd"):
                for box in _inside(file, movie, b"trak"):
                    if _number(file, box) == track:
                        return _of_track(file, box, told)
    return None


def stated_length(path: Path) -> float | None:
    """Return the length [s] in the movie header (8.2.2), None where there is none."""
    with path.open("rb") as file:
        for movie in _inside(file, _whole(file), b"moov"):
            return next((count / rate for rate, count in _counted(file, movie, b"mvhd")), None)
    return None


def stated_size(path: Path) -> tuple[int, int]:
    """Return width and height [px] of the widest pictures that the file states (8.5.2, 12.1.3), noughts without any."""
    with path.open("rb") as file:
        spans = [_whole(file)]
        for kind in (b"moov", b"trak", b"mdia", b"minf", b"stbl", b"stsd"):
            spans = [inside for span in spans for inside in _inside(file, span, kind)]
        return max((_picture_size(file, start) for start, _ in spans), default=(0, 0))


def _picture_size(file: BinaryIO, start: int) -> tuple[int, int]:
    """Return the size [px] in the first entry of a description of samples: after its count, 32 bytes into the entry."""
    file.seek(start + 8 + 32)
    size = file.read(4)
    return int.from_bytes(size[:2]), int.from_bytes(size[2:])


def _of_track(file: BinaryIO, track: Span, movie: tuple[int, int]) -> Lengths | None:
    rate, count = movie
    for media in _inside(file, track, b"mdia"):
        for ticks, length in _counted(file, media, b"mdhd"):
            return Lengths(count / rate, rate, length / ticks, _edits(file, track, rate, ticks))
    return None


def _edits(file: BinaryIO, track: Span, movie_rate: int, track_rate: int) -> tuple[Edit, ...]:
    """Return the entries of a track's edit list, if it has one: length, start, and rate in 16.16 bits."""
    found = []
    for place in _inside(file, track, b"edts"):
        for start, end in _inside(file, place, b"elst"):
            file.seek(start)
            head = file.read(8)
            wide = 8 if head[:1] == b"\x01" else 4
            entry = 2 * wide + 4
            count = min(int.from_bytes(head[4:8]), (end - start - 8) // entry, _MOST_EDITS)
            for _ in range(count):
                one = file.read(entry)
                begun = int.from_bytes(one[wide : 2 * wide], signed=True)
                found.append(
                    Edit(
                        int.from_bytes(one[:wide]) / movie_rate,
                        None if begun < 0 else begun / track_rate,
                        int.from_bytes(one[2 * wide :], signed=True) / 65536,
                    )
                )
    return tuple(found)


def _number(file: BinaryIO, track: Span) -> int | None:
    """Return a track's number (8.3.2): it stands after two times, of 32 or 64 bits."""
    for start, _ in _inside(file, track, b"tkhd"):
        file.seek(start)
        header = file.read(24)
        return int.from_bytes(header[20:24] if header[:1] == b"\x01" else header[12:16])
    return None


def _whole(file: BinaryIO) -> Span:
    return 0, file.seek(0, os.SEEK_END)


def _inside(file: BinaryIO, within: Span, kind: bytes) -> Iterator[Span]:
    """Yield where the content of each box of a kind begins and ends."""
    return ((start, end) for found, start, end in _boxes(file, *within) if found == kind)


def _counted(file: BinaryIO, within: Span, kind: bytes) -> Iterator[tuple[int, int]]:
    """Yield ticks a second, and length in them, of each header of a kind that states both; two times stand before."""
    for start, _ in _inside(file, within, kind):
        file.seek(start)
        header = file.read(32)
        long = header[:1] == b"\x01"
        rate, length = (header[20:24], header[24:32]) if long else (header[12:16], header[16:20])
        if length.strip(b"\xff") and int.from_bytes(rate) and int.from_bytes(length):
            yield int.from_bytes(rate), int.from_bytes(length)


def _boxes(file: BinaryIO, start: int, end: int) -> Iterator[tuple[bytes, int, int]]:
    """Yield type, first byte of the content and end of each box (4.2)."""
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
