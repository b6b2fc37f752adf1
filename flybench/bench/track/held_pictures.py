"""Pictures that are shown twice, and pictures left out: programs do either to change a clip's speed or its frame rate.

A held one counts as one reading and not as two: the second would only repeat the first at a later time. Where some are left
out and the rest given even times, the fly moves twice as far at once.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

HELD = 0.2
"""Step below which a picture is held, over the mean step of the fall [-]: a fly keeps to its speed within a third, and a
picture that was coded again lies within a tenth of a pixel (judgement)."""
_LEAST_STEP_PX = 0.8
"""Mean step from which it is looked for [px]: readings scatter by 0.1 px, their differences by 0.14 px, so that a fly that
moved on seems held at four deviations (judgement)."""


def first_shown(places: Floats, metres_per_px: float) -> NDArray[np.bool_]:
    """Return which readings of a fall are no repetition of the one before; ``places`` (n, 2) [m], n at least 2.

    All of them where the fly moves too little from one picture to the next for anyone to tell.
    """
    steps = np.linalg.norm(np.diff(places, axis=0), axis=1)
    usual = float(np.mean(steps))
    if usual < _LEAST_STEP_PX * metres_per_px:
        return np.ones(len(places), dtype=bool)
    return np.append(True, steps > HELD * usual)


def filmed_at(times: Floats, places: Floats) -> Floats:
    """Return when pictures were filmed [s] of which some were held: evenly, where the fly then falls more evenly.

    25 pictures a second shown at 30 come a 30th or a 15th apart and were filmed a 25th apart. Where a part was slowed down
    they lie off an even pace by more than the shortest time between two, and stay as they are; so they do where a picture
    was held because the next one was lost. ``times`` (n) and ``places`` (n, 2) of the first showings, n at least 2.
    """
    number = np.arange(len(times))
    even = np.asarray(np.polyval(np.polyfit(number, times, 1), number))
    steps = np.diff(places[:, 1])
    smoother = np.std(steps / np.diff(even)) < np.std(steps / np.diff(times))
    return even if smoother and np.max(np.abs(times - even)) < np.min(np.diff(times)) else times


_ABOUT = 4
"""Steps to either side of one that it is compared with [-]: half of them may be long, and the speed hardly changes over eight
(judgement)."""
_FAR, _FURTHEST = 1.6, 3.5
"""Step over those about it from which a picture was left out there, and up to which [-]: a fly keeps to its speed within a
third, and one that jumps further was misread (judgement). A misread place makes as many short steps as long ones."""


def pictures_skipped(times: Floats, places: Floats, metres_per_px: float) -> int:
    """Return how many pictures are missing from a fall by its steps [-], those left out that its times show.

    ``times`` (n) [s], ``places`` (n, 2) [m], n at least 2. None where the fly moves too little for anyone to tell.
    """
    speeds = np.diff(places[:, 1]) / np.diff(times)
    padded = np.pad(speeds, _ABOUT, mode="reflect") if len(speeds) > _ABOUT else speeds
    if len(padded) < 2 * _ABOUT + 1:
        return 0
    usual = np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * _ABOUT + 1), axis=1)
    if float(np.median(usual * np.diff(times))) < _LEAST_STEP_PX * metres_per_px:
        return 0
    ratio = speeds / np.maximum(usual, 1e-9)
    far = (ratio > _FAR) & (ratio < _FURTHEST)
    misread = int(np.sum(ratio < 1 / _FAR))
    return max(int(np.sum(np.round(ratio[far]) - 1)) - 2 * misread, 0)
