"""A page of plain shapes and its three writers: PDF and SVG as vectors, PNG as pixels, all true to scale.

Coordinates: metres, x to the right and y downwards, from the top left corner of the paper.
All black boxes are filled as one path, so that no hairlines open between boxes that touch.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path
from typing import Literal
from xml.sax.saxutils import escape

import numpy as np
import reportlab
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

MM = 0.001
"""One millimetre [m]."""
POINT = 0.0254 / 72
"""The unit of PDF pages, 1/72 inch [m] (ISO 32000-1, 8.3.2.3)."""
AUTHOR = "flybench"
"""What the file's metadata say; no name of a person, no date."""
_FONT = "Vera"
_FONT_FILE = Path(reportlab.__file__).parent / "fonts" / "Vera.ttf"
"""The typeface that comes with the PDF library, so that all three formats look alike."""
pdfmetrics.registerFont(TTFont(_FONT, str(_FONT_FILE)))


@dataclass(frozen=True)
class Box:
    """A filled rectangle: its top left corner and its sides [m]."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Text:
    """One line of text: the left or middle end of its baseline and its type size [m]."""

    x: float
    y: float
    size: float
    words: str
    anchor: Literal["left", "middle"] = "left"

    @property
    def width(self) -> float:
        """The length of the line as set [m]."""
        return float(pdfmetrics.stringWidth(self.words, _FONT, self.size))

    @property
    def left(self) -> float:
        """The x of the first letter [m]."""
        return self.x - (self.width / 2 if self.anchor == "middle" else 0.0)


@dataclass(frozen=True)
class Drawing:
    """A page: paper sides [m], black boxes, light grey boxes (cut lines), black triangles and text."""

    title: str
    width: float
    height: float
    black: tuple[Box, ...]
    grey: tuple[Box, ...]
    triangles: tuple[tuple[tuple[float, float], ...], ...]
    texts: tuple[Text, ...]


_GREY = 0.7
"""Brightness of cut lines, 0 black to 1 white: seen by who cuts, and lighter than what the camera takes for black
(judgement) [-]."""
_FINER = 4
"""Triangles and text are drawn this much finer and averaged down; boxes need no such step."""


def pdf(drawing: Drawing) -> bytes:
    """Return the page as a one-page PDF that asks its viewer not to scale it when printing."""
    buffer = io.BytesIO()
    size = (drawing.width / POINT, drawing.height / POINT)
    canvas = Canvas(buffer, pagesize=size, pageCompression=1, invariant=1)
    canvas.setTitle(drawing.title)
    canvas.setAuthor(AUTHOR)
    canvas.setCreator(AUTHOR)
    canvas.setSubject(drawing.title)
    canvas.setViewerPreference("PrintScaling", "None")
    for boxes, grey in ((drawing.grey, _GREY), (drawing.black, 0.0)):
        canvas.setFillGray(grey)
        _pdf_polygons(canvas, drawing.height, [_outline(box) for box in boxes])
    _pdf_polygons(canvas, drawing.height, list(drawing.triangles))
    for text in drawing.texts:
        canvas.setFont(_FONT, text.size / POINT)
        canvas.drawString(text.left / POINT, (drawing.height - text.y) / POINT, text.words)
    canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _pdf_polygons(canvas: Canvas, height: float, polygons: list[tuple[tuple[float, float], ...]]) -> None:
    """Fill all polygons as one path."""
    path = canvas.beginPath()
    for polygon in polygons:
        (x, y), *rest = [(x / POINT, (height - y) / POINT) for x, y in polygon]
        path.moveTo(x, y)
        for x, y in rest:
            path.lineTo(x, y)
        path.close()
    canvas.drawPath(path, stroke=0, fill=1)


def svg(drawing: Drawing) -> bytes:
    """Return the page as SVG: its size in mm and one user unit a millimetre."""
    width, height = _mm(drawing.width), _mm(drawing.height)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">',
        f"<title>{escape(drawing.title)}</title>",
        f'<rect width="{width}" height="{height}" fill="#fff"/>',
        f'<path fill="#{round(255 * _GREY):02x}{round(255 * _GREY):02x}{round(255 * _GREY):02x}" '
        f'd="{_svg_path([_outline(box) for box in drawing.grey])}"/>',
        f'<path fill="#000" d="{_svg_path([_outline(box) for box in drawing.black])}"/>',
        f'<path fill="#000" d="{_svg_path(list(drawing.triangles))}"/>',
        '<g font-family="Bitstream Vera Sans, DejaVu Sans, Verdana, sans-serif">',
        *(_svg_text(text) for text in drawing.texts),
        "</g>",
        "</svg>",
    ]
    return ("\n".join(lines) + "\n").encode()


def _svg_path(polygons: list[tuple[tuple[float, float], ...]]) -> str:
    """Return closed polygons as path data in mm."""
    joined = ("L".join(f"{_mm(x)} {_mm(y)}" for x, y in polygon) for polygon in polygons)
    return "".join(f"M{points}Z" for points in joined)


def _svg_text(text: Text) -> str:
    """Return a line of text, held to its planned width whatever font the viewer has."""
    return (
        f'<text x="{_mm(text.left)}" y="{_mm(text.y)}" font-size="{_mm(text.size)}" '
        f'textLength="{_mm(text.width)}" lengthAdjust="spacingAndGlyphs">{escape(text.words)}</text>'
    )


def _mm(length: float) -> str:
    """Return metres as millimetres to the nanometre, without trailing zeros."""
    return f"{length / MM:.6f}".rstrip("0").rstrip(".")


def png(drawing: Drawing, dpi: int) -> bytes:
    """Return the page as a grey PNG with its dpi; a pixel is as dark as the part of it that is black."""
    scale = dpi / 0.0254
    size = (round(drawing.width * scale), round(drawing.height * scale))
    page = np.full((size[1], size[0]), 255.0, dtype=np.float32)
    for boxes, grey in ((drawing.grey, _GREY), (drawing.black, 0.0)):
        for box in boxes:
            _shade(page, box, scale, 255.0 * (1 - grey))
    np.rint(page.clip(0, 255, out=page), out=page)  # in place: at 1200 dpi the page takes half a gigabyte
    image = Image.fromarray(page.astype(np.uint8))
    del page
    for polygon in drawing.triangles:
        _paste(image, scale, polygon, None)
    for text in drawing.texts:
        room = ((text.left, text.y - text.size), (text.left + text.width, text.y + text.size / 3))
        _paste(image, scale, room, text)
    buffer = io.BytesIO()
    image.save(buffer, "PNG", dpi=(dpi, dpi))
    return buffer.getvalue()


def _shade(page: NDArray[np.float32], box: Box, scale: float, depth: float) -> None:
    """Darken each pixel by ``depth`` times the exact share of it that the box covers."""
    x, across = _covered(box.x * scale, (box.x + box.width) * scale)
    y, down = _covered(box.y * scale, (box.y + box.height) * scale)
    page[y : y + len(down), x : x + len(across)] -= np.float32(depth) * np.outer(down, across)


def _covered(start: float, end: float) -> tuple[int, NDArray[np.float32]]:
    """Return the first pixel that [start, end] touches and the share of each pixel it covers."""
    first, last = int(np.floor(start)), int(np.ceil(end))
    edges = np.arange(first, last + 1).clip(start, end)
    return first, np.diff(edges).astype(np.float32)


def _paste(
    image: Image.Image, scale: float, points: tuple[tuple[float, float], ...], text: Text | None
) -> None:
    """Draw the polygon, or the text inside the points' bounds, finer than the page and average it down."""
    corners = np.array(points) * scale
    low = np.floor(corners.min(axis=0)).astype(int) - 1
    width, height = (np.ceil(corners.max(axis=0)).astype(int) + 1 - low).tolist()
    mask = Image.new("L", (width * _FINER, height * _FINER), 0)
    pen = ImageDraw.Draw(mask)
    if text is None:
        pen.polygon([tuple(point) for point in ((corners - low) * _FINER).tolist()], fill=255)
    else:
        at = (np.array([text.left, text.y]) * scale - low) * _FINER
        font = ImageFont.truetype(str(_FONT_FILE), text.size * scale * _FINER)
        pen.text((float(at[0]), float(at[1])), text.words, fill=255, font=font, anchor="ls")
    mask = mask.resize((width, height), Image.Resampling.BOX)
    image.paste(0, (int(low[0]), int(low[1])), mask)


def _outline(box: Box) -> tuple[tuple[float, float], ...]:
    """Return the four corners of a box."""
    right, bottom = box.x + box.width, box.y + box.height
    return ((box.x, box.y), (right, box.y), (right, bottom), (box.x, bottom))
