"""What falls beside the fly: its shadow, its reflection, a piece of it, dirt and noise, or truly a second fly."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np

from flybench.bench.track.drop import Drop
from flybench.bench.track.shadows import find_shadows, looks_cast

_TOGETHER = 0.5
"""Share of the shorter fall that two must have in common to count as falling together [-]: flies dropped one after the
other overlap by less, shadows by all of it (judgement)."""
_SPECK = 0.35
"""Strength (contrast times root of area) over the plainest fall's below which a fall is dirt [-]: the same fly seen
from its narrow side keeps more than that (judgement)."""
_ENOUGH = 6
"""Frames that must show two things for their distance to tell anything [-] (judgement)."""
_PIECE_GAP, _PIECE_APART = 0.002, 0.0004
"""Gap between two pieces of one fly, and how far their distance may scatter [m]: a pixel of a far camera; two flies side
by side drift apart by millimetres over a fall (judgement)."""
_LEAPING = 0.0015
"""Median leap from frame to frame about its own way of what is noise [m]: four pixels of a far camera, ten times what a
fly's reading scatters by (judgement)."""
_HOLES = 1.5
"""Usual over least time from sighting to sighting above which a thing is missing from most frames [-]."""

_SOON, _ON_ITS_WAY = 0.3, 0.4
"""Time after a fall within which the rest of it may begin [s], cut off where the ground changes; and how far from where the
fly should be by then, over its way since [-], besides _PIECE_GAP (judgement: a third of the speed, and half a fly)."""


def without_companions(drops: list[Drop], left_out: Counter[str]) -> list[Drop]:
    """Leave out what falls beside a plainer thing: its shadow or reflection, a piece of it, or noise; mark true pairs."""
    shadows = find_shadows(drops)
    images = {id(shadow.image) for shadow in shadows}
    doubts = {id(shadow.fly): shadow.doubt for shadow in shadows}
    kept: list[Drop] = []
    for drop in drops:
        if any(_goes_on(drop, other) for other in drops):
            left_out["was the rest of a fall, before another ground"] += 1
        elif why := _why_left_out(drop, drops, images, id(drop) in doubts):
            left_out[why] += 1
        else:
            kept.append(drop)
    told = [
        replace(
            drop, together=any(_beside(drop, other) for other in kept), shadow_doubt=doubts.get(id(drop), 0.0)
        )
        for drop in kept
    ]
    return _without_specks(told, [id(drop) in doubts for drop in kept], left_out)


def _why_left_out(drop: Drop, drops: list[Drop], images: set[int], casts: bool) -> str:
    """Return why a drop is left out, or nothing; what a fly ``casts`` does not speak against it."""
    if id(drop) in images:
        return "kept step with the fly (its shadow or reflection)"
    rivals = (other for other in drops if _beside(drop, other) and not (casts and id(other) in images))
    return next((why for other in rivals if (why := _no_fly(drop, other))), "")


def _goes_on(drop: Drop, other: Drop) -> bool:
    """Tell whether a shorter fall begins when and where a longer one should be by then: the fly before another ground."""
    wait = float(drop.times[0] - other.times[-1])
    if len(drop.rows) >= len(other.rows) or not 0 < wait < _SOON:
        return False
    way = wait * (other.places[-1] - other.places[0]) / (other.times[-1] - other.times[0])
    off = float(np.linalg.norm(drop.places[0] - other.places[-1] - way))
    return off < 2 * _PIECE_GAP + _ON_ITS_WAY * float(np.linalg.norm(way))


def _beside(drop: Drop, other: Drop) -> bool:
    return other is not drop and _overlap(drop, other) > _TOGETHER


def _without_specks(drops: list[Drop], casting: list[bool], left_out: Counter[str]) -> list[Drop]:
    """Leave out what is far less plain than the fly: dirt, or an edge of a shaking picture; not what casts a shadow."""
    if not drops:
        return drops
    fly = max(drops, key=lambda drop: drop.strength * len(drop.rows) ** 0.5)
    kept = [
        drop
        for drop, casts in zip(drops, casting, strict=True)
        if casts or drop.strength >= _SPECK * fly.strength
    ]
    if len(kept) < len(drops):
        left_out["fell too, but was far fainter than the fly (dirt)"] += len(drops) - len(kept)
    return kept


def _overlap(a: Drop, b: Drop) -> float:
    """Return the share of the shorter fall during which both were falling."""
    shared = min(a.times[-1], b.times[-1]) - max(a.times[0], b.times[0])
    shorter = min(a.times[-1] - a.times[0], b.times[-1] - b.times[0])
    return float(max(shared, 0.0) / max(shorter, 1e-9))


def _no_fly(drop: Drop, other: Drop) -> str:
    """Return why a drop is no second fly beside another one, or nothing where it is one."""
    if looks_cast(drop, other):
        return "fell beside the fly and was fainter (its shadow or reflection)"
    lesser = (drop.strength, len(drop.rows)) < (other.strength, len(other.rows))
    if lesser and _is_piece(drop, other):
        return "fell with the fly and as a part of it (more light shows it whole)"
    if _flickers(drop) and not _flickers(other):
        return "flickered in and out beside the fly (noise of a dim picture: more light)"
    return ""


def _is_piece(drop: Drop, other: Drop) -> bool:
    """Tell whether two things keep one distance, no greater than a fly, through all the frames that show both."""
    _, mine, its = np.intersect1d(drop.times, other.times, return_indices=True)
    if len(mine) < _ENOUGH:
        return False
    apart = drop.places[mine] - other.places[its]
    near = float(np.linalg.norm(np.median(apart, axis=0))) < 0.5 * (drop.length + other.length) + _PIECE_GAP
    return near and bool(np.all(np.std(apart, axis=0) < _PIECE_APART))


def _flickers(drop: Drop) -> bool:
    """Tell whether a thing leaps about its own way down, or is missing from most of the frames that it lasts."""
    t = drop.times - drop.times[0]
    off = np.column_stack([axis - np.polyval(np.polyfit(t, axis, 2), t) for axis in drop.places.T])
    steps = np.linalg.norm(np.diff(off, axis=0), axis=1)
    holes = float(np.median(np.diff(t))) > _HOLES * float(np.min(np.diff(t)))
    return holes or float(np.median(steps)) > _LEAPING
