"""Drops: the stretches of tracks in which something fell freely through the water."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flybench.bench.track.blended_pictures import blended
from flybench.bench.track.companions import without_companions
from flybench.bench.track.drop import Drop
from flybench.bench.track.handling import LIFTED_AGAIN, lifted_again, stopped
from flybench.bench.track.held_pictures import filmed_at, first_shown, pictures_skipped
from flybench.bench.track.joining import Track, seen_by_turns
from flybench.bench.track.observations import PlacedSpots

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

SLOWEST = 0.015
"""Slower things are not followed as falling [m/s]."""
LONGEST_FLY = 0.045
"""Longest extent taken for a fly [m]."""
SHORTEST = 0.030
"""Shortest fall looked at [m]."""
FEWEST = 6
"""Frames below which a track is not looked at [-]: fewer make no fall, and bubbles and noise make many short tracks
(judgement; a fall is fitted from twice as many)."""
_AREA_TOLERANCE = 0.12
"""Least change of area, natural logarithm, at which a fly counts as cut off or grown together [-]: half a fly is 0.7
(judgement)."""
_UNEVEN = 0.015
"""Unevenness of the background always borne, spread over contrast [-]: small against the
edges of the card's squares, which have some 0.5 to 1 (judgement)."""
_MOSTLY = 0.5
"""Share of a fall that has to be before even ground for the rest to be left out [-]: else too little would be left and
all is kept (judgement)."""
_OTHER_GROUND = 0.4
"""Change of the ground over the fly's contrast at which it counts as another ground [-]: from then on parts of a fly
may appear or vanish against it (judgement)."""
_AT_EDGE = 0.8
"""Share of its sightings at the picture's border above which a track is a hand or tweezers reaching in [-] (judgement)."""
_RISEN = 0.5
"""How far up, over all its ways up and down, a track ends that has risen [-]: by half and more (judgement)."""
_USUAL = 75
"""Which of a track's downward speeds is taken for the usual one [percentile]: above the median, as the start is slow."""
_FALLING = 0.3
"""Share of the usual speed above which it falls, below which it was held or has landed [-] (judgement: a fly let go passes
it within a few hundredths of a second, a held one trembles below it)."""
_SPEED_REACH = 0.02
"""Time to either side over which a speed is taken from readings [s]: a frame or two at usual rates, one to six at any."""
_BRIDGED, _BRIDGED_S = 2, 0.15
"""Frames [-], and time [s], for which a fall may pause and still be one: a bead's glint or a strip of the card hides the
fly for so long, a landing lasts longer (judgement)."""
_SLOWED = 0.85
"""Share of the last speed below which the end of a fall is cut off as landing [-]: in free fall it does not drop by as much
(judgement)."""
_AS_FAST = 0.2
"""Difference of speed before and after a stop below which both were falls, over the speed [-] (judgement)."""
_AREA_SCATTERS, _AREA_MOST = 4.0, 0.5
"""Scaled median deviations of the area's logarithm within which a fly was seen whole [-], and most change ever borne,
natural logarithm [-]: a change by two fifths cuts any fly (judgement)."""


@dataclass(frozen=True)
class Findings:
    """The drops of a clip in time order, and what else moved and why it was left out."""

    drops: list[Drop]
    left_out: Counter[str]


def find_drops(sightings: PlacedSpots, tracks: list[Track], metres_per_px: float) -> Findings:
    """Cut each track into its free falls and leave out shadows, reflections, hands and bubbles."""
    left_out: Counter[str] = Counter()
    drops: list[Drop] = []
    followed = [rows for rows in seen_by_turns(sightings, tracks) if len(rows) >= FEWEST]
    deepest = _deepest(sightings, followed)
    for rows in followed:
        found, why = _falls(sightings, rows, metres_per_px, deepest)
        drops += found
        left_out += Counter(why)
    drops.sort(key=lambda drop: float(drop.times[0]))
    kept = without_companions(drops, left_out)
    return Findings(kept, left_out)


def _deepest(sightings: PlacedSpots, followed: list[NDArray[np.int64]]) -> float:
    """Return the deepest place to which anything came down by more than the shortest fall [m]; bubbles only rise."""
    depths = [sightings.places[rows, 1] for rows in followed]
    fallen = [depth for depth in depths if np.max(depth - np.minimum.accumulate(depth)) >= SHORTEST]
    return max((float(depth.max()) for depth in fallen), default=-np.inf)


def _falls(
    sightings: PlacedSpots, rows: NDArray[np.int64], metres_per_px: float, deepest: float
) -> tuple[list[Drop], list[str]]:
    """Return the free falls of one track, and why the rest of it, or all of it, is none."""
    edge = np.array([sightings.spots[row].at_edge for row in rows])
    times, places = sightings.times[rows], sightings.places[rows]
    reach = float(np.ptp(places[:, 1]))
    length = float(np.median([sightings.spots[row].length for row in rows])) * metres_per_px
    if length > LONGEST_FLY:
        return [], ["too large for a fly (a hand, or something in front of it)"]
    if reach < SHORTEST:
        return [], ["hardly moved"]
    if edge.mean() > _AT_EDGE:
        return [], ["stayed at the edge of the picture (a hand or tweezers)"]
    speed = _speed(times, places[:, 1])
    down = speed > SLOWEST
    if np.sum(down) < FEWEST or (places[-1, 1] - places[0, 1] < -_RISEN * reach and not np.any(down)):
        return [], ["rose (a bubble?)"]
    usual = float(np.percentile(speed[down], _USUAL))
    whole = [run[~edge[run]] for run in _runs(down & (speed > _FALLING * usual), times)]
    runs = [run for run in whole if len(run)]
    depth = places[:, 1]
    lifted = lifted_again(runs, depth, max(deepest, float(depth.max())))
    lowered = stopped(runs, depth, speed < _FALLING * usual, SHORTEST) | lifted
    drops = [
        replace(
            drop, stopped=number - 1 in lowered - lifted and _as_fast(speed[runs[number - 1]], speed[run])
        )
        for number, run in enumerate(runs)
        if number not in lowered and (drop := _fall(sightings, rows, run, speed, metres_per_px))
    ]
    return drops, [LIFTED_AGAIN] if lifted else [] if drops else ["did not fall far enough"]


def _as_fast(before: Floats, after: Floats) -> bool:
    """Tell whether a fly came down before it stopped as fast as it fell afterwards; a hand that lowers it seldom does."""
    return abs(float(np.median(before) / np.median(after)) - 1.0) < _AS_FAST


def _fall(
    sightings: PlacedSpots,
    rows: NDArray[np.int64],
    run: NDArray[np.int64],
    speed: Floats,
    metres_per_px: float,
) -> Drop | None:
    """Return the fall of one way down, its ends trimmed, or None where too little is left."""
    kept, landed = _trimmed(sightings, rows, run, speed)
    depth = sightings.places[rows[kept], 1]
    if len(kept) < FEWEST or depth[-1] - depth[0] < SHORTEST:
        return None
    new = first_shown(sightings.places[rows[kept]], metres_per_px)
    if np.sum(new) < FEWEST:
        return None
    drop = _drop(sightings, rows[kept][new], metres_per_px, landed)
    mixed = blended([sightings.spots[row] for row in rows[run]])
    if not mixed and not np.all(new):
        drop = replace(drop, times=filmed_at(drop.times, drop.places))
    skipped = 0 if mixed else pictures_skipped(drop.times, drop.places, metres_per_px)
    return replace(drop, held=float(np.mean(~new)), blended=mixed, skipped=skipped)


def _speed(times: Floats, depth: Floats) -> Floats:
    """Return the downward speed over a few frames around each one [m/s]."""
    gap = float(np.median(np.diff(times)))
    reach = int(np.clip(round(_SPEED_REACH / gap), 1, 6))
    n = len(times)
    before, after = np.maximum(np.arange(n) - reach, 0), np.minimum(np.arange(n) + reach, n - 1)
    return np.asarray((depth[after] - depth[before]) / (times[after] - times[before]))


def _runs(mask: Mask, times: Floats) -> list[NDArray[np.int64]]:
    """Return runs of True, bridging up to two frames, never a hole of more than 0.15 s."""
    index = np.flatnonzero(mask)
    if index.size == 0:
        return []
    breaks = (np.diff(index) > _BRIDGED + 1) | (np.diff(times[index]) > _BRIDGED_S)
    return list(np.split(index, np.flatnonzero(breaks) + 1))


def _trimmed(
    sightings: PlacedSpots, rows: NDArray[np.int64], run: NDArray[np.int64], speed: Floats
) -> tuple[NDArray[np.int64], bool]:
    """Cut landing, splash and cut-off frames from both ends; tell whether it landed in view."""
    tail = speed[run[-max(len(run) * 2 // 5, 3) :]]
    good = np.flatnonzero(speed[run] > _SLOWED * np.median(tail))
    last = int(good[-1]) if good.size else len(run) - 1
    after = run[-1] + 1
    landed = last < len(run) - 1 or (
        after < len(rows) and speed[min(after, len(speed) - 1)] < _FALLING * np.median(tail)
    )
    run = run[: last + 1]
    run = run[:-2] if landed and len(run) > FEWEST + 2 else run
    area = np.array([sightings.spots[row].area for row in rows[run]])
    run = run[_whole(area)]
    spots = [sightings.spots[row] for row in rows[run]]
    seen = np.array([[spot.unevenness, spot.ground, spot.contrast] for spot in spots])
    return run[_on_even_ground(seen)], bool(landed)


def _on_even_ground(seen: Floats) -> Mask:
    """Return where the background behind the fly is even and much the same, if that is half the fall or more.

    Across an edge of the card the fly's outline, hence its centre, is drawn to the side of more contrast;
    before another ground other parts of it show. ``seen`` (n, 3) is unevenness, ground and contrast.
    """
    if not len(seen):
        return np.zeros(0, dtype=bool)
    uneven, ground, contrast = seen.T
    even = uneven < max(_UNEVEN, 3.0 * float(np.median(uneven)))
    alike = np.abs(ground - np.median(ground)) < _OTHER_GROUND * float(np.median(np.abs(contrast)))
    for mask in (even & alike, alike):
        if np.mean(mask) >= _MOSTLY:
            return np.asarray(mask)
    return np.ones(len(seen), dtype=bool)


def _whole(area: Floats) -> Mask:
    """Return where the whole fly was seen: its area is what it usually is, give or take its own scatter.

    A fly cut by an edge of the card, half under the surface or grown together with its shadow has a
    different area, and its centre is not the fly's.
    """
    if not len(area):
        return np.zeros(0, dtype=bool)
    off = np.log(np.maximum(area, 1.0)) - np.log(np.median(area))
    scatter = 1.4826 * float(np.median(np.abs(off)))
    return np.asarray(np.abs(off) < np.clip(_AREA_SCATTERS * scatter, _AREA_TOLERANCE, _AREA_MOST))


def _drop(sightings: PlacedSpots, rows: NDArray[np.int64], metres_per_px: float, landed: bool) -> Drop:
    spots = [sightings.spots[row] for row in rows]
    return Drop(
        rows=rows,
        times=sightings.times[rows],
        places=sightings.places[rows],
        contrast=float(np.median([spot.contrast for spot in spots])),
        area=float(np.median([spot.area for spot in spots])),
        length=float(np.median([spot.length for spot in spots])) * metres_per_px,
        breadth=float(np.median([spot.breadth for spot in spots])) * metres_per_px,
        leans=np.array([spot.lean for spot in spots]),
        landed=landed,
        ground=float(np.median([spot.ground for spot in spots])),
    )
