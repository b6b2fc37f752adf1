"""What phone makers append to their clips: the marks of slow motion in the list of notes at a file's end.

One maker's cameras close a file with notes, a list of where each stands, and the letters SEFT; a note is named in the file,
and the names of those about slow motion all hold the word (read off such a clip; the form is not published). They do not
say at how many frames a second the camera filmed.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import BinaryIO

_LIST, _END = b"SEFH", b"SEFT"
_MOST_NOTES = 100
"""Notes looked through [-]: phones write a handful (judgement)."""
_LONGEST_NAME = 200
"""Longest name of a note [bytes]: real ones have some twenty (judgement)."""
_SLOW = b"SlowMotion"
_ENTRY = 12
"""Bytes of an entry of the list: two and two for its kind, then how far before the list the note stands, and its length."""


def marked_as_slow_motion(path: Path) -> bool:
    """Tell whether the phone noted in the file that the clip is slow motion. Raises OSError where it cannot be read."""
    with path.open("rb") as file:
        end = file.seek(0, os.SEEK_END)
        if end < 8:
            return False
        file.seek(end - 8)
        tail = file.read(8)
        length = int.from_bytes(tail[:4], "little")
        if tail[4:] != _END or not 12 <= length <= end - 8:
            return False
        return _lists_slow_motion(file, end - 8 - length)


def _lists_slow_motion(file: BinaryIO, place: int) -> bool:
    """Tell whether the list at a place names a note about slow motion: letters, version, count, entries."""
    file.seek(place)
    head = file.read(12)
    if head[:4] != _LIST:
        return False
    count = min(int.from_bytes(head[8:12], "little"), _MOST_NOTES)
    entries = file.read(_ENTRY * count)
    backs = (
        int.from_bytes(entries[at + 4 : at + 8], "little")
        for at in range(0, len(entries) - _ENTRY + 1, _ENTRY)
    )
    return any(_SLOW in _name(file, place - back) for back in backs)


def _name(file: BinaryIO, place: int) -> bytes:
    """Return the name of the note at a place: four bytes for its kind, four for the name's length, the name."""
    if place < 0:
        return b""
    file.seek(place)
    head = file.read(8)
    return file.read(min(int.from_bytes(head[4:8], "little"), _LONGEST_NAME))
