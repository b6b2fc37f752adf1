"""Pictures that are mixtures of two: programs blend neighbours to slow a clip down, or to give it another frame rate.

A mixture shows the fly twice and fainter, so that what is seen of it is longer or shorter, paler and smaller in every second
picture, or in two of three: as often as the programs mixed. A fly that turns or rocks changes what is seen of it, too, but
slower than most mixtures come and go, or not its darkness and its length.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flybench.bench.track.spotting import Spot

Floats = NDArray[np.float64]

_FEWEST = 24
"""Pictures of a fall from which it is looked for [-]: in fewer a swing at one pitch or another comes by chance."""
_TURNS = 6.0
"""Swings that a fall must show at least [-]: slower ones are the fly's own, or those of the light on its way (judgement)."""
_PITCHES = np.unique(np.append(np.arange(0.09, 0.5001, 0.0025), [1 / 6, 1 / 3]))
"""Swings a picture that are looked for [-]: 1/2 where every second picture is a mixture, 1/3 at two of three, 0.4 for 24
pictures a second played at 60; below the first, where mixtures change slowly, a speed is altered by a tenth at most."""
_PALER = (0.25, 0.03)
"""Share of the scatter of length and of darkness that a swing has to make up, and how far each has to go to either side,
where both swing at one pitch [-]: in rendered clips mixtures that lie apart have 0.45 and 0.05 and more, pictures as filmed
hardly ever either at such pitches, strong noise and coarse coding among them (judgement)."""
_SMALLER, _WITH = (0.40, 0.05), (0.25, 0.015)
"""The same for the whole of what is seen, and for length or darkness beside it, where mixtures lie over one another [-]:
those have 0.65 and 0.08 and more, pictures as filmed up to 0.3 and 0.07 in the shortest falls (rendered clips; judgement)."""
_TREND = 4
"""Degree of the slow change along a fall that is taken out first [-]: light and distance change evenly (judgement)."""
_NO_WAVE = 1e-3
"""Length of a wave below which it is none [-]: at one half every picture lies where it crosses nought."""
_WILD = 4.0
"""Scaled median deviations beyond which a picture is left out [-]: cut off by an edge, or before another ground."""


def blended(spots: Sequence[Spot]) -> bool:
    """Tell whether a fall's pictures, in their order, are mixtures of two by turns; False where nobody can tell."""
    if len(spots) < _FEWEST:
        return False
    frames = np.array([spot.frame for spot in spots], dtype=float)
    seen = [(spot.length, abs(spot.contrast), abs(spot.contrast) * spot.area) for spot in spots]
    values = np.log(np.maximum(seen, 1e-9))
    kept = _usual(_without_trend(frames, values))
    frames, values = frames[kept], values[kept]
    if len(frames) < _FEWEST:
        return False
    share, swing = _swings(frames, values)
    paler = np.all((share[:, :2] > _PALER[0]) & (swing[:, :2] > _PALER[1]), axis=1)
    smaller = (share[:, 2] > _SMALLER[0]) & (swing[:, 2] > _SMALLER[1])
    beside = np.any((share[:, :2] > _WITH[0]) & (swing[:, :2] > _WITH[1]), axis=1)
    return bool(np.any(paler | (smaller & beside)))


def _usual(off: Floats) -> NDArray[np.bool_]:
    """Return which of the pictures look as the others do; ``off`` (n, 3), the trend taken out [-]."""
    scatter = 1.4826 * np.median(np.abs(off), axis=0)
    return np.asarray(np.all(np.abs(off) <= _WILD * scatter, axis=1))


def _without_trend(frames: Floats, values: Floats) -> Floats:
    """Return columns (n, any) less their slow change."""
    along = (frames - frames.mean()) / max(float(np.ptp(frames)), 1.0)
    slow = np.linalg.qr(np.vander(along, _TREND + 1))[0]
    return np.asarray(values - slow @ (slow.T @ values))


def _swings(frames: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Return for each pitch, and each column of values, the share of the scatter in a swing and how far it goes [-]."""
    off = _without_trend(frames, values)
    whole = np.maximum(np.sum(off**2, axis=0), 1e-300)
    turns = 2.0 * np.pi * np.outer(frames, _PITCHES[_PITCHES * np.ptp(frames) >= _TURNS])
    even, odd = _without_trend(frames, np.cos(turns)), _without_trend(frames, np.sin(turns))
    even /= np.linalg.norm(even, axis=0)
    odd -= even * np.sum(even * odd, axis=0)
    odd /= np.maximum(np.linalg.norm(odd, axis=0), _NO_WAVE)
    made_up = (even.T @ off) ** 2 + (odd.T @ off) ** 2
    return made_up / whole, np.sqrt(2.0 * made_up / len(frames))
