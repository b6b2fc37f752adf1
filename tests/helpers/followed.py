"""Things followed through a clip, made without pictures: paths by hand, seen once a frame, joined and cut into drops."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flybench.bench.track.drops import Findings, find_drops
from flybench.bench.track.joining import join
from flybench.bench.track.observations import PlacedSpots
from flybench.bench.track.spotting import Spot

Floats = NDArray[np.float64]
RATE = 60.0
"""Frames a second [Hz]."""
PIXEL = 4e-4
"""Size of a pixel on the fall plane [m]."""


@dataclass(frozen=True)
class Seen:
    """One thing: instants [s] and depths [m] between which it moves evenly, seen at all frames within them."""

    times: tuple[float, ...]
    depths: tuple[float, ...]
    x: float = 0.0
    area: float = 300.0
    contrast: float = -90.0
    missing: tuple[int, ...] = ()
    """Frames in which it is not found."""


def spot(frame: int, thing: Seen) -> Spot:
    """Return a spot of a fly 11 mm long and 3 mm broad, in the middle of the picture."""
    return Spot(
        frame=frame,
        clip_time=frame / RATE,
        x=0.0,
        y=0.0,
        area=thing.area,
        contrast=thing.contrast,
        length=0.011 / PIXEL,
        breadth=0.003 / PIXEL,
        lean=0.0,
        at_edge=False,
        ground=180.0,
        unevenness=0.01,
        sensor_row=0.5,
    )


def found(*things: Seen, scatter: float = 5e-5, seed: int = 1) -> Findings:
    """Return the drops found among things read to ``scatter`` [m]."""
    rng = np.random.default_rng(seed)
    rows = []
    for thing in things:
        frames = np.arange(np.ceil(thing.times[0] * RATE), np.floor(thing.times[-1] * RATE) + 1).astype(int)
        for frame in frames:
            if frame not in thing.missing:
                depth = float(np.interp(frame / RATE, thing.times, thing.depths))
                rows.append((frame, depth, thing))
    rows.sort(key=lambda row: row[0])
    spots = [spot(int(frame), thing) for frame, _, thing in rows]
    places = np.array([[thing.x, depth] for _, depth, thing in rows]) + scatter * rng.normal(
        size=(len(rows), 2)
    )
    sightings = PlacedSpots(spots, np.array([one.clip_time for one in spots]), places)
    return find_drops(sightings, join(sightings), PIXEL)
