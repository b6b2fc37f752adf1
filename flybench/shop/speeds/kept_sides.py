"""Sides of comparisons as bytes, as they are kept with pooled speeds: what a speed's doubt is made of, and what is shared.

Words of eight bytes, least byte first: size and degrees of freedom of each part, in the order of ``_PARTS``; drops, runs and
flies behind it, 0 flies for a fly; then a number that stands for each shared thing, with its size. Sizes are in m/s.
"""

from __future__ import annotations

import hashlib
from functools import lru_cache

import numpy as np

from flybench.statistics.comparing import DoubtPart, Repeat, Side

_PARTS = ("drops", "runs", "flies", "clip", "walls", "water")
_REPEATS = (Repeat.DROPS, Repeat.RUNS, Repeat.FLIES, Repeat.RUNS, Repeat.NOTHING, Repeat.NOTHING)
"""What lessens each part; more flies lessen a variant's part of the walls too."""
_COUNTED = (Repeat.DROPS, Repeat.RUNS, Repeat.FLIES)
_HEAD = 2 * len(_PARTS) + len(_COUNTED)
"""Words before those of what is shared [-]."""
_THINGS_KEPT = 1 << 16
"""Things whose numbers are remembered [-]: those of a shop's runs (judgement)."""


def packed(side: Side) -> bytes:
    """Return a side as bytes, all but its code and its speed. Raises ValueError for a part of another name."""
    words = np.zeros(_HEAD + 2 * len(side.shared))
    for part in side.parts:
        place = 2 * _PARTS.index(part.source)
        words[place : place + 2] = part.uncertainty, part.freedom
    words[2 * len(_PARTS) : _HEAD] = [side.counts.get(repeat, 0) for repeat in _COUNTED]
    words[_HEAD::2] = np.array([_number(thing) for thing in side.shared], dtype="<i8").view("<f8")
    words[_HEAD + 1 :: 2] = list(side.shared.values())
    return words.astype("<f8").tobytes()


def unpacked(code: str, speed: float, kept: bytes) -> Side:
    """Return the side that ``packed`` made bytes of, with its code and its speed [m/s]; things go by numbers."""
    words = np.frombuffer(kept, "<f8")
    drops, runs, flies = (int(one) for one in words[2 * len(_PARTS) : _HEAD])
    parts = []
    for place, (source, repeat) in enumerate(zip(_PARTS, _REPEATS, strict=True)):
        size, freedom = words[2 * place : 2 * place + 2].tolist()
        if size > 0:
            more = Repeat.FLIES if source == "walls" and flies else repeat
            parts.append(DoubtPart(source, more, size, freedom))
    counts = {Repeat.DROPS: drops, Repeat.RUNS: runs}
    things = words[_HEAD::2].copy().view("<i8").tolist()
    shared = dict(zip(things, words[_HEAD + 1 :: 2].tolist(), strict=True))
    return Side(code, speed, tuple(parts), {**counts, Repeat.FLIES: flies} if flies else counts, shared)


@lru_cache(maxsize=_THINGS_KEPT)
def _number(thing: object) -> int:
    """Return a number of eight bytes that stands for a thing: of a thousand million no two are likely alike."""
    return int.from_bytes(
        hashlib.blake2b(repr(thing).encode(), digest_size=8).digest(), "little", signed=True
    )
