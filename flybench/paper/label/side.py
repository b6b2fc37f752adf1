"""The right side of a label: the band in a box and the QR code below it. Points, as on the whole label."""

from __future__ import annotations

from flybench.paper.drawing import POINT
from flybench.paper.label.marks import Frame, SetLine
from flybench.paper.label.qr import LEAST_MODULE, MOST_MODULE, Grid, modules_across
from flybench.paper.label.text import LEAST_TYPE, Typesetter, clean

BAND_SHARE = 0.27
"""Width of the band's box, as a share of the label's, where there is no QR code."""
LEAST_BAND = 8.0
"""Smaller than this the band is left out [points]."""
_QR_WIDTH, _QR_HEIGHT = 0.34, 0.64
"""What the QR code takes of the label; more, to the most, only where its modules would be too small."""
_MOST_QR_WIDTH = 0.5
_CAPITAL = 0.73
_PAD = 0.09
_BETWEEN = 0.35
_UNIT_SHARE = 0.42
_SHRINK = 0.96


def qr_side(grid: Grid, width: float, height: float) -> float | None:
    """Return the side of the QR code, quiet zone included, or None where its modules would be too small."""
    count = modules_across(grid)
    least = count * LEAST_MODULE / POINT
    side = max(least, min(_QR_WIDTH * width, _QR_HEIGHT * height, count * MOST_MODULE / POINT))
    return side if side <= min(height, _MOST_QR_WIDTH * width) else None


def band_box(
    band: str, box: tuple[float, float, float, float], filled: bool, setter: Typesetter
) -> tuple[Frame, tuple[SetLine, ...]] | None:
    """Return the box (x, y, width, height) with the band's number and, below it, its unit; None if too small."""
    x, y, width, height = box
    number, _, unit = clean(band).partition(" ")
    texts = (setter.line(number, True), setter.line(unit, False))
    size = height
    while size >= LEAST_BAND:
        small = max(LEAST_TYPE, _UNIT_SHARE * size) if unit else 0.0
        tall = _CAPITAL * size + (_CAPITAL + _BETWEEN) * small
        wide = max(texts[0].width * size, texts[1].width * small)
        pad = _PAD * min(width, height)
        if tall <= height - 2.4 * pad and wide <= width - 2 * pad:
            break
        size *= _SHRINK
    else:
        return None
    first = y + (height - tall) / 2 + _CAPITAL * size
    lines = [(texts[0], size, first)]
    if unit:
        lines.append((texts[1], small, first + (_CAPITAL + _BETWEEN) * small))
    middle = x + width / 2
    return Frame(*box, filled), tuple(
        SetLine(middle - line.width * s / 2, base, s, line, white=filled) for line, s, base in lines
    )
