"""The uncertainty budget: how the speeds answer to each thing that is not quite known."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.clock import Clock
from flybench.bench.clip.orientation import Orientation
from flybench.bench.fit.fall import FallFit, response_to_depths
from flybench.bench.sheet.settings import (
    MOST_PRINTED,
    UNCHECKED_PRINT,
    USUAL_PRINT,
    ScaleSettings,
)
from flybench.bench.track.drop import Drop
from flybench.bench.view.card import BAR
from flybench.bench.view.geometry import Geometry, changes

Floats = NDArray[np.float64]

SLOWEST_READOUT = 0.030
"""Longest rolling-shutter readout expected [s]; never longer than the time between frames."""
_SCALE_SOURCES = (
    "card corners",
    "squeezed picture",
    "scale points",
    "print size of the card",
    "length between the points",
)


@dataclass(frozen=True)
class FallInPixels:
    """One drop's pixels and fit, ready to be measured again with something changed."""

    drop: Drop
    pixels: Floats
    fit: FallFit
    down: Floats
    """Unit vector of the vertical on the fall plane, shape (2,)."""


def shared_doubts(
    falls: list[FallInPixels], geometry: Geometry, clock: Clock, orientation: Orientation
) -> dict[str, Floats]:
    """Return, for each doubt that all drops share, the relative change of each drop's speed, shape (n,).

    Parts of one name are joined as squares; the sign is that of the largest part.
    """
    settings = geometry.settings
    speeds = np.array([fall.fit.terminal_speed for fall in falls])
    answers = [(fall, geometry.places(fall.pixels), response_to_depths(fall.fit)) for fall in falls]
    parts: dict[str, list[Floats]] = defaultdict(list)
    for name, places in changes(geometry):
        moved = [
            answer @ ((places(fall.pixels) - here) @ fall.down)[fall.fit.used]
            for fall, here, answer in answers
        ]
        parts[name].append(np.array(moved) / speeds)
    ones = np.ones(len(falls))
    if settings.scale.card:
        parts["print size of the card"].append(_print_doubt(settings.scale) * ones)
    parts["time base"].append(clock.relative_uncertainty * ones)
    longest = _open_readout(settings.camera.readout, clock, orientation)
    if longest > 0.0:
        parts["rolling shutter"].append(_readout_doubt(speeds, longest, geometry.picture_height))
    parts["vertical"].append(np.array([_vertical(fall) for fall in falls]))
    parts["vertical"].append(slant_doubt(falls[0].down, _uprights(geometry)) * ones)
    return {name: _joined(found) for name, found in parts.items()}


def _open_readout(typed: float | None, clock: Clock, orientation: Orientation) -> float:
    """Return the longest time in which the picture may have been read along the fall, not taken out of the times [s].

    Nought for rows that run across the fall, and for a readout that was typed, whose times are corrected; not so where a
    part may have been cut out of a lying picture: nobody knows its rows then, and a typed readout is not used.
    """
    maybe_cut_out = orientation.turn_is_baked_in and not orientation.is_whole
    if not maybe_cut_out and (typed is not None or not orientation.rows_run_along_fall):
        return 0.0
    return typed or min(SLOWEST_READOUT, 1.0 / max(clock.capture_rate, 1.0))


def _readout_doubt(speeds: Floats, longest: float, picture_height: float) -> Floats:
    """Return the relative doubt of speeds [m/s] read along the fall in an unknown time, shape (n,).

    v T / H, with T evenly likely from minus to plus the ``longest`` [s] (JCGM 100:2008, 4.3.7): which end of the sensor is
    up is not known either; H is ``picture_height`` [m].
    """
    return np.asarray(speeds * longest / picture_height / np.sqrt(3.0))


def _print_doubt(scale: ScaleSettings) -> float:
    """Return the relative doubt of the card's size that no ruler's ± covers: not measured, unusual, or hardly possible.

    An unusual bar is evenly likely to have been 100 mm long and misread, as it is to be as it was read, or worse.
    """
    if scale.bar is None:
        return UNCHECKED_PRINT
    off = abs(scale.bar.value / BAR - 1.0)
    if off > MOST_PRINTED:
        return off
    return off / math.sqrt(3.0) if off > USUAL_PRINT else 0.0


def _uprights(geometry: Geometry) -> list[Floats]:
    """Return which way the card and the phone say is down on the fall plane: unit vectors."""
    centre = geometry.calibration.camera.centre
    ends = geometry.places(np.array([centre, (centre[0], centre[1] + 1.0)]))
    return [np.array([0.0, 1.0]), (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])]


def slant_doubt(down: Floats, uprights: list[Floats]) -> float:
    """Return the relative doubt of taking the mean path ``down`` as vertical [-].

    All drops may slant alike: a fly that glides, a current. The fall is then shorter by 1 - cos of the slant,
    somewhere between nothing and all of it. Of card and phone the nearer counts: a path that is parallel to
    either by chance is unlikely.
    """
    nearest = max(float(down @ upright) for upright in uprights)
    return (1.0 - min(nearest, 1.0)) / math.sqrt(3.0)


def scale_uncertainty(doubts: dict[str, Floats]) -> float:
    """Return the relative standard uncertainty of the scale alone."""
    found = [float(np.mean(np.abs(doubts[name]))) for name in _SCALE_SOURCES if name in doubts]
    return float(np.sqrt(np.sum(np.square(found))))


def _joined(parts: list[Floats]) -> Floats:
    stack = np.array(parts)
    size = np.sqrt(np.sum(stack**2, axis=0))
    lead = stack[np.argmax(np.abs(stack).sum(axis=1))]
    return np.asarray(np.copysign(size, lead))


def _vertical(fall: FallInPixels) -> float:
    """Return the relative doubt of reading a slanting path along ``down`` and not along itself."""
    path = fall.drop.places[-1] - fall.drop.places[0]
    cosine = float(path @ fall.down / np.linalg.norm(path))
    return (1.0 / max(cosine, 0.5) - 1.0) / math.sqrt(3.0)
