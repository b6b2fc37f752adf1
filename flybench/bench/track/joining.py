"""Tracks: spots of successive frames joined to things that move, in metres on the fall plane."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from flybench.bench.track.observations import PlacedSpots
from flybench.bench.track.spotting import Spot
from flybench.hydraulics.sphere import GRAVITY

Floats = NDArray[np.float64]

FASTEST = 2.0
"""Fastest thing followed from its first frame to its second [m/s]: a dense fly plunged in."""
_SLACK = 0.004
"""How far a thing may be from where it is expected whatever its speed [m]: a fly's half width, by which its centre jumps
when a part of it is hidden (judgement)."""
_LONGEST_GAP_S = 0.12
"""Longest time unseen after which a track goes on [s]: a fly at 0.3 m/s falls 36 mm
meanwhile, a part of the column, and the next drop is not let go so soon (judgement)."""
_LONGEST_GAP_FRAMES = 5
"""Frames unseen that never end a track [-]: at 30 frames a second 0.12 s are only three (judgement)."""
_SETTLED = 3
"""Sightings from which a track has a velocity and chooses before new ones [-]: the fewest that show it twice."""


@dataclass
class Track:
    """One thing followed through the clip; ``rows`` index the spots."""

    rows: list[int] = field(default_factory=list)

    def __len__(self) -> int:
        """Return the number of frames in which it was seen."""
        return len(self.rows)


def join(sightings: PlacedSpots) -> list[Track]:
    """Join spots to tracks, frame by frame, nearest to where each track should be by now.

    Tracks with a known velocity choose first; a track ends when it was not seen for five frames.
    """
    done: list[Track] = []
    live: list[Track] = []
    for rows in _by_frame(sightings.spots):
        ended = [track for track in live if _lost(sightings, track, rows[0])]
        done += ended
        live = [track for track in live if track not in ended]
        free = set(rows)
        for settled in (True, False):
            choosing = [track for track in live if (len(track) >= _SETTLED) is settled]
            _choose(sightings, choosing, free)
        live += [Track([row]) for row in sorted(free)]
    return done + live


def _by_frame(spots: Sequence[Spot]) -> list[list[int]]:
    groups: dict[int, list[int]] = {}
    for row, spot in enumerate(spots):
        groups.setdefault(spot.frame, []).append(row)
    return [groups[frame] for frame in sorted(groups)]


def _lost(sightings: PlacedSpots, track: Track, row: int) -> bool:
    last = track.rows[-1]
    frames = sightings.spots[row].frame - sightings.spots[last].frame
    return frames > _LONGEST_GAP_FRAMES and sightings.times[row] - sightings.times[last] > _LONGEST_GAP_S


def _choose(sightings: PlacedSpots, tracks: list[Track], free: set[int]) -> None:
    """Give each track at most one of the free spots, cheapest pair first."""
    taken = {track.rows[-1] for track in tracks}
    pairs = [
        (cost, number, row)
        for number, track in enumerate(tracks)
        for row in free
        if (cost := _cost(sightings, track, row)) < 1.0
    ]
    served: set[int] = set()
    for _, number, row in sorted(pairs):
        if number in served or row not in free or row in taken:
            continue
        served.add(number)
        free.discard(row)
        tracks[number].rows.append(row)


def _cost(sightings: PlacedSpots, track: Track, row: int) -> float:
    """Return how badly a spot continues a track: 1 and more means not at all."""
    last = track.rows[-1]
    dt = float(sightings.times[row] - sightings.times[last])
    velocity = _velocity(sightings, track)
    if dt <= 0:
        return np.inf
    if velocity is None:
        gate = FASTEST * dt + _SLACK
        expected = sightings.places[last]
    else:
        gate = _SLACK + 0.35 * float(np.linalg.norm(velocity)) * dt + GRAVITY * dt**2
        expected = sightings.places[last] + velocity * dt
    off = float(np.linalg.norm(sightings.places[row] - expected)) / gate
    a, b = sightings.spots[last], sightings.spots[row]
    growth = abs(math.log((a.area + 4.0) / (b.area + 4.0)))
    if (a.contrast > 0) != (b.contrast > 0):
        return np.inf
    return off + 0.25 * max(growth - 0.3, 0.0)


def _velocity(sightings: PlacedSpots, track: Track) -> Floats | None:
    """Return the velocity over the last few sightings [m/s]."""
    if len(track) < _SETTLED - 1:
        return None
    first, last = track.rows[-min(len(track), 4)], track.rows[-1]
    return np.asarray(
        (sightings.places[last] - sightings.places[first]) / (sightings.times[last] - sightings.times[first])
    )


def seen_by_turns(sightings: PlacedSpots, tracks: Sequence[Track]) -> list[NDArray[np.int64]]:
    """Return the rows of each track, tracks put together that take turns: at one place, and never in one frame.

    A faint fly is seen now as this and now as that piece of it, and each piece makes a track of its own.
    """
    merged: list[NDArray[np.int64]] = []
    for rows in sorted((np.array(track.rows) for track in tracks), key=len, reverse=True):
        for number, other in enumerate(merged):
            if len(rows) >= _SETTLED and _takes_turns(sightings, rows, other):
                both = np.concatenate([rows, other])
                merged[number] = both[np.argsort(sightings.times[both], kind="stable")]
                break
        else:
            merged.append(rows)
    return merged


def _takes_turns(sightings: PlacedSpots, rows: NDArray[np.int64], other: NDArray[np.int64]) -> bool:
    """Tell whether all of a track fits between the sightings of another, within a fly's half width of where that was."""
    times, beside = sightings.times[rows], sightings.times[other]
    if times[0] < beside[0] or times[-1] > beside[-1] or np.isin(times, beside).any():
        return False
    expected = [np.interp(times, beside, axis) for axis in sightings.places[other].T]
    off = np.linalg.norm(sightings.places[rows] - np.column_stack(expected), axis=1)
    return bool(np.all(off < _SLACK))
