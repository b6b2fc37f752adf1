"""The scale card as a page: two strips, the clear lane, the 100 mm bar and what to do with it.

Coordinates: metres, x to the right and y downwards, from the top left corner of the paper.
Inside the cut line is what stands in the tank; below it is what is only read on the bench.
"""

from __future__ import annotations

from flybench.bench.view import card
from flybench.paper import drawing
from flybench.paper.drawing import MM, Box, Drawing, Text

MARGIN = 8 * MM
"""What most printers leave white along each edge; nothing is drawn there [m]."""
QUIET = 5 * MM
"""White around the strips inside the cut line [m]."""
TOP = 19 * MM
"""Paper edge to the upper edge of the strips [m]."""
BAR_WORDS = "100 mm. Measure this bar and write what the ruler says into the sheet: scale.bar"
CAUTION = (
    "Keep mains lamps and chargers away from the water. "
    "Wash your hands after touching lead or tungsten. Local rules may forbid lead."
)
INSTRUCTIONS = (
    "Print at 100 %, without fitting to the page. Cut along the grey line. Laminate it, or put it into a clear sleeve.",
    "Stand it upright in the tank behind the lane where the fly falls, this side up.",
)
_TYPE = 2.6 * MM
"""Size of the type: the smallest that is read without effort at arm's length (judgement) [m]."""
_HAIR = 0.2 * MM
"""Width of a thin line: what an office printer still prints without gaps (judgement) [m]."""
_BAR_BELOW = 7 * MM
"""Strips to bar [m]."""
_CUT_BELOW = 14.5 * MM
"""Strips to cut line [m]."""
_BAR_WORDS_BELOW = 12.3 * MM
"""Strips to the words below the bar [m]."""
_LINES_BELOW = (18.2 * MM, 21.6 * MM, 25.4 * MM)
"""Strips to the lines of words below the cut line [m]."""


def strips_origin(paper: str) -> tuple[float, float]:
    """Return where the top left corner of the left strip lies on the paper [m]."""
    return (card.PAPER[paper][0] - card.width()) / 2, TOP


def lay_out(paper: str) -> Drawing:
    """Return the whole page for "a4" or "letter"."""
    width, height = card.PAPER[paper]
    below = TOP + card.ROWS[paper] * card.SQUARE
    lines = (*INSTRUCTIONS, CAUTION)
    texts = [
        Text(width / 2, below + y, _TYPE, words, "middle")
        for y, words in zip(_LINES_BELOW, lines, strict=True)
    ]
    texts.append(Text(width / 2, below + _BAR_WORDS_BELOW, _TYPE, BAR_WORDS, "middle"))
    arrow, up = _this_side_up(paper)
    return Drawing(
        title=f"Scale card, {'A4' if paper == 'a4' else 'US Letter'}, {card.SQUARE / MM:g} mm squares",
        width=width,
        height=height,
        black=(*_strips(paper), *_bar(width / 2 - card.BAR / 2, below + _BAR_BELOW)),
        grey=_cut_line(paper, below + _CUT_BELOW),
        triangles=(arrow,),
        texts=(*texts, up),
    )


def write(paper: str, form: str, dpi: int) -> bytes:
    """Return the card as a file's bytes; ``form`` is "pdf", "svg" or "png", dpi only counts for PNG."""
    page = lay_out(paper)
    if form == "pdf":
        return drawing.pdf(page)
    return drawing.svg(page) if form == "svg" else drawing.png(page, dpi)


def _strips(paper: str) -> list[Box]:
    """Return every black square and every black module of the tags."""
    left, top = strips_origin(paper)
    boxes = []
    for square in card.squares(paper):
        if square.black:
            boxes.append(Box(left + square.x, top + square.y, square.side, square.side))
            continue
        module = card.TAG / len(square.bits)
        inset = (square.side - card.TAG) / 2
        for row, line in enumerate(square.bits):
            for start, length in _runs(line):
                x, y = square.x + inset + start * module, square.y + inset + row * module
                boxes.append(Box(left + x, top + y, length * module, module))
    return boxes


def _runs(line: tuple[bool, ...]) -> list[tuple[int, int]]:
    """Return the start and length of each run of black modules in a line of a tag."""
    starts = [i for i, black in enumerate(line) if black and (i == 0 or not line[i - 1])]
    whites = [i for i, black in enumerate(line) if not black]
    return [(start, min((i for i in whites if i > start), default=len(line)) - start) for start in starts]


def _bar(left: float, y: float) -> list[Box]:
    """Return the bar with a tick every 10 mm; the outer ticks are centred on its ends."""
    boxes = [Box(left - _HAIR / 2, y - _HAIR / 2, card.BAR + _HAIR, _HAIR)]
    count = round(card.BAR / (10 * MM))
    for i in range(count + 1):
        half = (2.5 if i in (0, count) else 1.6 if 2 * i == count else 1.0) * MM
        x = left + card.BAR * i / count - _HAIR / 2
        boxes.append(Box(x, y - half, _HAIR, half - _HAIR / 2))
        boxes.append(Box(x, y + _HAIR / 2, _HAIR, half - _HAIR / 2))
    return boxes


def _cut_line(paper: str, bottom: float) -> tuple[Box, ...]:
    """Return the four sides of the cut line."""
    left = strips_origin(paper)[0] - QUIET
    width, top = card.width() + 2 * QUIET, MARGIN
    return (
        Box(left, top, width, _HAIR),
        Box(left, bottom - _HAIR, width, _HAIR),
        Box(left, top + _HAIR, _HAIR, bottom - top - 2 * _HAIR),
        Box(left + width - _HAIR, top + _HAIR, _HAIR, bottom - top - 2 * _HAIR),
    )


def _this_side_up(paper: str) -> tuple[tuple[tuple[float, float], ...], Text]:
    """Return the arrow and its words, above the left strip and so out of the fly's way."""
    x, bottom = strips_origin(paper)[0], TOP - QUIET
    arrow = ((x, bottom), (x + 5 * MM, bottom), (x + 2.5 * MM, bottom - 4 * MM))
    return arrow, Text(x + 7 * MM, bottom - 0.3 * MM, 3.4 * MM, "this side up")
