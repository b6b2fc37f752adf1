"""Files spoilt in every way that cards, messengers and editors spoil them, and files that lie; each made again by its number.

What a box of an MP4 or MOV file holds, and where, is in ISO/IEC 14496-12; where a picture's size stands in other forms:
GIF89a, section 18; Matroska, PixelWidth and PixelHeight (RFC 9559, 5.1.4.1.28); AVI, BITMAPINFOHEADER (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

Rng = np.random.Generator
Spoil = Callable[[bytes, Rng], bytes]
HUGE = 30_000
"""Side of a picture that a lying file claims [px]."""
SCALES = (10_000.0, 4.0, 2.0, 1.02, 1 / 1.02, 0.5, 0.25, 1e-4)
"""Factors on a scale of ticks [-]."""
TABLES = (
    b"stts",
    b"stss",
    b"ctts",
    b"stsc",
    b"stsz",
    b"stco",
    b"stsd",
    b"elst",
    b"mdhd",
    b"tkhd",
    b"mvhd",
    b"hdlr",
    b"stbl",
)
"""Boxes that are taken away."""


@dataclass(frozen=True)
class Spoilt:
    """A spoilt copy and how it was spoilt."""

    data: bytes
    how: str


def _flips(most: int) -> Spoil:
    def spoil(data: bytes, rng: Rng) -> bytes:
        return _flipped(data, rng, 0, len(data), int(rng.integers(1, most)))

    return spoil


def _flipped(data: bytes, rng: Rng, start: int, stop: int, count: int) -> bytes:
    spoilt = bytearray(data)
    for place in rng.integers(start, stop, count):
        spoilt[place] ^= int(rng.integers(1, 256))
    return bytes(spoilt)


def _cut_off(data: bytes, rng: Rng) -> bytes:
    return data[: int(rng.integers(1, len(data)))]


def _zeroed(data: bytes, rng: Rng) -> bytes:
    start, length = _block(data, rng)
    return data[:start] + bytes(length) + data[start + length :]


def _repeated(data: bytes, rng: Rng) -> bytes:
    start, length = _block(data, rng)
    return data[: start + length] + data[start:]


def _left_out(data: bytes, rng: Rng) -> bytes:
    start, length = _block(data, rng)
    return data[:start] + data[start + length :]


def _swapped(data: bytes, rng: Rng) -> bytes:
    length = int(rng.integers(1, max(len(data) // 8, 2)))
    one, other = sorted(int(place) for place in rng.integers(0, len(data) - 2 * length, 2))
    other += length
    first, second = data[one : one + length], data[other : other + length]
    return data[:one] + second + data[one + length : other] + first + data[other + length :]


def _block(data: bytes, rng: Rng) -> tuple[int, int]:
    start = int(rng.integers(0, len(data)))
    return start, min(int(rng.integers(1, 4000)), len(data) - start)


def _head_flipped(data: bytes, rng: Rng) -> bytes:
    """Alter a few bytes of the first two thousand, where most forms say what they hold."""
    return _flipped(data, rng, 0, min(2000, len(data)), int(rng.integers(1, 4)))


def _index_flipped(data: bytes, rng: Rng) -> bytes:
    """Alter a few bytes in the index alone: sizes, times, turns, tables."""
    start = data.index(b"moov")
    return _flipped(data, rng, start, start - 4 + _at(data, start - 4), int(rng.integers(1, 4)))


def _scaled(box: bytes) -> Spoil:
    """Return what multiplies the ticks a second in a header of the movie or of the pictures."""

    def spoil(data: bytes, rng: Rng) -> bytes:
        place = data.index(box) + 4 + 12
        ticks = np.clip(round(_at(data, place) * float(rng.choice(SCALES))), 1, 2**32 - 1)
        return _put(data, place, int(ticks))

    return spoil


def _gaps(kind: str) -> Spoil:
    """Return what makes the gaps between pictures nothing, negative, enormous or many times too long (``stts``)."""

    def spoil(data: bytes, rng: Rng) -> bytes:
        place = data.index(b"stts") + 8
        for entry in range(min(_at(data, place), 400)):
            if kind == "one" and rng.random() > 0.05:
                continue
            at = place + 8 + 8 * entry
            gap = {"none": 0, "negative": 2**32 - 1500, "enormous": 2**31 - 1}.get(kind, _at(data, at) * 7)
            data = _put(data, at, gap)
        return data

    return spoil


def _shifts(data: bytes, rng: Rng) -> bytes:
    """Scramble the shifts from decoding to showing (``ctts``), so that times are equal or go back."""
    place = data.index(b"ctts") + 8
    for entry in range(min(_at(data, place), 400)):
        if rng.random() < 0.3:
            data = _put(data, place + 8 + 8 * entry, int(rng.choice([0, 3000, 2**32 - 3000, 2**31])))
    return data


def _no_length(data: bytes, rng: Rng) -> bytes:
    """Set the stated lengths of movie, track and pictures to nothing, or to all that fits."""
    length = int(rng.choice([0, 1, 2**32 - 1]))
    for box, off in ((b"mvhd", 16), (b"mdhd", 16), (b"tkhd", 20)):
        data = _put(data, data.index(box) + 4 + off, length)
    return data


def _edited(data: bytes, rng: Rng) -> bytes:
    """Write nonsense into the edit list: length, start or rate."""
    place = data.index(b"elst") + 12
    return _put(data, place + 4 * int(rng.integers(3)), int(rng.choice([0, 1, 2**31 - 1, 2**32 - 1, 40_000])))


def _turned(data: bytes, rng: Rng) -> bytes:
    """Put a matrix into the track that is no turn: any numbers, nothing, or a slant."""
    place = data.index(b"tkhd") + 4 + 40
    kind = int(rng.integers(3))
    numbers = rng.integers(0, 2**32, 4) if kind == 0 else np.zeros(4, np.int64)
    if kind == 2:
        angle = rng.uniform(0, 2 * np.pi)
        numbers = np.round(65536 * np.array([np.cos(angle), np.sin(angle), -np.sin(angle), np.cos(angle)]))
    for off, number in zip((0, 4, 12, 16), numbers, strict=True):
        data = _put(data, place + off, int(number) % 2**32)
    return data


def _huge(data: bytes, rng: Rng) -> bytes:
    """Claim a picture of 30 000 x 30 000 px where the file says how large it is."""
    side = HUGE.to_bytes(2) * 2
    if data[:3] == b"GIF":
        return data[:6] + HUGE.to_bytes(2, "little") * 2 + data[10:]
    if b"strf" in data[:4000]:
        place = data.index(b"strf") + 12
        return data[:place] + HUGE.to_bytes(4, "little") * 2 + data[place + 8 :]
    for box in (b"avc1", b"hvc1", b"hev1"):
        if box in data and b"moov" in data:
            place = data.index(box, data.index(b"moov")) + 4 + 24
            return data[:place] + side + data[place + 4 :]
    for name in (b"\xb0\x82", b"\xba\x82"):  # Matroska: element and a length of two bytes
        if name in data[:3000]:
            place = data.index(name) + 2
            data = data[:place] + HUGE.to_bytes(2) + data[place + 2 :]
    return data


def _without(data: bytes, rng: Rng) -> bytes:
    """Take a table or a header away: its name is made that of a box to be skipped."""
    there = [box for box in TABLES if box in data]
    place = data.index(there[int(rng.integers(len(there)))])
    return data[:place] + b"free" + data[place + 4 :]


def _many(data: bytes, rng: Rng) -> bytes:
    """Claim many entries in a table of samples."""
    box = [b"stts", b"stsz", b"stsc", b"stco", b"ctts"][int(rng.integers(5))]
    place = data.index(box) + (12 if box == b"stsz" else 8)
    return _put(data, place, int(rng.choice([0, 10**6, 2**31 - 1, 2**32 - 1])))


def _at(data: bytes, place: int) -> int:
    return int.from_bytes(data[place : place + 4])


def _put(data: bytes, place: int, number: int) -> bytes:
    return data[:place] + number.to_bytes(4) + data[place + 4 :]


ANY: dict[str, Spoil] = {
    "cut off": _cut_off,
    "few bytes altered": _flips(20),
    "many bytes altered": _flips(300),
    "beginning altered": _head_flipped,
    "block zeroed": _zeroed,
    "block repeated": _repeated,
    "block left out": _left_out,
    "pieces swapped": _swapped,
    "huge picture claimed": _huge,
}
"""What can be done to any file."""
BOXED: dict[str, Spoil] = ANY | {
    "index altered": _index_flipped,
    "index altered again": _index_flipped,
    "movie's ticks": _scaled(b"mvhd"),
    "pictures' ticks": _scaled(b"mdhd"),
    "equal times": _gaps("none"),
    "negative times": _gaps("negative"),
    "enormous gaps": _gaps("enormous"),
    "gaps seven times as long": _gaps("all"),
    "a gap seven times as long": _gaps("one"),
    "shifts scrambled": _shifts,
    "no length": _no_length,
    "edit list": _edited,
    "no turn": _turned,
    "table missing": _without,
    "many entries": _many,
}
"""What can be done to an MP4 or MOV file as well."""


def spoilt(data: bytes, number: int) -> Spoilt:
    """Return the data spoilt in the way that the number says, and how."""
    ways = BOXED if data[4:8] == b"ftyp" else ANY
    how = list(ways)[number % len(ways)]
    return Spoilt(ways[how](data, np.random.default_rng(number)), how)
