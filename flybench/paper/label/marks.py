"""What is drawn on a label: lines of text, the band in its box, and the QR code.

Coordinates: points, x to the right and y downwards, from the top left corner of the label's safe area.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from flybench.errors import BadValueError
from flybench.paper.drawing import POINT
from flybench.paper.label.typesetting import LEAST_TYPE, TextLine, Typesetter, clean

QUIET = 4
"""White modules on each side: ISO/IEC 18004."""
LEAST_MODULE = 0.00033
"""Smaller modules than this are not printed [m]: four dots at 300 dpi; common practice, no source."""
MOST_MODULE = 0.0006
"""Larger modules than this scan no better from an arm's length [m]; common practice, no source."""

BAND_SHARE = 0.27
"""Width of the band's box, as a share of the label's, where there is no QR code; judgement."""
LEAST_BAND = 6.0
"""Smaller than this the band is left out [points]; judgement."""
_QR_WIDTH, _QR_HEIGHT = 0.34, 0.64
"""What the QR code takes of the label; more, to the most, only where its modules would be too small; judgement."""
_MOST_QR_WIDTH = 0.5
"""The most the QR code takes of the label's width [share]; judgement: code and speed need the other half."""
_CAPITAL = 0.73
"""Height of a capital letter of the built-in typeface [type sizes]: its H reaches 0.729."""
BAND_TO_SPEED = 0.6
"""The largest type of the band's number, as a share of the speed's: the speed is the largest thing on a label; judgement."""
_PAD = 0.09
"""White between the band's box and its number, as a share of the box's shorter side; judgement."""
_BETWEEN = 0.35
"""Room between the band's number and its unit [type sizes of the unit]; judgement."""
_UNIT_SHARE = 0.6
"""Type size of the band's unit, as a share of the number's; judgement."""
_BOX_TO_TYPE = 2.2
"""Height of the band's box, in heights of what stands in it: a taller one looks empty; judgement."""
_SHRINK = 0.96
"""How much smaller the band's number is tried each time [share]; judgement."""

Grid = tuple[tuple[bool, ...], ...]
"""Modules of a QR code, True where black."""


@dataclass(frozen=True)
class SetLine:
    """A line of text: the left end of its baseline and its type size [points]; white on black, or black."""

    x: float
    y: float
    size: float
    line: TextLine
    white: bool = False


@dataclass(frozen=True)
class Frame:
    """A rectangle [points]: filled black, or a dashed outline inside these sides."""

    x: float
    y: float
    width: float
    height: float
    filled: bool


@dataclass(frozen=True)
class QrMark:
    """A QR code: the top left corner of its quiet zone and the side of a module [points]."""

    x: float
    y: float
    module: float
    grid: Grid


@dataclass(frozen=True)
class PhotoMark:
    """A photo: its upper left corner and its sides [points], and its bytes (JPEG)."""

    x: float
    y: float
    width: float
    height: float
    content: bytes


@dataclass(frozen=True)
class LaidOut:
    """A label laid out; ``left_out`` and ``shortened`` name the parts that had no room."""

    lines: tuple[SetLine, ...]
    frame: Frame | None = None
    qr: QrMark | None = None
    band_type: float = 0.0
    """Type size of the band's number [points]; 0 where there is none."""
    left_out: tuple[str, ...] = ()
    shortened: tuple[str, ...] = ()
    photo: PhotoMark | None = None


@lru_cache(maxsize=1024)
def qr_grid(text: str, code: str) -> Grid:
    """Return the modules, True where black, without the quiet zone; error correction level M.

    Raises BadValueError, naming the label's code, where the text is too long for any QR code.
    """
    import segno  # only labels with a QR code need it

    try:
        symbol = segno.make(text, error="m", micro=False, boost_error=False)
    except segno.DataOverflowError:
        problem = f'the text of the label "{code}" has {len(text)} characters, more than a QR code holds'
        raise BadValueError("--qr", problem, "Use a shorter text or address.") from None
    return tuple(tuple(bool(module) for module in row) for row in symbol.matrix)


def modules_across(grid: Grid) -> int:
    """Return the modules along one side, quiet zones included."""
    return len(grid) + 2 * QUIET


def black_runs(grid: Grid) -> list[tuple[int, int, int]]:
    """Return row, first column and length of each run of black modules, quiet zone counted in."""
    runs = []
    for row, line in enumerate(grid):
        start = None
        for column, black in enumerate((*line, False)):
            if black and start is None:
                start = column
            elif not black and start is not None:
                runs.append((row + QUIET, start + QUIET, column - start))
                start = None
    return runs


def qr_side(grid: Grid, width: float, height: float) -> float | None:
    """Return the side of the QR code, quiet zone included, or None where its modules would be too small."""
    count = modules_across(grid)
    least = count * LEAST_MODULE / POINT
    side = max(least, min(_QR_WIDTH * width, _QR_HEIGHT * height, count * MOST_MODULE / POINT))
    return side if side <= min(height, _MOST_QR_WIDTH * width) else None


def band_box(
    band: str, box: tuple[float, float, float, float], filled: bool, setter: Typesetter, most: float
) -> tuple[Frame, tuple[SetLine, ...]] | None:
    """Return the band's number, no larger than ``most`` [points], and below it its unit, in a box that has the top and the
    width of ``box`` (x, y, width, height) and no more height than it needs; None if that is too small."""
    x, y, width, height = box
    number, _, unit = clean(band).partition(" ")
    texts = (setter.line(number, True), setter.line(unit, False))
    size = max(min(height, most), LEAST_BAND)
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
    height = min(height, _BOX_TO_TYPE * tall)
    first = y + (height - tall) / 2 + _CAPITAL * size
    lines = [(texts[0], size, first)]
    if unit:
        lines.append((texts[1], small, first + (_CAPITAL + _BETWEEN) * small))
    middle = x + width / 2
    return Frame(x, y, width, height, filled), tuple(
        SetLine(middle - line.width * s / 2, base, s, line, white=filled) for line, s, base in lines
    )
