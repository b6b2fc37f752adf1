"""Sides of comparisons as bytes, as they are kept with pooled speeds: what a speed's doubt is made of, and what is shared.

Words of eight bytes, least byte first: size and degrees of freedom of each part, in the order of ``_PARTS``; drops, runs and
flies behind it, 0 flies for a fly; then a number that stands for each shared thing, with its size. Sizes are in m/s.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from flybench.quantity import Floats
from flybench.statistics.comparing import Repeat, Side
from flybench.statistics.many_pairs import Places, SideColumns
from flybench.statistics.student import factor

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


@dataclass(frozen=True)
class KeptSides:
    """Kept sides of a whole shop (n) read at once: as columns, from slowest to fastest, and the sizes of each part [m/s] (n)
    by its name."""

    columns: SideColumns
    parts: Mapping[str, Floats]


def all_unpacked(speeds: Sequence[float], kept: Sequence[bytes]) -> KeptSides:
    """Return what ``packed`` made bytes of, for all sides at once; speeds [m/s]; things go by numbers."""
    words = np.frombuffer(b"".join(kept), "<f8")
    ends = np.cumsum([len(one) // words.itemsize for one in kept], dtype=np.intp)
    begins = np.concatenate([[0], ends[:-1]]).astype(np.intp) if len(kept) else ends
    head = words[begins[:, None] + np.arange(2 * len(_PARTS))]
    parts, freedom = head[:, ::2], head[:, 1::2]
    own = np.square(parts * _factors(np.where(parts > 0, freedom, np.inf))).sum(axis=1)
    things, sizes = _shared(words, begins + _HEAD, ends)
    columns = SideColumns(np.array(speeds, dtype=float), own, things, sizes)
    return KeptSides(columns, dict(zip(_PARTS, parts.T, strict=True)))


def _factors(freedom: Floats) -> Floats:
    """Return Student's factors; a shop's flies have few different degrees of freedom."""
    each, places = np.unique(freedom, return_inverse=True)
    found: Floats = np.array([factor(one) for one in each.tolist()])[places].reshape(freedom.shape)
    return found


def _shared(words: Floats, begins: Places, ends: Places) -> tuple[Places, Floats]:
    """Return which things each side has an error from, numbered anew, and how large, as ``SideColumns`` has them."""
    counts = (ends - begins) // 2
    most = np.arange(int(counts.max(initial=0)))
    there = most < counts[:, None]
    at = np.where(there, begins[:, None] + 2 * most, 0)
    numbers, places = np.unique(words[at[there]].view("<i8"), return_inverse=True)
    things = np.full(at.shape, len(numbers), dtype=np.intp)
    things[there] = places
    sizes = np.zeros(at.shape)
    sizes[there] = words[at[there] + 1]
    return things, sizes


@lru_cache(maxsize=_THINGS_KEPT)
def _number(thing: object) -> int:
    """Return a number of eight bytes that stands for a thing: of a thousand million no two are likely alike."""
    return int.from_bytes(
        hashlib.blake2b(repr(thing).encode(), digest_size=8).digest(), "little", signed=True
    )
