"""QR codes in a picture: where they are, and what they hold, from any side and many at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

Picture = NDArray[np.uint8]
Corners = NDArray[np.float32]
_SCALES = (1.0, 0.5, 0.25)
"""Scales at which codes are looked for [-]: small ones on a sheet show in the whole picture, one that fills it in a smaller
one (judgement)."""
_SMALL, _MORE_SCALES = 2000, (1.5, 0.7)
"""Longest side of a picture with few pixels [pixels], and the scales at which codes are looked for in it besides [-]: of 24
labels at 80 dots an inch 23 show then, where 15 do (judgement; larger pictures would take twice their time)."""
_LARGEST = 4000
"""Longest side of a picture that is looked at [pixels]; larger ones are made smaller (judgement: ten pixels a module for
24 labels)."""
_LEAST = 21
"""Modules of the smallest code (ISO/IEC 18004): a picture with fewer pixels shows none."""
_SIDES = (200, 400)
"""Sides to which a code is straightened to be read [pixels] (judgement: both read some that the other does not)."""
_MARGIN = 0.18
"""White that is kept around it, as a share of the side [-] (four modules of the smallest code, ISO/IEC 18004)."""
_SAME = 0.9
"""Codes nearer to each other than this share of their side are one and the same [-] (two do not lie in one another; a tenth
for corners that are a little off; judgement)."""
_CORNER = 0.1
"""How far from a code a corner still is one of its own, as a share of its side [-] (half of the white around the smallest
code, ISO/IEC 18004)."""
_ROW = 0.5
"""Codes whose middles are higher or lower by less than this share of their side stand in one row [-] (judgement)."""


@dataclass(frozen=True)
class QrCodes:
    """What the codes of a picture hold, row by row from the top, and how many were seen and cannot be read."""

    texts: tuple[str, ...]
    unread: int


@dataclass(frozen=True)
class _Read:
    """A code that was read: what it holds, and its corners in the picture [pixels]."""

    text: str
    corners: Corners


def qr_codes(picture: Picture) -> QrCodes:
    """Return the QR codes of a picture of grey levels, shape (rows, columns); each counts once, however it was found."""
    longest = max(picture.shape)
    if longest > _LARGEST:
        picture = _scaled(picture, _LARGEST / longest)
    places, found = _places(picture), list[_Read]()
    for place in places:
        one = _read(picture, place)
        if one is not None and not any(_same(one.corners, other.corners) for other in found):
            found.append(one)
    unread = [
        place
        for place in places
        if not any(_holds(place[0], one.corners) or _begins_in(place[0], one.corners) for one in found)
    ]
    return QrCodes(tuple(one.text for one in _by_rows(found)), len(unread))


def _scaled(picture: Picture, scale: float) -> Picture:
    way = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    return np.asarray(cv2.resize(picture, None, fx=scale, fy=scale, interpolation=way), dtype=np.uint8)


def _places(picture: Picture) -> list[list[Corners]]:
    """Return the corners of what looks like a code, each code once, with all corners that it was seen with."""
    found: list[list[Corners]] = []
    for scale in (*_SCALES, *(_MORE_SCALES if max(picture.shape) < _SMALL else ())):
        if scale * min(picture.shape) < _LEAST:
            continue
        smaller = picture if scale == 1.0 else _scaled(picture, scale)
        there, corners = cv2.QRCodeDetectorAruco().detectMulti(smaller)
        for one in corners if there else ():
            here = np.asarray(one, dtype=np.float32).reshape(4, 2) / np.float32(scale)
            known = next((place for place in found if _same(here, place[0])), None)
            if known is None:
                found.append([here])
            else:
                known.append(here)
    return found


def _same(one: Corners, other: Corners) -> bool:
    apart = float(np.linalg.norm(one.mean(axis=0) - other.mean(axis=0)))
    return apart < _SAME * min(_side(one), _side(other))


def _side(corners: Corners) -> float:
    return float(np.linalg.norm(np.diff(corners, axis=0), axis=1).mean())


def _holds(place: Corners, read: Corners) -> bool:
    """Tell whether a code that was read lies where one was seen."""
    middle = read.mean(axis=0)
    inside = cv2.pointPolygonTest(place, (float(middle[0]), float(middle[1])), False) >= 0
    return inside or _same(place, read)


def _begins_in(place: Corners, read: Corners) -> bool:
    """Tell whether a corner of what looked like a code is one of a code that was read: it is put together of neighbours."""
    near = -_CORNER * _side(read)
    return any(cv2.pointPolygonTest(read, (float(x), float(y)), True) >= near for x, y in place)


def _by_rows(found: Sequence[_Read]) -> list[_Read]:
    """Return codes row by row from the top, each row from the left."""
    rows: list[list[_Read]] = []
    for one in sorted(found, key=lambda one: _middle(one)[1]):
        if rows and _middle(one)[1] - _middle(rows[-1][0])[1] < _ROW * _side(one.corners):
            rows[-1].append(one)
        else:
            rows.append([one])
    return [one for row in rows for one in sorted(row, key=lambda one: _middle(one)[0])]


def _middle(one: _Read) -> tuple[float, float]:
    """Return where the middle of a code is: how far to the right, and how far down [pixels]."""
    across, down = one.corners.mean(axis=0)
    return float(across), float(down)


def _read(picture: Picture, place: Sequence[Corners]) -> _Read | None:
    """Return the code of a place, read by either reader at either size; None where neither can."""
    for corners in place:
        for side in _SIDES:
            to_square = _straightening(corners, side)
            straight = cv2.warpPerspective(
                picture, to_square, (side, side), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE
            )
            for reader in (cv2.QRCodeDetector(), cv2.QRCodeDetectorAruco()):
                try:
                    text, there, _ = reader.detectAndDecode(straight)
                except cv2.error:  # what looked like a code makes no sense to this reader
                    continue
                if text and there is not None:
                    return _Read(str(text), _back(there, to_square))
    return None


def _straightening(corners: Corners, side: int) -> NDArray[np.float64]:
    """Return what takes a code to a square of this side, white around it."""
    near, far = side * _MARGIN, side * (1 - _MARGIN)
    square = np.array([[near, near], [far, near], [far, far], [near, far]], dtype=np.float32)
    return np.asarray(cv2.getPerspectiveTransform(corners, square), dtype=np.float64)


def _back(there: NDArray[Any], to_square: NDArray[np.float64]) -> Corners:
    """Return corners of the straightened picture as they lie in the whole one."""
    corners = np.asarray(there, dtype=np.float64).reshape(-1, 1, 2)
    return np.asarray(cv2.perspectiveTransform(corners, np.linalg.inv(to_square)), dtype=np.float32).reshape(
        -1, 2
    )
