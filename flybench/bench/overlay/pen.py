"""Drawing that shows on dark and on bright pictures: lines with a dark rim, and words with a true ±."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Picture = NDArray[Any]
Colour = tuple[int, int, int]
"""Blue, green, red [0 to 255]."""

RIM: Colour = (20, 16, 12)
"""Colour of the rim around every line: nearly black, so that bright lines stand out on white too (judgement)."""
_WHITE: Colour = (255, 255, 255)
"""Colour of the scale bar: on its dark plate nothing is plainer."""
FINE = 4
"""Drawing is to 2**-FINE px."""
_FONT = cv2.FONT_HERSHEY_SIMPLEX
_SIGN = "±"
"""A sign that the drawing font lacks: drawn as a plus over a bar."""


def fine(point: Floats) -> tuple[int, int]:
    """Return a place [px] as the drawing takes it."""
    x, y = np.round(point * 2**FINE).astype(int)
    return int(x), int(y)


def trail(canvas: Picture, points: Floats, colour: Colour, *, whole: bool) -> None:
    """Draw a rimmed line through the points (n, 2) [px], or rimmed dots where it is not whole."""
    if whole:
        line = np.round(points * 2**FINE).astype(np.int32).reshape(-1, 1, 2)
        for shade, wide in ((RIM, 4), (colour, 2)):
            cv2.polylines(canvas, [line], False, shade, wide, cv2.LINE_AA, FINE)
        return
    for point in points[::3]:
        for shade, radius in ((RIM, 3.0), (colour, 1.9)):
            cv2.circle(canvas, fine(point), round(radius * 2**FINE), shade, cv2.FILLED, cv2.LINE_AA, FINE)


def ring(canvas: Picture, centre: Floats, radius: float, colour: Colour) -> None:
    """Draw a rimmed circle [px]."""
    for shade, wide in ((RIM, 4), (colour, 2)):
        cv2.circle(canvas, fine(centre), round(radius * 2**FINE), shade, wide, cv2.LINE_AA, FINE)


def cross(canvas: Picture, centre: Floats, colour: Colour) -> None:
    """Draw a small rimmed cross [px]."""
    for shade, wide in ((RIM, 3), (colour, 1)):
        for arm in (np.array([5.0, 0.0]), np.array([0.0, 5.0])):
            cv2.line(canvas, fine(centre - arm), fine(centre + arm), shade, wide, cv2.LINE_AA, FINE)


def scale_bar(canvas: Picture, corner: tuple[int, int], length: float, words: str, height: int) -> None:
    """Draw a bar so long [px] with its words over it, white on a dark plate.

    ``corner`` is the plate's lower left one, or with a negative x its lower right one; ``height`` is that of a line of
    words [px].
    """
    size, foot = height / 30.0, corner[1]
    inner, pad = max(round(length), round(width_of(words, size))), height // 3
    left = corner[0] if corner[0] >= 0 else -corner[0] - inner - 2 * pad
    top, right = foot - height - 3 * pad, left + inner + 2 * pad
    cv2.rectangle(canvas, (left, top), (right, foot), RIM, cv2.FILLED)
    x, y = left + pad, foot - pad
    end, thick = x + round(length), max(height // 10, 2)
    for first, last, half in ((x, end, thick / 2), (x, x + thick, pad / 2), (end - thick, end, pad / 2)):
        cv2.rectangle(canvas, (first, round(y - half)), (last, round(y + half)), _WHITE, cv2.FILLED)
    write(canvas, words, (x, y - pad), size, _WHITE)


def width_of(words: str, size: float) -> float:
    """Return the width of a line of words [px]."""
    return float(cv2.getTextSize(words.replace(_SIGN, "+"), _FONT, size, 1)[0][0])


def write(canvas: Picture, words: str, at: tuple[int, int], size: float, colour: Colour) -> None:
    """Write a line of words with its baseline's left end at a place [px]; what the font lacks becomes a question mark."""
    x, y = at
    for place, part in enumerate(words.split(_SIGN)):
        if place:
            x += _plus_minus(canvas, x, y, size, colour)
        cv2.putText(canvas, part, (x, y), _FONT, size, colour, 1, cv2.LINE_AA)
        x += round(width_of(part, size))


def _plus_minus(canvas: Picture, x: int, y: int, size: float, colour: Colour) -> int:
    """Draw a plus over a bar on the baseline; return how wide it is [px]."""
    wide = round(width_of("+", size))
    arm, middle = 0.34 * wide, np.array([x + 0.5 * wide, y - 0.62 * wide])
    ends = [np.array([arm, 0.0]), np.array([0.0, arm])]
    strokes = [(middle - end, middle + end) for end in ends]
    low = np.array([x + 0.5 * wide, float(y) - 0.06 * wide])
    for first, last in [*strokes, (low - ends[0], low + ends[0])]:
        cv2.line(canvas, fine(first), fine(last), colour, max(round(2 * size), 1), cv2.LINE_AA, FINE)
    return wide
