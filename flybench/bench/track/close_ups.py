"""Close-ups: small pieces of frames around what was spotted, kept while a clip streams by, and the sharpest of the fly."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.footage import Frame
from flybench.bench.clip.orientation import Orientation
from flybench.bench.track.spotting import Spot
from flybench.bench.view.backdrop import eight_bit
from flybench.bench.view.steadiness import moved

Picture = NDArray[Any]
Floats = NDArray[np.float64]

_REACH = 1.0
"""Half the side of a close-up over the length of the thing in it [-]: fibres reach beyond it (judgement)."""
_LEAST_REACH = 12.0
"""The same for the smallest things [px]: less than 24 px across shows nothing."""
_LARGEST_SHARE = 0.4
"""Largest side of a close-up over the shorter side of the picture [-]: a hand or a walker, no fly (judgement)."""
_PLAINEST = 3
"""Spots of a frame that are kept [-]: the fly, its shadow and one bubble; a hand is none of them (judgement)."""
_FINEST = 256
"""Pixels across a close-up from which it is kept smaller [px]: twice what a page shows of it."""
_MOST_BYTES = 4_000_000
"""What all close-ups kept may take together [bytes]: sixty of the largest, a minute of usual ones (judgement)."""


@dataclass(frozen=True)
class CloseUp:
    """A square piece of a frame in grey levels of eight bits, and how many pixels of the clip one of it is [px]."""

    picture: Picture
    step: float


class Album:
    """Keeps close-ups frame by frame; when they grow too many, every second frame of those kept goes."""

    def __init__(self, orientation: Orientation) -> None:
        """Begin without any: ``kept`` is by frame, and in it by the number of the spot in that frame."""
        self.orientation = orientation
        self.kept: dict[int, dict[int, CloseUp]] = {}
        self.every, self.bytes = 1, 0

    def keep(self, frame: Frame, spots: Sequence[Spot], motion: Floats | None) -> None:
        """Keep what surrounds the plainest spots of a frame; ``motion`` maps the reference picture to it (None: still)."""
        if frame.index % self.every:
            return
        most = _LARGEST_SHARE * min(frame.luma.shape) / 2
        whole = [number for number, spot in enumerate(spots) if not spot.at_edge and _reach(spot) <= most]
        plainest = sorted(whole, key=lambda number: -spots[number].area * abs(spots[number].contrast))[
            :_PLAINEST
        ]
        if not plainest:
            return
        places = self.orientation.stored(
            np.array([[spots[number].x, spots[number].y] for number in plainest])
        )
        places = places if motion is None else moved(places, motion)
        pieces = {
            number: piece
            for number, (x, y) in zip(plainest, places.tolist(), strict=True)
            if (piece := _piece(frame, x, y, _reach(spots[number]))) is not None
        }
        self.kept[frame.index] = pieces
        self.bytes += _bytes(pieces)
        while self.bytes > _MOST_BYTES and len(self.kept) > 1:
            self.every *= 2
            self.kept = {index: kept for index, kept in self.kept.items() if index % self.every == 0}
            self.bytes = sum(map(_bytes, self.kept.values()))

    def sharpest(self, spots: Sequence[Spot], rows: Sequence[int]) -> CloseUp | None:
        """Return the sharpest close-up of some of the clip's spots; None where none of them was kept.

        Only the half of them before the more even ground is looked at: edges of the card would pass for sharpness.
        """
        found = list(self._kept_of(spots, rows))
        ground = [_unevenness(piece) for piece in found]
        limit = float(np.median(ground)) if ground else 0.0
        plain = [piece for piece, uneven in zip(found, ground, strict=True) if uneven <= limit]
        best = max(plain, key=_sharpness, default=None)
        return None if best is None else replace(best, picture=self.orientation.picture(best.picture))

    def _kept_of(self, spots: Sequence[Spot], rows: Sequence[int]) -> Iterator[CloseUp]:
        first: dict[int, int] = {}
        for row, spot in enumerate(spots):
            first.setdefault(spot.frame, row)
        for row in rows:
            spot = spots[row]
            piece = self.kept.get(spot.frame, {}).get(row - first[spot.frame])
            if piece is not None:
                yield piece


def _reach(spot: Spot) -> float:
    """Return half the side of the close-up of a spot [px]."""
    return max(_REACH * spot.length, _LEAST_REACH)


def _piece(frame: Frame, x: float, y: float, reach: float) -> CloseUp | None:
    """Return the square of a stored frame around a place, as stored; None where the border cuts it."""
    rows, columns = frame.luma.shape
    left, top, side = round(x - reach), round(y - reach), round(2 * reach) + 1
    if left < 0 or top < 0 or left + side > columns or top + side > rows:
        return None
    cut = eight_bit(frame.luma[top : top + side, left : left + side], frame.shift)
    if side <= _FINEST:
        return CloseUp(cut.copy(), 1.0)
    return CloseUp(cv2.resize(cut, (_FINEST, _FINEST), interpolation=cv2.INTER_AREA), side / _FINEST)


def _bytes(pieces: Mapping[int, CloseUp]) -> int:
    return sum(piece.picture.nbytes for piece in pieces.values())


def _unevenness(piece: CloseUp) -> float:
    """Return how much the border of a close-up varies, which shows what is behind the fly [grey levels]."""
    picture = piece.picture
    return float(np.std(np.concatenate([picture[0], picture[-1], picture[:, 0], picture[:, -1]])))


def _sharpness(piece: CloseUp) -> float:
    """Return the mean square of the slopes in a close-up [grey levels2/px2]: of one fly, the more the sharper."""
    picture = cv2.GaussianBlur(piece.picture.astype(np.float32), (0, 0), 0.8)
    across, down = cv2.Sobel(picture, cv2.CV_32F, 1, 0), cv2.Sobel(picture, cv2.CV_32F, 0, 1)
    return float(np.mean(across**2 + down**2))
