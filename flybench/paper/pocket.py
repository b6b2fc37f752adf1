"""The pocket sheet as PDF: one page in four panels, to be folded twice; black on white, big at the water."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from reportlab.lib.utils import simpleSplit
from reportlab.pdfbase.pdfmetrics import registerFont, stringWidth
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from flybench.errors import BadValueError
from flybench.paper.drawing import AUTHOR, POINT
from flybench.paper.label_papers import PAPERS

_PLAIN, _BOLD = "PocketSans", "PocketSans-Bold"
_MARGIN: Final = 22.0
_TITLE, _BIG, _NORMAL, _SMALL = 15.0, 13.0, 11.0, 9.0


@dataclass(frozen=True)
class PocketRung:
    """A fly: free-water sink speed with its expanded uncertainty, k = 2 [m/s], weight in water [N]."""

    code: str
    speed: float
    expanded: float
    weight: float


@dataclass(frozen=True)
class PocketCell:
    """Point flies for one water, the best first, none where none reaches; way upstream to land [m]; how surely."""

    flies: tuple[str, ...]
    landed: float | None
    in_time: float


@dataclass(frozen=True)
class PocketPage:
    """All that stands on the sheet; cells by depth, then by speed."""

    rungs: Sequence[PocketRung]
    depths: Sequence[str]
    speeds: Sequence[str]
    cells: Sequence[PocketCell]
    assumed: Sequence[str]
    cautions: Sequence[str]


def save_pocket(page: PocketPage, path: Path, paper: str) -> int:
    """Write the sheet; returns how many flies of the ladder did not find room. Raises BadValueError for no paper."""
    if paper not in ("a4", "letter"):
        raise BadValueError("paper", f'"{paper}" is not known', "Use a4 or letter.")
    _register()
    width, height = (side / POINT for side in PAPERS[paper])
    canvas = Canvas(str(path), pagesize=(width, height), invariant=1)
    canvas.setTitle("Pocket sheet")
    canvas.setAuthor(AUTHOR)
    _folds(canvas, width, height)
    _water(canvas, page, _Panel(0, height / 2, width, height / 2))
    left = _ladder(canvas, page, _Panel(0, 0, width / 2, height / 2))
    _small_print(canvas, page, _Panel(width / 2, 0, width / 2, height / 2))
    canvas.showPage()
    canvas.save()
    return left


@dataclass(frozen=True)
class _Panel:
    """A part of the sheet [pt]."""

    x: float
    y: float
    width: float
    height: float

    @property
    def top(self) -> float:
        return self.y + self.height - _MARGIN


def _register() -> None:
    from matplotlib import get_data_path  # brings DejaVu Sans, free to embed

    folder = Path(get_data_path()) / "fonts" / "ttf"
    registerFont(TTFont(_PLAIN, folder / "DejaVuSans.ttf"))
    registerFont(TTFont(_BOLD, folder / "DejaVuSans-Bold.ttf"))


def _folds(canvas: Canvas, width: float, height: float) -> None:
    canvas.setDash(2, 3)
    canvas.setLineWidth(0.4)
    canvas.line(0, height / 2, width, height / 2)
    canvas.line(width / 2, 0, width / 2, height / 2)
    canvas.setDash()


def _water(canvas: Canvas, page: PocketPage, panel: _Panel) -> None:
    """Draw the table of depths and speeds over the upper half."""
    x, top = panel.x + _MARGIN, panel.top - _TITLE
    canvas.setFont(_BOLD, _TITLE)
    canvas.drawString(x, top, "Point fly, and how far upstream to land it")
    first = 62.0
    wide = (panel.width - 2 * _MARGIN - first) / len(page.speeds)
    head = top - 30
    canvas.setFont(_PLAIN, _NORMAL)
    canvas.drawString(x, head, "surface")
    for number, speed in enumerate(page.speeds):
        canvas.setFont(_BOLD, _BIG)
        canvas.drawCentredString(x + first + (number + 0.5) * wide, head, speed)
    high = (head - 14 - panel.y - _MARGIN) / len(page.depths)
    for row, depth in enumerate(page.depths):
        y = head - 14 - row * high
        canvas.setLineWidth(0.6)
        canvas.line(x, y, panel.x + panel.width - _MARGIN, y)
        canvas.setFont(_BOLD, _BIG)
        canvas.drawString(x, y - high / 2 - 4, depth)
        for number in range(len(page.speeds)):
            cell = page.cells[row * len(page.speeds) + number]
            _cell(canvas, cell, x + first + (number + 0.5) * wide, y - high / 2, wide - 8)


def _cell(canvas: Canvas, cell: PocketCell, centre: float, middle: float, room: float) -> None:
    lines = [(_BOLD, cell.flies[0])] if cell.flies else [(_PLAIN, "none reaches")]
    lines += [(_PLAIN, f"or {code}") for code in cell.flies[1:]]
    if cell.landed is not None:
        lines.append((_PLAIN, f"{cell.landed:g} m"))
    y = middle + (len(lines) - 1) * 8 - 4
    for font, text in lines:
        size = _fitting(text, font, _BIG, room)
        canvas.setFont(font, size)
        canvas.drawCentredString(centre, y, text)
        y -= 16


def _fitting(text: str, font: str, size: float, room: float) -> float:
    """Return a size at which a text fits, never below small print."""
    fitted: float = max(min(size, size * room / max(stringWidth(text, font, size), 1.0)), 7.0)
    return fitted


def _ladder(canvas: Canvas, page: PocketPage, panel: _Panel) -> int:
    """Draw the ladder, the slowest first; returns how many found no room."""
    x, y = panel.x + _MARGIN, panel.top - _NORMAL
    right = panel.x + panel.width - _MARGIN
    canvas.setFont(_BOLD, _BIG)
    canvas.drawString(x, y, "Ladder")
    canvas.setFont(_PLAIN, _SMALL)
    canvas.drawRightString(right, y, "cm/s (k = 2)      mN")
    rows = int((y - panel.y - _MARGIN - 6) // 15)
    shown = page.rungs[:rows]
    for one in shown:
        y -= 15
        canvas.setFont(_PLAIN, _fitting(one.code, _PLAIN, _NORMAL, 105))
        canvas.drawString(x, y, one.code)
        canvas.setFont(_PLAIN, _NORMAL)
        canvas.drawRightString(right - 42, y, f"{one.speed * 100:.0f} ± {one.expanded * 100:.0f}")
        canvas.drawRightString(right, y, f"{one.weight * 1e3:.1f}")
    return len(page.rungs) - len(shown)


def _small_print(canvas: Canvas, page: PocketPage, panel: _Panel) -> None:
    x, y = panel.x + _MARGIN, panel.top - _NORMAL
    room = panel.width - 2 * _MARGIN
    for title, lines in (("Take care", page.cautions), ("Holds for", page.assumed)):
        canvas.setFont(_BOLD, _BIG)
        canvas.drawString(x, y, title)
        y -= 18
        for text in lines:
            for line in simpleSplit(text, _PLAIN, _NORMAL, room):
                canvas.setFont(_PLAIN, _NORMAL)
                canvas.drawString(x, y, line)
                y -= 14
            y -= 4
        y -= 12
