"""Drops that are shown more than once: an editor's loop, or a clip joined to itself, repeats the very same pictures.

No fly falls twice along one way to a fraction of a pixel, at the same moment between two frames. A drop counts as shown
again where its places are those of an earlier one, and so are its sideways wander and the scatter of its readings.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flybench.bench.track.drop import Drop

Floats = NDArray[np.float64]

_APART_PX = 0.4
"""Root mean square distance of two tracks within which they may be the same pictures [px]: coded again, such pictures are
read within 0.3 px of one another (rendered clips; judgement)."""
_ALIKE = 0.75
"""Correlation of the readings' own scatter, times the sideways wander over the tracks' distance, from which two tracks are no
chance [-]: 0.9 and more in pictures coded once again, 0.5 in two rendered falls alike in everything but the noise of their
pictures, and nought in falls that differ (rendered clips; judgement)."""
_SHIFTS = range(-6, 7)
"""Frames by which one of two tracks may begin later than the other [-] (judgement)."""
_FEWEST = 12
"""Frames that both must show [-]."""


def shown_before(drops: list[Drop], metres_per_px: float) -> list[bool]:
    """Tell of each drop whether it shows an earlier one again; ``metres_per_px`` is on the plane of fall [m]."""
    return [
        any(_same(drop, earlier, metres_per_px) for earlier in drops[:number])
        for number, drop in enumerate(drops)
    ]


def _same(one: Drop, other: Drop, metres_per_px: float) -> bool:
    """Tell whether two drops are the same pictures."""
    found = [
        pair for pair in (_shared(one.places, other.places, shift) for shift in _SHIFTS) if pair is not None
    ]
    if not found:
        return False
    first, second = min(found, key=lambda pair: _apart(*pair))
    apart = _apart(first, second)
    if apart > _APART_PX * metres_per_px:
        return False
    wander = min(float(np.std(_unslanted(track))) for track in (first, second))
    return _correlation(first, second) * wander > _ALIKE * apart


def _shared(one: Floats, other: Floats, shift: int) -> tuple[Floats, Floats] | None:
    """Return the places (n, 2) of both tracks in the frames that both show, the other one begun ``shift`` frames later."""
    first, second = one[max(-shift, 0) :], other[max(shift, 0) :]
    count = min(len(first), len(second))
    return (first[:count], second[:count]) if count >= _FEWEST else None


def _apart(one: Floats, other: Floats) -> float:
    """Return the root mean square distance of two tracks [m]."""
    return float(np.sqrt(np.mean(np.sum((one - other) ** 2, axis=1))))


def _unslanted(track: Floats) -> Floats:
    """Return how far a track lies off a straight line, sideways [m]."""
    down, across = track[:, 1], track[:, 0]
    return np.asarray(across - np.polyval(np.polyfit(down, across, 1), down))


def _correlation(one: Floats, other: Floats) -> float:
    """Return the correlation of what is rough in two tracks: their second differences, across and down alike [-]."""
    first, second = (np.diff(track, 2, axis=0) for track in (one, other))
    sizes = np.sqrt(np.sum(first**2, axis=0) * np.sum(second**2, axis=0))
    return float(np.mean(np.sum(first * second, axis=0) / np.maximum(sizes, 1e-18)))
