"""A price list drawn as PDF: a line for each fly, as many pages as it takes, the price at the right edge."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from flybench.errors import BadValueError
from flybench.paper.drawing import AUTHOR, POINT
from flybench.paper.kept_photo import opened_photo
from flybench.paper.label.label_paper import PAPERS
from flybench.paper.label.typesetting import LEAST_TYPE, Typesetter

_MARGIN: Final = 50.0
"""Blank edge of the page [pt]: room for the holes of a file (judgement)."""
_TITLE, _NORMAL, _SMALL = 18.0, 10.5, 8.5
"""Sizes of letters [pt]: the list is read at arm's length (judgement)."""
_ROW = 17.0
"""From one fly to the next [pt]."""
_PICTURE = (72.0, 40.5)
"""Width and height of a picture beside its fly [pt]: an inch wide (judgement)."""
_GAP = 10.0
"""Between two columns [pt]."""
_SHARES = (0.22, 0.22, 0.26, 0.16, 0.14)
"""Parts of the page's width for name, code, what it is tied on, speed and price (judgement)."""


@dataclass(frozen=True)
class PricePage:
    """What stands on a price list: the title, a line below it, heads, a row of texts for each fly, and the small print.

    pictures, a JPEG for each row or None, or none at all: rows are as tall as a picture where there are any.
    """

    title: str
    below: str
    heads: Sequence[str]
    rows: Sequence[Sequence[str]]
    small_print: str
    pictures: Sequence[bytes | None] = ()


def save_price_list(page: PricePage, path: Path, paper: str) -> int:
    """Write the pages; returns how many there are.

    Raises BadValueError for an unknown paper, for a sign that no font has, and for a picture that is damaged.
    """
    if paper not in ("a4", "letter"):
        raise BadValueError("paper", f'"{paper}" is not known', "Use a4 or letter.")
    _refuse_damaged(page)
    width, height = (side / POINT for side in PAPERS[paper])
    canvas = Canvas(str(path), pagesize=(width, height), invariant=1)
    canvas.setTitle(page.title)
    canvas.setAuthor(AUTHOR)
    indent, tall = (_PICTURE[0] + _GAP, _PICTURE[1] + 6.0) if any(page.pictures) else (0.0, _ROW)
    pen = _Pen(canvas, width - 2 * _MARGIN, indent, page.rows)
    room = int((height - 2 * _MARGIN - 4.5 * _ROW) / tall)
    parts = [range(start, min(start + room, len(page.rows))) for start in range(0, len(page.rows), room)]
    for number, places in enumerate(parts, 1):
        y = height - _MARGIN - _TITLE
        pen.write(_MARGIN, y, page.title, _TITLE, pen.width, bold=True)
        pen.write(_MARGIN, y - _ROW, page.below, _NORMAL, pen.width)
        y -= 2.4 * _ROW
        pen.row(page.heads, y, bold=True)
        canvas.setLineWidth(0.8)
        canvas.setStrokeGray(0.0)
        canvas.line(_MARGIN, y - 5, _MARGIN + pen.width, y - 5)
        canvas.setLineWidth(0.25)
        canvas.setStrokeGray(0.6)
        for place in places:
            y -= tall
            pen.row(page.rows[place], y + (tall - _ROW) / 2)
            if indent and page.pictures[place] is not None:
                pen.picture(page.pictures[place] or b"", y - 2.0)
            canvas.line(_MARGIN, y - 5, _MARGIN + pen.width, y - 5)
        pen.write(_MARGIN, _MARGIN - _ROW / 2, page.small_print, _SMALL, 0.8 * pen.width)
        pen.write(
            _MARGIN + pen.width, _MARGIN - _ROW / 2, f"{number} of {len(parts)}", _SMALL, 60.0, align=1.0
        )
        canvas.showPage()
    canvas.save()
    return len(parts)


def _refuse_damaged(page: PricePage) -> None:
    for row, content in zip(page.rows, page.pictures, strict=False):
        if content is not None and opened_photo(content) is None:
            cure = "Look for damage with flybench catalog check, or leave --photos out"
            raise BadValueError("--photos", f"the photo of {row[1]} is damaged", cure)


class _Pen:
    """Writes lines in faces that have their signs, shrunk or shortened to the room that they have."""

    def __init__(self, canvas: Canvas, width: float, indent: float, rows: Sequence[Sequence[str]]) -> None:
        """Take the width of the lines and the indent of the names [pt], and the rows, which tell each column's type size."""
        self.canvas, self.width, self.indent, self.setter = canvas, width, indent, Typesetter()
        room = [share * (width - indent) - _GAP for share in _SHARES]
        self.sizes = [
            self._size(texts, part) for texts, part in zip(zip(*rows, strict=True), room, strict=True)
        ]

    def _size(self, texts: Sequence[str], room: float) -> float:
        """Return the type size in which all texts of a column fit [pt]; the least that can be read where none is."""
        widest = max(self.setter.line(text, False).width for text in texts)
        return max(LEAST_TYPE, min(_NORMAL, room / widest)) if widest else _NORMAL

    def picture(self, content: bytes, y: float) -> None:
        """Draw a picture at the left edge, as large as it fits; y is its lower edge."""
        self.canvas.drawImage(
            ImageReader(io.BytesIO(content)), _MARGIN, y, *_PICTURE, preserveAspectRatio=True, anchor="c"
        )

    def row(self, texts: Sequence[str], y: float, bold: bool = False) -> None:
        """Write the cells of a row; the price, which is the last, ends at the right edge."""
        x, width = _MARGIN + self.indent, self.width - self.indent
        sizes = [_NORMAL] * len(texts) if bold else self.sizes
        for text, share, size in zip(texts[:-1], _SHARES, sizes, strict=False):
            self.write(x, y, text, size, share * width - _GAP, bold)
            x += share * width
        self.write(_MARGIN + self.width, y, texts[-1], sizes[-1], _SHARES[-1] * width, bold, 1.0)

    def write(
        self, x: float, y: float, text: str, size: float, room: float, bold: bool = False, align: float = 0.0
    ) -> None:
        """Write one line; ``align`` is its part left of x, ``room`` what it is shrunk to and then cut."""
        block = self.setter.shrunk(text, bold, size, room)
        if block is None:
            return
        for line in block.lines:
            x -= align * line.width * block.size
            for face, words in line.runs:
                self.canvas.setFont(face.name, block.size)
                self.canvas.drawString(x, y, words)
                x += self.canvas.stringWidth(words, face.name, block.size)
