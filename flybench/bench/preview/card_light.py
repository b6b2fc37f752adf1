"""How the card is lit and how sharp it is: grey levels, noise between pictures, and the width of its edges."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.view import card
from flybench.bench.view.card_corners import CardCorners

Floats = NDArray[np.float64]
Picture = NDArray[np.uint8]

CLIPPED = 250.0
"""Grey level from which paper counts as burnt out [of 255]: the last levels before white (judgement)."""
_REACH = 0.11
"""How far a profile goes to either side of an edge, over the square's side [-]: the white rim around a tag is 0.125."""
_STEP_PX = 0.25
"""Step along a profile [px]: a quarter of a pixel, below which nothing more is seen."""
_ALONG = 0.25
"""Half the part of an edge that is averaged, over the square's side [-]: away from its corners (judgement)."""
_LINES = 9
"""Profiles averaged along one edge [-] (judgement)."""
_LANE_COLUMNS = 9
"""Places across the lane in each row that is looked at [-] (judgement)."""
_HALF_PIXEL = 0.3
"""Standard deviation that reading between pixels adds to an edge [px]: that of a unit-wide triangle, 1/sqrt(12) for each
of the two differences taken (arithmetic)."""


@dataclass(frozen=True)
class CardLight:
    """Levels are of 255. ``noise``: standard deviation from picture to picture, None for a single picture.

    ``evenness``: darkest over lightest part of the lane [-]; ``clipped``: share of its paper that is burnt out [-];
    ``blur_px``: standard deviation of the edges' smear [px], None where no edge could be read.
    """

    white: float
    black: float
    evenness: float
    clipped: float
    noise: float | None
    blur_px: float | None

    @property
    def contrast(self) -> float:
        """Return paper less ink [levels]."""
        return self.white - self.black


def card_light(pictures: Sequence[Picture], corners: CardCorners) -> CardLight:
    """Read the card's light off upright pictures of one view; ``corners`` are those of the first one."""
    first = pictures[0]
    to_picture = np.asarray(cv2.findHomography(corners.places, corners.pixels)[0], dtype=float)
    lane = _levels(first, _pixels(to_picture, _lane()))
    ink = _levels(first, _pixels(to_picture, _ink()))
    white, black = float(np.median(lane)), float(np.median(ink))
    rows = lane.reshape(-1, _LANE_COLUMNS).mean(axis=1)
    return CardLight(
        white,
        black,
        float(rows.min() / max(rows.max(), 1.0)),
        float(np.mean(lane >= CLIPPED)),
        _noise(pictures),
        _blur(first, corners, to_picture, max(white - black, 1.0)),
    )


def _lane() -> Floats:
    """Return places on the white lane between the strips [m], row by row."""
    left = card.strip_offset(0) + card.COLUMNS * card.SQUARE
    across = left + card.LANE * np.linspace(0.25, 0.75, _LANE_COLUMNS)
    down = card.SQUARE * np.arange(1, card.ROWS["letter"], dtype=float)
    return np.array([[x, y] for y in down for x in across])


def _ink() -> Floats:
    """Return the middles of the black squares [m]."""
    return np.array([[s.x + s.side / 2, s.y + s.side / 2] for s in card.squares("letter") if s.black])


def _pixels(to_picture: Floats, places: Floats) -> Floats:
    return np.asarray(cv2.perspectiveTransform(places.reshape(-1, 1, 2), to_picture), dtype=float).reshape(
        -1, 2
    )


def _levels(picture: Picture, pixels: Floats) -> Floats:
    """Return grey levels at pixels (n, 2); the edge's level beyond the picture."""
    x, y = (np.ascontiguousarray(part, dtype=np.float32).reshape(-1, 1) for part in pixels.T)
    found = cv2.remap(picture, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(found, dtype=float).ravel()


def _noise(pictures: Sequence[Picture]) -> float | None:
    """Return the noise of one picture from the differences between neighbours; the largest hundredth may be movers.

    The mean of |d| is sqrt(2 / pi) sigma for a normal law, and does not mind that levels are whole numbers.
    """
    if len(pictures) < 2:
        return None
    pairs = pairwise(pictures)
    differences = np.stack([later[::3, ::3].astype(float) - earlier[::3, ::3] for earlier, later in pairs])
    sizes = np.abs(differences - differences.mean())
    return float(np.sqrt(np.pi / 2) * np.mean(sizes[sizes <= np.quantile(sizes, 0.99)]) / np.sqrt(2))


def _edges(corners: CardCorners) -> Iterator[tuple[Floats, Floats]]:
    """Yield pairs of places of neighbouring corners that were both seen: the ends of an edge [m]."""
    seen = {tuple(np.round(place / card.SQUARE * 100).astype(int)) for place in corners.places}
    for place in corners.places:
        for step in ((card.SQUARE, 0.0), (0.0, card.SQUARE)):
            other = place + step
            if tuple(np.round(other / card.SQUARE * 100).astype(int)) in seen:
                yield place, other


def _blur(picture: Picture, corners: CardCorners, to_picture: Floats, contrast: float) -> float | None:
    """Return the median smear of the edges [px]: a Gaussian edge's steepest slope is contrast / (sqrt(2 pi) sigma)."""
    found = [_smear(picture, to_picture, *ends, contrast) for ends in _edges(corners)]
    return float(np.median(found)) if found else None


def _smear(picture: Picture, to_picture: Floats, start: Floats, end: Floats, contrast: float) -> float:
    middle, along = (start + end) / 2, end - start
    across = np.array([-along[1], along[0]])
    spots = middle + np.linspace(-_ALONG, _ALONG, _LINES)[:, None] * along
    size = np.linalg.norm(np.diff(_pixels(to_picture, np.stack([start, end])), axis=0))
    count = max(int(2 * _REACH * size / _STEP_PX), 4)
    steps = np.linspace(-_REACH, _REACH, count)
    places = spots[:, None, :] + steps[None, :, None] * across
    profile = _levels(picture, _pixels(to_picture, places.reshape(-1, 2))).reshape(_LINES, count).mean(axis=0)
    step_px = 2 * _REACH * size / (count - 1)
    # Differences over four quarter steps: over one pixel, as wide as what a pixel sees.
    span = min(round(1.0 / step_px), count - 1) or 1
    steepest = float(np.max(np.abs(profile[span:] - profile[:-span]))) / (span * step_px)
    smear = contrast / (np.sqrt(2 * np.pi) * max(steepest, 1e-6))
    return float(np.sqrt(max(smear**2 - _HALF_PIXEL**2, 0.0)))
