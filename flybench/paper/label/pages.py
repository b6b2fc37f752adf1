"""Label pages as PDF: one label a fly, true to scale, and a proof page to check the printer with."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path

from reportlab.pdfgen.canvas import Canvas

from flybench.errors import BadValueError
from flybench.paper.drawing import AUTHOR, POINT
from flybench.paper.label.content import Label, Speed
from flybench.paper.label.layout import lay_out
from flybench.paper.label.marks import Frame, LaidOut, QrMark, SetLine
from flybench.paper.label.proof import draw_proof
from flybench.paper.label.qr import black_runs
from flybench.paper.label.sheet import LabelSheet
from flybench.paper.label.text import Typesetter

__all__ = ["Label", "Speed", "label_notes", "save_labels"]

_ROUND = 0.12
_DASH = (2.0, 1.4)
_OUTLINE = 0.9


def save_labels(
    labels: Sequence[Label],
    sheet: LabelSheet,
    path: Path,
    *,
    skip: int = 0,
    outlines: bool = False,
    title: str = "Labels",
    font: Path | None = None,
) -> int:
    """Write the labels as PDF and return the number of pages.

    ``skip`` labels of the first sheet are used up already; ``outlines`` puts a proof page, for plain
    paper, before the labels; ``font`` is a TrueType file for signs that the built-in face lacks.
    Raises BadValueError, and writes nothing, where a label does not fit, a sign has no face or there is
    nothing to print. Say ``label_notes`` to the user.
    """
    if not labels and not outlines:
        raise BadValueError("labels", "there are none to print", "Name flies, or ask for the proof page.")
    if not 0 <= skip < sheet.per_page:
        limit = f"0 to {sheet.per_page - 1}"
        raise BadValueError("skip", f"{skip} is outside {limit}", f"A sheet holds {sheet.per_page} labels.")
    laid = _laid_out(tuple(labels), sheet, font)
    buffer = io.BytesIO()
    canvas = _canvas(buffer, sheet, title)
    if outlines:
        draw_proof(canvas, sheet)
        canvas.showPage()
    for number, label in enumerate(labels, start=skip):
        if number % sheet.per_page == 0 and number > skip:
            canvas.showPage()
        _draw(canvas, sheet, number, laid[label])
    if labels:
        canvas.showPage()
    canvas.save()
    path.write_bytes(buffer.getvalue())
    return (-(-(skip + len(labels)) // sheet.per_page) if labels else 0) + outlines


def label_notes(labels: Sequence[Label], sheet: LabelSheet, font: Path | None = None) -> tuple[str, ...]:
    """Return, as sentences, what had no room and which signs the PDF leaves to its viewer's typefaces."""
    notes = []
    borrowed: dict[str, None] = {}
    for label, laid in _laid_out(tuple(labels), sheet, font).items():
        if laid.left_out:
            notes.append(f"{label.code}: no room for {', '.join(laid.left_out)}.")
        if laid.shortened:
            notes.append(f"{label.code}: shortened {', '.join(laid.shortened)}.")
        runs = (run for line in laid.lines for run in line.line.runs)
        borrowed.update({sign: None for face, words in runs if not face.embedded for sign in words})
    if borrowed:
        signs = "".join(borrowed)
        shown = signs if len(signs) <= 20 else f"{signs[:20]}…"
        notes.append(
            f"The PDF does not hold the shapes of {shown}: a viewer or printer without such a typeface shows "
            "empty boxes or nothing. Look before you print, or give a TrueType font with --font FILE."
        )
    return tuple(notes)


@lru_cache(maxsize=1)
def _laid_out(labels: tuple[Label, ...], sheet: LabelSheet, font: Path | None) -> Mapping[Label, LaidOut]:
    """Return each different label laid out; kept, since pages and notes are asked for one after the other."""
    setter = Typesetter(font)
    safe = sheet.safe(0)
    size = (safe.width / POINT, safe.height / POINT)
    return {label: lay_out(label, *size, setter) for label in dict.fromkeys(labels)}


def _canvas(buffer: io.BytesIO, sheet: LabelSheet, title: str) -> Canvas:
    """Return an empty PDF that asks its viewer not to scale it when printing."""
    size = (sheet.page_width / POINT, sheet.page_height / POINT)
    canvas = Canvas(buffer, pagesize=size, pageCompression=1, invariant=1)
    canvas.setTitle(title)
    canvas.setSubject(title)
    canvas.setAuthor(AUTHOR)
    canvas.setCreator(AUTHOR)
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


def _draw(canvas: Canvas, sheet: LabelSheet, number: int, laid: LaidOut) -> None:
    """Draw one label into its place."""
    safe = sheet.safe(number)
    canvas.saveState()
    canvas.translate(safe.x / POINT, (sheet.page_height - safe.y) / POINT)
    if laid.frame is not None:
        _draw_frame(canvas, laid.frame)
    for line in laid.lines:
        _draw_line(canvas, line)
    if laid.qr is not None:
        _draw_qr(canvas, laid.qr)
    canvas.restoreState()


def _draw_frame(canvas: Canvas, frame: Frame) -> None:
    """Draw the band's box: black for a measured fly, a dashed outline for a predicted one."""
    canvas.setFillGray(0.0)
    inset = 0.0 if frame.filled else _OUTLINE / 2
    if not frame.filled:
        canvas.setLineWidth(_OUTLINE)
        canvas.setDash(*_DASH)
    sides = (frame.width - 2 * inset, frame.height - 2 * inset)
    corner = _ROUND * min(sides)
    place = (frame.x + inset, -frame.y - frame.height + inset)
    canvas.roundRect(*place, *sides, corner, stroke=int(not frame.filled), fill=int(frame.filled))
    canvas.setDash()


def _draw_line(canvas: Canvas, line: SetLine) -> None:
    """Draw a line of text, run by run."""
    canvas.setFillGray(1.0 if line.white else 0.0)
    x = line.x
    for face, words in line.line.runs:
        canvas.setFont(face.name, line.size)
        canvas.drawString(x, -line.y, words)
        x += canvas.stringWidth(words, face.name, line.size)


def _draw_qr(canvas: Canvas, mark: QrMark) -> None:
    """Fill all black modules as one path, so that no hairlines open between them."""
    path = canvas.beginPath()
    for row, column, length in black_runs(mark.grid):
        x, y = mark.x + column * mark.module, mark.y + row * mark.module
        path.rect(x, -y - mark.module, length * mark.module, mark.module)
    canvas.setFillGray(0.0)
    canvas.drawPath(path, stroke=0, fill=1)
