"""The proof page of a label paper: printed on plain paper and held against the labels and a ruler."""

from __future__ import annotations

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from flybench.paper.drawing import POINT
from flybench.paper.label.label_paper import MM, Area, LabelPaper
from flybench.paper.label.typefaces import own_faces

BAR = 100 * MM
"""Length of the bar that checks the printer's scale [m]; half of it on paper too narrow for it."""
_HAIR = 0.1 * MM
"""Width of the outlines [m]; judgement: seen, and thinner than what is measured."""
_CROSS = 2.5 * MM
"""Half the length of a cross's lines [m]; judgement."""
_LETTER = 6.5
"""Type size of the words and numbers [points]; judgement."""


def draw_proof(canvas: Canvas, paper: LabelPaper) -> None:
    """Draw edges, safe areas and numbers of all labels, crosses on the corner labels and the bar."""
    plain = own_faces()[0][0].name
    canvas.setLineWidth(_HAIR / POINT)
    for number in range(paper.per_page):
        canvas.setStrokeGray(0.0)
        _outline(canvas, paper, paper.place(number))
        canvas.setStrokeGray(0.6)
        canvas.setDash(1.5, 1.5)
        _outline(canvas, paper, paper.safe(number))
        canvas.setDash()
        safe = paper.safe(number)
        canvas.setFont(plain, _LETTER)
        canvas.setFillGray(0.35)
        canvas.drawString(safe.x / POINT + 2, _up(paper, safe.y) - 1.2 * _LETTER, str(number + 1))
    canvas.setStrokeGray(0.0)
    canvas.setFillGray(0.0)
    apart = _crosses(canvas, paper)
    _bar(canvas, paper, plain, apart)


def crosses(paper: LabelPaper) -> tuple[tuple[float, float], ...]:
    """Return the middles of the four corner labels [m]."""
    last = paper.per_page - 1
    corners = (0, paper.columns - 1, last - paper.columns + 1, last)
    areas = [paper.place(number) for number in dict.fromkeys(corners)]
    return tuple((area.x + area.width / 2, area.y + area.height / 2) for area in areas)


def _crosses(canvas: Canvas, paper: LabelPaper) -> str:
    """Draw the crosses and return how far they are apart, as words."""
    places = crosses(paper)
    for x, y in places:
        canvas.line((x - _CROSS) / POINT, _up(paper, y), (x + _CROSS) / POINT, _up(paper, y))
        canvas.line(x / POINT, _up(paper, y - _CROSS), x / POINT, _up(paper, y + _CROSS))
    (left, top), (right, bottom) = places[0], places[-1]
    return f"Crosses are {(right - left) / MM:.1f} mm apart across and {(bottom - top) / MM:.1f} mm down."


def bar(paper: LabelPaper) -> tuple[float, float, float]:
    """Return the left end, the height on the page and the length of the bar [m]."""
    length = BAR if paper.page_width >= BAR + 30 * MM else BAR / 2
    return (paper.page_width - length) / 2, paper.page_height / 2, length


def _bar(canvas: Canvas, paper: LabelPaper, plain: str, apart: str) -> None:
    """Draw the bar with a tick every 10 mm and what to do with it, on white."""
    left, y, length = bar(paper)
    words = (
        f"This bar is {length / MM:.0f} mm long. Print at 100 %, without fitting to the page, and measure it.",
        apart,
        "Print this page on plain paper first, and hold it against the label paper.",
    )
    widest = max(pdfmetrics.stringWidth(line, plain, _LETTER) for line in words) * POINT
    half = max(length, widest) / 2 + 3 * MM
    middle = paper.page_width / 2
    canvas.setFillGray(1.0)
    box = ((middle - half) / POINT, _up(paper, y + 13 * MM), 2 * half / POINT, 18 * MM / POINT)
    canvas.rect(*box, stroke=1, fill=1)
    canvas.setFillGray(0.0)
    canvas.setLineWidth(2 * _HAIR / POINT)
    canvas.line(left / POINT, _up(paper, y), (left + length) / POINT, _up(paper, y))
    count = round(length / (10 * MM))
    for tick in range(count + 1):
        x = left + length * tick / count
        tall = (2.5 if tick in (0, count) else 1.2) * MM
        canvas.line(x / POINT, _up(paper, y - tall), x / POINT, _up(paper, y + tall))
    canvas.setFont(plain, _LETTER)
    for number, line in enumerate(words):
        canvas.drawCentredString(middle / POINT, _up(paper, y + (5.2 + 3.0 * number) * MM), line)


def _outline(canvas: Canvas, paper: LabelPaper, area: Area) -> None:
    """Draw the four sides of an area."""
    low = _up(paper, area.y + area.height)
    canvas.rect(area.x / POINT, low, area.width / POINT, area.height / POINT, stroke=1, fill=0)


def _up(paper: LabelPaper, y: float) -> float:
    """Return the PDF's own height of a place: upwards from the foot of the page [points]."""
    return (paper.page_height - y) / POINT
