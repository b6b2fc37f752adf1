"""Shadows and reflections: which of two things that fall in step is the fly.

What a fly casts on a plane behind it follows it frame by frame: its depth is a straight line of the fly's, its wander
sideways is the fly's, and in every fall it is at the same place beside it. As it lies deeper, it is slower in the picture,
unless a lamp nearer than the camera casts it. Two flies let go by hand have starts and wanders of their own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from flybench.bench.track.drop import Drop

Floats = NDArray[np.float64]

_ENOUGH = 15
"""Frames that must show both for their steps to be compared [-]: a quarter of a second at 60 a second (judgement)."""
_STEADY = 0.0006
"""How far a follower's depth may scatter about its line [m]: 1.5 pixels of a far camera, as a fly is read that hardly
shows; pieces of one scatter by more (judgement)."""
_DEEPEST = 0.7
"""Least speed of a follower in the picture over the fly's [-]: a wall 20 cm behind a fly that is 50 cm away has 0.71."""
_SAME, _SAME_DOUBTS = 0.003, 4.0
"""Difference of speeds, over the speed [-], and in standard uncertainties [-], up to which two are equally fast: a tenth
of what a good result may be uncertain by (judgement)."""
_WANDER, _UNLIKE = 0.00015, 0.25
"""Least wander sideways that can be compared, standard deviation [m]: several times the scatter of a reading; and the
part of it that may differ [-]: of two flies that rock once a second 3 in a hundred are so alike, of two that wander 1 in a
thousand (simulated here)."""
_AGAIN, _AGAIN_RATIO = 0.001, 0.01
"""How alike a follower's place beside the fly [m] and ratio of speeds [-] must be in two falls: a hand lets a fly go
within 1 mm of the same plane, and two flies at once not within 4 ms each time (judgement)."""
_SEEN = 0.5
"""Frames of the faster thing over those of the slower one from which it may be the fly [-]: pieces of a fly and specks are
seen in fewer (judgement)."""
_TOO_DARK = 0.5
"""Contrast over the ground's brightness from which a thing is no shadow [-]: more light than that comes around a fly from
elsewhere in a room (judgement)."""
_ABOVE = 0.8
"""Share of frames above which the faster one counts as the upper one [-]: a lamp that cast it upwards would have to stand
below four fifths of the fall (judgement)."""
_GHOST = 0.6
"""Contrast over a companion's below which a thing that falls with it is its shadow or reflection [-]: those of the test
clips have 0.25 to 0.5, a second fly is about as dark as the first (judgement)."""
_GHOST_AREA = 0.3
"""Area over a companion's below which the same holds [-]: a sliver of shadow past the fly's edge; two flies of one
water differ by less (judgement)."""


@dataclass(frozen=True)
class Shadow:
    """A fly and what it casts; ``doubt`` is the difference of speeds over the fly's [-] where it may be the other way."""

    fly: Drop
    image: Drop
    doubt: float = 0.0


@dataclass(frozen=True)
class _Pair:
    """Two in step: the slower one's depth is ``ratio`` times the faster one's and a constant."""

    fast: Drop
    slow: Drop
    ratio: float
    ratio_doubt: float
    line: Floats
    """Depth of the slower one as a polynomial of the faster one's, highest power first."""
    beside: float
    """Usual place of the slower one across, less ``ratio`` times the faster one's [m]."""
    depth: float
    """Mean depth of the faster one [m]."""
    above: bool
    """True where the faster one was above the slower one in nearly all frames."""
    wander: bool
    """True where both wander sideways alike, or as in a mirror."""

    @property
    def differ(self) -> bool:
        """Tell whether one is truly faster than the other."""
        return 1.0 - self.ratio > max(_SAME, _SAME_DOUBTS * self.ratio_doubt)


def find_shadows(drops: Sequence[Drop]) -> list[Shadow]:
    """Return what falls in step with a fly, each image named once; what is sure and plain goes first.

    Of what is sure, first what is slower than the fly: a piece of a plain shadow keeps step with it as with a fly.
    """
    pairs = [pair for a, b in combinations(drops, 2) if (pair := _in_step(a, b))]
    proven = [
        (pair.differ, shadow) for pair in pairs if _proven(pair, pairs, drops) and (shadow := _told(pair))
    ]
    left = [shadow for pair in pairs if not _proven(pair, pairs, drops) and (shadow := _open(pair))]
    slower = [shadow for differ, shadow in proven if differ]
    alike = [shadow for differ, shadow in proven if not differ]
    return list(_each_once([*_plainest_first(slower), *_plainest_first(alike), *_plainest_first(left)]))


def _plainest_first(found: Sequence[Shadow]) -> list[Shadow]:
    return sorted(found, key=lambda shadow: -shadow.fly.strength)


def _each_once(found: Sequence[Shadow]) -> Iterator[Shadow]:
    """Leave out what takes a fly for an image, an image for a fly, or an image twice."""
    flies: set[int] = set()
    images: set[int] = set()
    for shadow in found:
        fly, image = id(shadow.fly), id(shadow.image)
        if fly not in images and image not in flies and image not in images:
            flies.add(fly)
            images.add(image)
            yield shadow


def _in_step(a: Drop, b: Drop) -> _Pair | None:
    """Return two things whose depths go together along a line through all frames that show both, or None."""
    _, mine, its = np.intersect1d(a.times, b.times, return_indices=True)
    if len(mine) < _ENOUGH:
        return None
    first, second, times = a.places[mine], b.places[its], a.times[mine]
    if np.polyfit(first[:, 1], second[:, 1], 1)[0] > 1.0:
        a, b, first, second = b, a, second, first
    line = np.polyfit(first[:, 1], second[:, 1], 1)
    scatter = float(np.std(second[:, 1] - np.polyval(line, first[:, 1])))
    if scatter > _STEADY or not line[0] >= _DEEPEST:
        return None
    return _Pair(
        fast=a,
        slow=b,
        ratio=min(float(line[0]), 1.0),
        ratio_doubt=scatter / float(np.std(first[:, 1])) / len(mine) ** 0.5,
        line=line,
        beside=float(np.median(second[:, 0] - line[0] * first[:, 0])),
        depth=float(np.mean(first[:, 1])),
        above=float(np.mean(first[:, 1] < second[:, 1])) > _ABOVE,
        wander=_wander_alike(times, line[0] * first[:, 0], second[:, 0]),
    )


def _wander_alike(times: Floats, one: Floats, other: Floats) -> bool:
    """Tell whether two wander sideways about their ways by the same amounts at the same instants."""
    t = times - times[0]
    mine, its = (across - np.polyval(np.polyfit(t, across, 2), t) for across in (one, other))
    differing = min(float(np.std(its - mine)), float(np.std(its + mine)))
    return min(float(np.std(mine)), float(np.std(its))) > max(_WANDER, differing / _UNLIKE)


def _proven(pair: _Pair, pairs: Sequence[_Pair], drops: Sequence[Drop]) -> bool:
    """Tell whether a pair falls again as it does in another fall, or wanders alike where there is no other fall."""
    alone = not any(drop.times[-1] < _began(pair) or drop.times[0] > _ended(pair) for drop in drops)
    return (alone and pair.wander) or any(_repeats(pair, other) for other in pairs)


def _repeats(one: _Pair, other: _Pair) -> bool:
    """Tell whether two pairs that fell one after the other were placed alike."""
    apart = _ended(one) < _began(other) or _ended(other) < _began(one)
    deep = float(np.polyval(one.line, one.depth) - np.polyval(other.line, one.depth))
    alike = abs(one.ratio - other.ratio) < _AGAIN_RATIO
    return apart and alike and abs(deep) < _AGAIN and abs(one.beside - other.beside) < _AGAIN


def _began(pair: _Pair) -> float:
    return float(min(pair.fast.times[0], pair.slow.times[0]))


def _ended(pair: _Pair) -> float:
    return float(max(pair.fast.times[-1], pair.slow.times[-1]))


def _told(pair: _Pair) -> Shadow | None:
    """Return which of two that surely belong together is the fly, or None where the faster one is a part of it.

    Light comes from above, so a faster thing that is the upper one nearly all the way is no shadow of a near lamp.
    """
    fast, slow = pair.fast, pair.slow
    if not pair.differ:
        fly, image = (fast, slow) if fast.strength >= slow.strength else (slow, fast)
        return Shadow(fly, image)
    if len(fast.rows) < _SEEN * len(slow.rows):
        return None
    if _plainer(slow, fast) and abs(slow.contrast) > _TOO_DARK * slow.ground:
        return Shadow(slow, fast)
    return Shadow(fast, slow, 0.0 if pair.above or _plainer(fast, slow) else 1.0 - pair.ratio)


def _open(pair: _Pair) -> Shadow | None:
    """Return a plainer thing that may be the shadow of a fainter, faster one beside it; nothing proves it."""
    fast, slow = pair.fast, pair.slow
    fainter = fast.strength < slow.strength and len(fast.rows) >= _SEEN * len(slow.rows)
    dark = abs(slow.contrast) > _TOO_DARK * slow.ground
    if dark or not fainter or not pair.differ or not looks_cast(fast, slow):
        return None
    return Shadow(slow, fast, 1.0 / pair.ratio - 1.0)


def looks_cast(drop: Drop, other: Drop) -> bool:
    """Tell whether a thing is so faint or small beside another that it looks like its shadow or reflection."""
    fainter = abs(drop.contrast) < _GHOST * abs(other.contrast)
    smaller = drop.area < _GHOST_AREA * other.area
    return (fainter or smaller) and drop.strength < other.strength


def _plainer(one: Drop, other: Drop) -> bool:
    return abs(one.contrast) > abs(other.contrast) and one.strength > other.strength
