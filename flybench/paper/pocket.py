"""The pocket page drawn as PDF: four upright panels, to be folded twice; black on white, big at the water."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from reportlab.pdfgen.canvas import Canvas

from flybench.errors import BadValueError
from flybench.paper.drawing import AUTHOR, POINT
from flybench.paper.label.label_paper import PAPERS
from flybench.paper.label.typesetting import Typesetter
from flybench.paper.pocket_words import PocketCell, PocketPage

_MARGIN: Final = 22.0
"""Blank edge of each panel [pt]: wider than printers leave out, and clear of the folds (judgement)."""
_TITLE, _BIG, _NORMAL, _SMALL = 14.0, 13.0, 11.0, 9.0
"""Sizes of letters [pt]: the big ones are read at arm's length (judgement)."""
_ROW = 13.5
"""From one fly of the ladder to the next [pt]."""
_LEAST = 7.0
"""Smallest letters that are still printed [pt] (judgement)."""
_DEPTH_ROOM, _WEIGHT_ROOM = 50.0, 88.0
"""Widths of the columns of depths and of weights [pt]."""
_CELL = 8.0
"""Smallest letters of a table that stands in one panel [pt] (judgement)."""
_GAP = 6.0
"""Blank beside the words of a column [pt]."""
_LINE, _FEWEST_LINES = 22.0, 4
"""From one line to write on to the next [pt], and the fewest that are worth their heading (judgement)."""
_RECORDED = ("water", "point", "drifts", "touched", "seconds")
"""What ``flybench rig adjust`` asks of drifts."""


@dataclass(frozen=True)
class _Panel:
    """A part of the page within its margins [pt]."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def top(self) -> float:
        return self.y + self.height


def save_pocket(page: PocketPage, path: Path, paper: str) -> int:
    """Write the page; returns how many flies of the ladder did not find room.

    Raises BadValueError for an unknown paper, a sign that no font has, and small print that does not fit.
    """
    if paper not in ("a4", "letter"):
        raise BadValueError("paper", f'"{paper}" is not known', "Use a4 or letter.")
    width, height = (side / POINT for side in PAPERS[paper])
    canvas = Canvas(str(path), pagesize=(width, height), invariant=1)
    canvas.setTitle("Pocket page")
    canvas.setAuthor(AUTHOR)
    canvas.setViewerPreference("PrintScaling", "None")
    pen = _Pen(canvas)
    _folds(canvas, width, height)
    left = _panels(pen, page, width, height)
    canvas.showPage()
    canvas.save()
    return left


def _panels(pen: _Pen, page: PocketPage, width: float, height: float) -> int:
    """Draw the four panels: flies, cautions, and below them the table of waters, over both panels where one is too narrow;
    returns how many flies did not find room."""
    upper_left, upper_right, lower_left, lower_right = (
        _Panel(x + _MARGIN, y + _MARGIN, width / 2 - 2 * _MARGIN, height / 2 - 2 * _MARGIN)
        for y in (height / 2, 0.0)
        for x in (0.0, width / 2)
    )
    left, below = _ladder(pen, page, upper_left)
    written = _record(pen, upper_left, below)
    care, marks = ("Take care", page.cautions), ("Marks", page.notes)
    reading, holds_for = ("How to use it", page.reading), ("This holds for", page.holds_for)
    every = range(len(page.speeds))
    if _fits(pen, page, lower_left):
        _small_print(pen, [care, holds_for], upper_right)
        _water(pen, page, lower_left, every, "Point fly, and where to land it")
        below = _small_print(pen, [reading, marks], lower_right)
        if not written:
            _record(pen, lower_right, below)
        return left
    _small_print(pen, [care, reading, marks, holds_for], upper_right)
    first = -(-len(page.speeds) // 2)
    _water(pen, page, lower_left, every[:first], "Point fly, and where to land it")
    _water(pen, page, lower_right, every[first:], "The same, in faster water")
    return left


class _Pen:
    """Writes lines in faces that have their signs."""

    def __init__(self, canvas: Canvas) -> None:
        self.canvas, self.setter = canvas, Typesetter()

    def write(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        bold: bool = False,
        align: float = 0.0,
        room: float = 0.0,
    ) -> None:
        """Write a line; ``align`` is its part left of x, ``room`` what it is shrunk to.

        Raises BadValueError where it would be smaller than small print.
        """
        line = self.setter.line(text, bold)
        if room:
            size = self.size(text, size, bold, room)
        if size < _LEAST:
            raise BadValueError(
                "pocket page",
                f'"{text}" is too long to be readable',
                "Use --text, or give the fly a shorter code.",
            )
        x -= align * line.width * size
        for face, words in line.runs:
            self.canvas.setFont(face.name, size)
            self.canvas.drawString(x, y, words)
            x += self.canvas.stringWidth(words, face.name, size)

    def size(self, text: str, size: float, bold: bool, room: float) -> float:
        """Return the size at which a text fits."""
        return min(size, room / max(self.setter.line(text, bold).width, 1e-6))

    def wrapped(self, text: str, size: float, room: float) -> list[str]:
        """Return a text in lines no wider than there is room."""
        lines = [""]
        for word in text.split():
            longer = f"{lines[-1]} {word}".strip()
            if self.setter.line(longer, False).width * size <= room or not lines[-1]:
                lines[-1] = longer
            else:
                lines.append(word)
        return lines


def _folds(canvas: Canvas, width: float, height: float) -> None:
    canvas.setDash(2, 3)
    canvas.setLineWidth(0.4)
    canvas.line(0, height / 2, width, height / 2)
    canvas.line(width / 2, 0, width / 2, height)
    canvas.setDash()


def _fits(pen: _Pen, page: PocketPage, panel: _Panel) -> bool:
    """Tell whether the whole table can be read in one panel: no word of it is very small."""
    room = (panel.width - _DEPTH_ROOM) / len(page.speeds) - _GAP
    heads = [(text, True) for text in page.speeds]
    cells = [(text, not row) for cell in page.cells for row, text in enumerate(cell.words(apart=True))]
    return all(pen.size(text, _BIG, bold, room) >= _CELL for text, bold in [*heads, *cells])


def _water(pen: _Pen, page: PocketPage, panel: _Panel, columns: range, title: str) -> None:
    """Draw some speeds of the table, one column each, with all depths; no column lies on a fold."""
    if not columns:
        return
    head = panel.top - _TITLE
    pen.write(panel.x, head, title, _TITLE, bold=True, room=panel.width)
    head -= 24
    wide = (panel.width - _DEPTH_ROOM) / len(columns)
    pen.write(panel.x, head, "surface", _SMALL)
    high = (head - 10 - panel.y) / len(page.depths)
    pen.canvas.setLineWidth(0.6)
    for place, column in enumerate(columns):
        edge = panel.x + _DEPTH_ROOM + place * wide
        pen.canvas.line(edge, head + _BIG, edge, panel.y)
        pen.write(edge + wide / 2, head, page.speeds[column], _BIG, bold=True, align=0.5, room=wide - _GAP)
        for row in range(len(page.depths)):
            middle = head - 10 - (row + 0.5) * high
            cell = page.cells[row * len(page.speeds) + column]
            _cell(pen, cell, edge + wide / 2, middle, wide - _GAP, high - 6)
    for row, depth in enumerate(page.depths):
        y = head - 10 - row * high
        pen.canvas.line(panel.x, y, panel.right, y)
        pen.write(panel.x, y - high / 2 - 4, depth, _BIG, bold=True, room=_DEPTH_ROOM - 4)


def _cell(pen: _Pen, cell: PocketCell, centre: float, middle: float, room: float, high: float) -> None:
    """Draw a cell; a code too long to stand readable beside its distance stands above it."""
    lines = cell.words()
    if min(pen.size(text, _BIG, True, room) for text in lines) < _NORMAL:
        lines = cell.words(apart=True)
    step = min(16.0, high / len(lines))
    y = middle + (len(lines) - 1) * step / 2 - 4
    for number, text in enumerate(lines):
        bold = number == 0 and bool(cell.choices)
        size = min(_BIG if number == 0 else _NORMAL, step)
        pen.write(centre, y, text, size, bold=bold, align=0.5, room=room)
        y -= step


def _ladder(pen: _Pen, page: PocketPage, panel: _Panel) -> tuple[int, float]:
    """Draw the flies of the box, the slowest first; return how many found no room, those that the table names going first,
    and where the ladder ends [pt]."""
    x, y, right = panel.x, panel.top - _TITLE, panel.right
    pen.write(x, y, "Flies of the box", _TITLE, bold=True)
    y -= 14
    pen.write(right - _WEIGHT_ROOM, y, "sinks, cm/s (± is k = 2)", _SMALL, align=1.0)
    pen.write(right, y, "weighs in water, g", _SMALL, align=1.0, room=_WEIGHT_ROOM - 8)
    rows = int((y - panel.y) // _ROW)
    shown = list(page.rows)
    if len(shown) > rows:
        named = {code for cell in page.cells for code, _ in cell.choices}
        by_need = sorted(range(len(shown)), key=lambda place: (shown[place].code not in named, place))
        shown = [shown[place] for place in sorted(by_need[: rows - 1])]
    left = len(page.rows) - len(shown)
    for one in shown:
        y -= _ROW
        pen.write(x, y, one.code, _NORMAL, room=panel.width - _WEIGHT_ROOM - 70)
        pen.write(right - _WEIGHT_ROOM, y, " ± ".join(one.speed_words), _NORMAL, align=1.0)
        pen.write(right, y, one.weight_words, _NORMAL, align=1.0)
    if left:
        more = "1 more fly is" if left == 1 else f"{left} more flies are"
        pen.write(x, y - _ROW, f"{more} left out", _NORMAL, room=panel.width)
        y -= _ROW
    return left, y


def _record(pen: _Pen, panel: _Panel, below: float) -> bool:
    """Draw lines to write on below a height [pt], for what the drifts did; return whether there was room for some."""
    y = below - 2 * _TITLE - 6
    lines = int((y - _SMALL - 6 - panel.y) // _LINE)
    if lines < _FEWEST_LINES:
        return False
    pen.write(panel.x, y, "What the drifts did", _TITLE, bold=True, room=panel.width)
    y -= _SMALL + 6
    wide = panel.width / len(_RECORDED)
    for place, what in enumerate(_RECORDED):
        pen.write(panel.x + place * wide, y, what, _SMALL, room=wide - 4)
    pen.canvas.setLineWidth(0.4)
    for number in range(1, lines + 1):
        for place in range(len(_RECORDED)):
            left = panel.x + place * wide
            pen.canvas.line(left, y - number * _LINE, left + wide - 6, y - number * _LINE)
    return True


def _small_print(pen: _Pen, blocks: Sequence[tuple[str, Sequence[str]]], panel: _Panel) -> float:
    """Write blocks of texts under their titles, as large as there is room; return where they end [pt]."""
    for size in (_BIG, 12.0, _NORMAL, 10.0, 9.5, _SMALL, 8.5, 8.0, 7.5, _LEAST):
        lines = _set(pen, [block for block in blocks if block[1]], size, panel.width)
        if sum(step for step, _, _ in lines) <= panel.height:
            break
    else:
        raise BadValueError(
            "pocket page", "what it holds for is too long to print", "Give shorter texts for the options."
        )
    y = panel.top
    for step, text, bold in lines:
        y -= step
        pen.write(panel.x, y, text, _TITLE if bold else size, bold=bold, room=panel.width)
    return y


def _set(
    pen: _Pen, blocks: Sequence[tuple[str, Sequence[str]]], size: float, room: float
) -> list[tuple[float, str, bool]]:
    """Return lines with the step down to each [pt], and whether it is a heading."""
    lines: list[tuple[float, str, bool]] = []
    for title, texts in blocks:
        lines.append((_TITLE + (8 if lines else 0), title, True))
        for text in texts:
            for number, line in enumerate(pen.wrapped(text, size, room)):
                lines.append((size * 1.2 + (0 if number else 4), line, False))
    return lines
