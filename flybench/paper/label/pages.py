"""Label pages as PDF: one label a fly, true to scale, and a proof page to check the printer with."""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from flybench.errors import BadValueError
from flybench.paper.drawing import AUTHOR, POINT
from flybench.paper.label.content import Label
from flybench.paper.label.label_paper import LabelPaper
from flybench.paper.label.layout import lay_out_sheet
from flybench.paper.label.marks import Frame, LaidOut, QrMark, SetLine, black_runs
from flybench.paper.label.photo_place import with_photos
from flybench.paper.label.proof import draw_proof
from flybench.paper.label.typesetting import Typesetter

_ROUND = 0.12
"""Radius of the box's corners, as a share of its shorter side; judgement."""
_DASH = (2.0, 1.4)
"""Lengths of a dash and of the blank after it [points]; judgement."""
_OUTLINE = 0.9
"""Width of the dashed line [points]; judgement."""


_CUT_GREY, _CUT_LINE, _CUT_SHARE = 0.35, 0.4, 0.8
"""Cut marks: their grey, the width of their lines [points], and their length as a share of the white along a label's edge;
judgement."""


@dataclass(frozen=True)
class PrintedLabels:
    """What was written: how many labels on how many pages, and what of them had no room, by code of the label."""

    count: int
    pages: int
    left_out: Mapping[str, tuple[str, ...]]
    """Parts of a label that are not on it."""
    shortened: Mapping[str, tuple[str, ...]]
    """Parts of a label that end in an ellipsis."""
    borrowed: str
    """Signs whose shapes the PDF leaves to its viewer's typefaces."""
    contradicted: tuple[str, ...] = ()
    """Codes of flies whose weighing contradicts their parts, where predicted speeds rest on such flies."""
    retired: tuple[str, ...] = ()
    """Codes of what was found and has no label, since it is retired."""


def save_labels(
    labels: Sequence[Label],
    paper: LabelPaper,
    path: Path,
    *,
    skip: int = 0,
    proof: bool = False,
    title: str = "Labels",
    font: Path | None = None,
    cut_marks: bool = False,
) -> PrintedLabels:
    """Write the labels as PDF and return what was written.

    ``skip`` labels of the first page are used up already; ``proof`` puts a page with outlines, for plain paper, before
    the labels; ``cut_marks`` draws a small cross at the corners of each label, to cut plain paper by; ``font`` is a
    TrueType file for signs that the built-in typeface lacks. Raises BadValueError, and writes nothing, where a label does
    not fit, no typeface has a sign or there is nothing to print; FlybenchError where a sign needs the extra of other
    letters and it is not installed.
    """
    if not labels and not proof:
        raise BadValueError(
            "labels", "there are none to print", "Name flies, or ask for the page with --proof"
        )
    if not 0 <= skip < paper.per_page:
        limit = f"0 to {paper.per_page - 1}"
        raise BadValueError("--skip", f"{skip} is outside {limit}", f"A page holds {paper.per_page} labels")
    laid = _laid_out(labels, paper, font)
    buffer = io.BytesIO()
    canvas = _canvas(buffer, paper, title)
    if proof:
        draw_proof(canvas, paper)
        canvas.showPage()
    for number, label in enumerate(labels, start=skip):
        if number % paper.per_page == 0 and number > skip:
            canvas.showPage()
        if cut_marks:
            _draw_cut_marks(canvas, paper, number)
        _draw(canvas, paper, number, laid[label])
    if labels:
        canvas.showPage()
    canvas.save()
    path.write_bytes(buffer.getvalue())
    pages = (-(-(skip + len(labels)) // paper.per_page) if labels else 0) + proof
    return PrintedLabels(
        len(labels),
        pages,
        {label.code: one.left_out for label, one in laid.items() if one.left_out},
        {label.code: one.shortened for label, one in laid.items() if one.shortened},
        _borrowed(laid.values()),
    )


def _borrowed(laid: Iterable[LaidOut]) -> str:
    """Return each sign once that no embedded typeface draws."""
    runs = (run for one in laid for line in one.lines for run in line.line.runs)
    return "".join(dict.fromkeys(sign for face, words in runs if not face.embedded for sign in words))


def _laid_out(labels: Sequence[Label], paper: LabelPaper, font: Path | None) -> Mapping[Label, LaidOut]:
    """Return each different label laid out, all in one type size."""
    safe = paper.safe(0)
    sides = (safe.width / POINT, safe.height / POINT)
    return with_photos(lay_out_sheet(labels, *sides, Typesetter(font)), *sides)


def _canvas(buffer: io.BytesIO, paper: LabelPaper, title: str) -> Canvas:
    """Return an empty PDF that asks its viewer not to scale it when printing."""
    size = (paper.page_width / POINT, paper.page_height / POINT)
    canvas = Canvas(buffer, pagesize=size, pageCompression=1, invariant=1)
    canvas.setTitle(title)
    canvas.setSubject(title)
    canvas.setAuthor(AUTHOR)
    canvas.setCreator(AUTHOR)
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


def _draw(canvas: Canvas, paper: LabelPaper, number: int, laid: LaidOut) -> None:
    """Draw one label into its place."""
    safe = paper.safe(number)
    canvas.saveState()
    canvas.translate(safe.x / POINT, (paper.page_height - safe.y) / POINT)
    if laid.frame is not None:
        _draw_frame(canvas, laid.frame)
    for line in laid.lines:
        _draw_line(canvas, line)
    if laid.qr is not None:
        _draw_qr(canvas, laid.qr)
    if laid.photo is not None:
        shown = ImageReader(io.BytesIO(laid.photo.content))
        corner = (laid.photo.x, -laid.photo.y - laid.photo.height)
        canvas.drawImage(shown, *corner, laid.photo.width, laid.photo.height)
    canvas.restoreState()


def _draw_cut_marks(canvas: Canvas, paper: LabelPaper, number: int) -> None:
    """Draw half a cross at each corner of a label, within what is left white along its edges."""
    place, (across, down) = paper.place(number), paper.inset
    canvas.setStrokeGray(_CUT_GREY)
    canvas.setLineWidth(_CUT_LINE)
    for x, inwards in ((place.x, across), (place.x + place.width, -across)):
        for y, below in ((place.y, down), (place.y + place.height, -down)):
            corner = (x / POINT, (paper.page_height - y) / POINT)
            canvas.line(*corner, corner[0] + _CUT_SHARE * inwards / POINT, corner[1])
            canvas.line(*corner, corner[0], corner[1] - _CUT_SHARE * below / POINT)
    canvas.setStrokeGray(0.0)


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
