"""A small photo on a label, where its words leave a place free: nothing moves for it, so it is the first thing to go.

Coordinates: points, x to the right and y downwards, from the top left corner of the label's safe area.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product

from PIL import Image

from flybench.paper.drawing import POINT
from flybench.paper.kept_photo import opened_photo
from flybench.paper.label.content import Label
from flybench.paper.label.label_paper import MM
from flybench.paper.label.marks import LaidOut, PhotoMark, modules_across

PHOTO, _DAMAGED = "photo", "photo (it is damaged)"
"""What a photo is called that is left out."""
_LEAST = 7 * MM / POINT
"""The least longer side of a photo [points]; judgement: in a smaller one no fly is seen."""
_MOST_SHARE = 0.3
"""The most width of a photo, as a share of the label's; judgement: the speed stays the largest thing."""
_CLEAR = 1 * MM / POINT
"""White between a photo and what stands beside it [points]; judgement."""
_SHRINK = 0.94
"""How much smaller a photo is tried each time [share]; judgement."""
_DPI = 300
"""Dots an inch of a photo as it is printed; judgement: printers show no more."""

Box = tuple[float, float, float, float]
"""Left, upper, right and lower edge."""


def with_photos(laid: Mapping[Label, LaidOut], width: float, height: float) -> dict[Label, LaidOut]:
    """Return labels laid out on a safe area of these sides with their photos where there is a free place; where there is
    none, or a photo is damaged, it is among what was left out."""
    return {label: _with_photo(label, one, width, height) for label, one in laid.items()}


def _with_photo(label: Label, laid: LaidOut, width: float, height: float) -> LaidOut:
    if label.photo is None:
        return laid
    picture = opened_photo(label.photo)
    if picture is None:
        return replace(laid, left_out=(_DAMAGED, *laid.left_out))
    place = _free_place(picture.height / picture.width, list(_taken(laid)), width, height)
    if place is None:
        return replace(laid, left_out=(PHOTO, *laid.left_out))
    return replace(laid, photo=PhotoMark(*place, _small(picture, max(place[2:]))))


def _small(picture: Image.Image, longest: float) -> bytes:
    """Return the picture as JPEG with no more pixels than are printed on so many points."""
    side = round(longest * POINT / (25.4 * MM) * _DPI)
    picture.thumbnail((side, side))
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", quality=90)
    return buffer.getvalue()


def _taken(laid: LaidOut) -> Iterator[Box]:
    """Yield what stands on the label already, each with the white around it."""
    boxes = [
        (
            one.x,
            one.y - one.size * one.line.above,
            one.x + one.line.width * one.size,
            one.y - one.size * one.line.below,
        )
        for one in laid.lines
    ]
    if laid.frame is not None:
        frame = laid.frame
        boxes.append((frame.x, frame.y, frame.x + frame.width, frame.y + frame.height))
    if laid.qr is not None:
        side = laid.qr.module * modules_across(laid.qr.grid)
        boxes.append((laid.qr.x, laid.qr.y, laid.qr.x + side, laid.qr.y + side))
    for left, top, right, bottom in boxes:
        yield left - _CLEAR, top - _CLEAR, right + _CLEAR, bottom + _CLEAR


def _free_place(tall: float, taken: Sequence[Box], width: float, height: float) -> Box | None:
    """Return left and upper edge, width and height of the largest photo so tall for its width that has a free place: of
    several places the one furthest right, and of these the lowest."""
    wide = min(_MOST_SHARE * width, height / tall)
    while max(wide, tall * wide) >= _LEAST:
        high = tall * wide
        across = {0.0, width - wide, *(box[2] for box in taken), *(box[0] - wide for box in taken)}
        down = {0.0, height - high, *(box[3] for box in taken), *(box[1] - high for box in taken)}
        free = [
            (x, y)
            for x, y in product(across, down)
            if 0 <= x <= width - wide and 0 <= y <= height - high and _is_free(x, y, wide, high, taken)
        ]
        if free:
            return (*max(free), wide, high)
        wide *= _SHRINK
    return None


def _is_free(x: float, y: float, wide: float, high: float, taken: Sequence[Box]) -> bool:
    return not any(
        x < right and left < x + wide and y < bottom and top < y + high for left, top, right, bottom in taken
    )
