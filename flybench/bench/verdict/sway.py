"""What a phone that moved adds to the uncertainty: sway that nobody could see, and what following the ground leaves of it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from flybench.bench.verdict.budget import FallInPixels
from flybench.bench.view.geometry import Geometry

Floats = NDArray[np.float64]

HAND_SWAY = 0.004
"""How far a phone held in the hand sways up and down, standard deviation where it points to on the fall plane [m]: 15 px to
either side in a picture of 300 mm and 960 px are 3.4 mm (judgement)."""
SWAY = "sway of the phone"
"""Name of the part in the budget."""
NEARER = "phone nearer or farther"
"""Name of what sway along the view leaves of the scale."""
BREATHING = "picture larger or smaller for a moment"
"""Name of what a focus that breathes leaves of the scale."""
PUSHED = 0.05
"""Change of the scale by a phone that was moved and may have been pushed nearer or zoomed, standard uncertainty [-]: up to 8
or 9 % are as likely as none (judgement)."""
FOLLOWED = 0.02 / math.sqrt(12.0)
"""Change of the picture's size that was followed, standard deviation [-]: from a range of 2 % on its scale is refused
(``view.watch``)."""


def sway_doubts(flags: list[str], falls: list[FallInPixels], geometry: Geometry) -> dict[str, Floats]:
    """Return the relative change of each drop's speed by sway, shape (n,), by name; nothing for a still phone.

    Between the two ends of a fall the picture has swayed by two independent draws. Where nobody could tell
    whether it did, all of that is doubt. Where it was followed, only the share by which what was followed moves
    otherwise than the fall plane, as seen from a phone that is carried and not only turned.
    """
    found = {}
    if nearer := _nearer(flags, geometry):
        found[NEARER] = np.full(len(falls), nearer)
    share = 1.0 if "steadiness-unknown" in flags else _parallax(geometry) if "hand-held" in flags else 0.0
    if share:
        lengths = np.array([fall.drop.places[-1, 1] - fall.drop.places[0, 1] for fall in falls])
        found[SWAY] = share * math.sqrt(2.0) * HAND_SWAY / np.abs(lengths)
    return found


def breath_doubts(growths: list[float]) -> dict[str, Floats]:
    """Return the relative change of each drop's speed by a picture that grew so much while it fell, shape (n,), by name.

    Any change of the scale up to that is as likely, to either side (JCGM 100:2008, 4.3.7).
    """
    return {BREATHING: np.array(growths) / math.sqrt(3.0)} if any(growths) else {}


def _nearer(flags: list[str], geometry: Geometry) -> float:
    """Return the relative change of the scale by a phone that came nearer or went farther; a card is followed in size too."""
    if geometry.settings.scale.card:
        return 0.0
    if "size-unwatched" in flags and "card-moved" in flags:
        return PUSHED
    if "size-unwatched" in flags or "steadiness-unknown" in flags:
        return float(HAND_SWAY / geometry.fall.apparent_distance)
    return FOLLOWED * _parallax(geometry) if "hand-held" in flags else 0.0


def _parallax(geometry: Geometry) -> float:
    """Return how much less, or more, what was followed moves than the fall plane: its way from it over that from the lens.

    That is the card; without one the rear wall or the front pane, whichever is further from the fall.
    """
    settings, index = geometry.settings, geometry.fall.index[-1]
    plane = geometry.fall.thickness[2]
    behind = (settings.tank.depth_along_view or 2.0 * plane) - plane
    away = abs(settings.scale.gap.value) if settings.scale.card else max(plane, behind)
    return float(away / index / geometry.fall.apparent_distance)
