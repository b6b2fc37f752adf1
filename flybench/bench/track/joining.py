"""Tracks: spots of successive frames joined to things that move, in metres on the fall plane."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from flybench.bench.track.observations import PlacedSpots
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


@dataclass(frozen=True)
class _Columns:
    """What joining looks at of all spots, as plain numbers: picked one by one, they are quicker so than as arrays."""

    frames: list[int]
    times: list[float]
    across: list[float]
    down: list[float]
    areas: list[float]
    bright: list[bool]


def join(sightings: PlacedSpots) -> list[Track]:
    """Join spots to tracks, frame by frame, nearest to where each track should be by now.

    Tracks with a known velocity choose first; a track ends when it was not seen for five frames.
    """
    seen = _columns(sightings)
    done: list[Track] = []
    live: list[Track] = []
    for rows in _by_frame(seen.frames):
        lost = [_lost(seen, track, rows[0]) for track in live]
        done += [track for track, gone in zip(live, lost, strict=True) if gone]
        live = [track for track, gone in zip(live, lost, strict=True) if not gone]
        free = set(rows)
        for settled in (True, False):
            choosing = [track for track in live if (len(track) >= _SETTLED) is settled]
            _choose(seen, choosing, free)
        live += [Track([row]) for row in sorted(free)]
    return done + live


def _columns(sightings: PlacedSpots) -> _Columns:
    spots = sightings.spots
    return _Columns(
        [spot.frame for spot in spots],
        sightings.times.tolist(),
        sightings.places[:, 0].tolist(),
        sightings.places[:, 1].tolist(),
        [spot.area for spot in spots],
        [spot.contrast > 0 for spot in spots],
    )


def _by_frame(frames: Sequence[int]) -> list[list[int]]:
    groups: dict[int, list[int]] = {}
    for row, frame in enumerate(frames):
        groups.setdefault(frame, []).append(row)
    return [groups[frame] for frame in sorted(groups)]


def _lost(seen: _Columns, track: Track, row: int) -> bool:
    last = track.rows[-1]
    frames = seen.frames[row] - seen.frames[last]
    return frames > _LONGEST_GAP_FRAMES and seen.times[row] - seen.times[last] > _LONGEST_GAP_S


def _choose(seen: _Columns, tracks: list[Track], free: set[int]) -> None:
    """Give each track at most one of the free spots, cheapest pair first."""
    taken = {track.rows[-1] for track in tracks}
    pairs = []
    for number, track in enumerate(tracks):
        last, velocity = track.rows[-1], _velocity(seen, track)
        pairs += [(cost, number, row) for row in free if (cost := _cost(seen, last, velocity, row)) < 1.0]
    served: set[int] = set()
    for _, number, row in sorted(pairs):
        if number in served or row not in free or row in taken:
            continue
        served.add(number)
        free.discard(row)
        tracks[number].rows.append(row)


def _cost(seen: _Columns, last: int, velocity: tuple[float, float] | None, row: int) -> float:
    """Return how badly a spot continues a track seen ``last`` at a velocity [m/s]: 1 and more means not at all."""
    dt = seen.times[row] - seen.times[last]
    if dt <= 0 or seen.bright[row] != seen.bright[last]:
        return math.inf
    if velocity is None:
        across, down = 0.0, 0.0
        gate = FASTEST * dt + _SLACK
    else:
        across, down = velocity
        gate = _SLACK + 0.35 * math.hypot(across, down) * dt + GRAVITY * dt**2
    far = math.hypot(
        seen.across[row] - (seen.across[last] + across * dt), seen.down[row] - (seen.down[last] + down * dt)
    )
    growth = abs(math.log((seen.areas[last] + 4.0) / (seen.areas[row] + 4.0)))
    return far / gate + 0.25 * max(growth - 0.3, 0.0)


def _velocity(seen: _Columns, track: Track) -> tuple[float, float] | None:
    """Return the velocity over the last few sightings, across and down [m/s]."""
    if len(track) < _SETTLED - 1:
        return None
    first, last = track.rows[-min(len(track), 4)], track.rows[-1]
    dt = seen.times[last] - seen.times[first]
    return (seen.across[last] - seen.across[first]) / dt, (seen.down[last] - seen.down[first]) / dt


def seen_by_turns(sightings: PlacedSpots, tracks: Sequence[Track]) -> list[NDArray[np.int64]]:
    """Return the rows of each track, tracks put together that take turns: at one place, and never in one frame.

    A faint fly is seen now as this and now as that piece of it, and each piece makes a track of its own.
    """
    merged: list[NDArray[np.int64]] = []
    spans: list[tuple[float, float]] = []
    for rows in sorted((np.array(track.rows) for track in tracks), key=len, reverse=True):
        first, last = float(sightings.times[rows[0]]), float(sightings.times[rows[-1]])
        for number, other in enumerate(merged if len(rows) >= _SETTLED else []):
            begin, end = spans[number]
            if begin <= first and last <= end and _takes_turns(sightings, rows, other):
                both = np.concatenate([rows, other])
                merged[number] = both[np.argsort(sightings.times[both], kind="stable")]
                break
        else:
            merged.append(rows)
            spans.append((first, last))
    return merged


def _takes_turns(sightings: PlacedSpots, rows: NDArray[np.int64], other: NDArray[np.int64]) -> bool:
    """Tell whether all of a track fits between the sightings of another, within a fly's half width of where that was."""
    times, beside = sightings.times[rows], sightings.times[other]
    if np.isin(times, beside).any():
        return False
    expected = [np.interp(times, beside, axis) for axis in sightings.places[other].T]
    off = np.linalg.norm(sightings.places[rows] - np.column_stack(expected), axis=1)
    return bool(np.all(off < _SLACK))
