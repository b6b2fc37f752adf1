"""Printed label pages for tests: read back as pictures and as text. All flies, codes and prices are invented."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray

from flybench.errors import FlybenchError
from flybench.paper.label.content import Label, LabelSpeed
from flybench.paper.label.label_paper import (
    LABEL_PAPERS,
    Area,
    LabelPaper,
    label_paper_named,
)
from flybench.paper.label.pages import save_labels

MM = 0.001
DPI = 600
SCALE = DPI / 0.0254
POINT = 0.0254 / 72
LEAST_TYPE = 5.0
URL = "https://flies.example/N-014"
SPEED = LabelSpeed(0.314, 0.004)
PLAIN = Label(
    "N-014", "Copper drawer nymph", "hook 14", "bead 3 mm", "4.50", "dry well", URL, SPEED, "31.5 cm/s"
)
HOSTILE = {
    "200 letters": "w" * 200,
    "words": "a long name with a good many words in it that never seems to come to an end " * 3,
    "Greek": "Μαύρη νύμφη με χάλκινο σύρμα",
    "Cyrillic": "Чёрная нимфа с медной проволокой",
    "Arabic": "حورية سوداء بسلك نحاسي",
    "Hebrew": "נִימְפָה שחורה (14)",
    "Chinese": "黑色若蟲配銅線與鎢珠頭",
    "stacked marks": "Ç̌ạ̈ñ̃ĝ́ " * 5,
}
Picture = NDArray[np.uint8]


def page_of(path: Path, number: int = 0) -> pypdfium2.PdfPage:
    return pypdfium2.PdfDocument(path)[number]


def picture(path: Path, number: int = 0) -> Picture:
    return np.asarray(page_of(path, number).render(scale=DPI / 72).to_pil().convert("L"))


def cut(image: Picture, area: Area) -> Picture:
    """Return the pixels of an area of the page [m]."""
    top, left = round(area.y * SCALE), round(area.x * SCALE)
    return image[top : top + round(area.height * SCALE), left : left + round(area.width * SCALE)]


def text_in(path: Path, area: Area, number: int = 0) -> str:
    """Return the text whose letters lie in an area of the page [m]."""
    page = page_of(path, number)
    height = page.get_height()
    sides = (area.x, height * POINT - area.y - area.height, area.x + area.width, height * POINT - area.y)
    left, bottom, right, top = (side / POINT for side in sides)
    return " ".join(page.get_textpage().get_text_bounded(left, bottom, right, top).split())


def letters(path: Path, number: int = 0) -> list[tuple[str, Area, float]]:
    """Return every letter of a page, the area of its ink [m] and its type size [points]."""
    page = page_of(path, number)
    height, text = page.get_height(), page.get_textpage()
    found = []
    for index in range(text.count_chars()):
        sign = text.get_text_range(index, 1)
        if not sign.strip():
            continue
        left, bottom, right, top = text.get_charbox(index)
        size = pypdfium2.raw.FPDFText_GetFontSize(text.raw, index)
        area = Area(left * POINT, (height - top) * POINT, (right - left) * POINT, (top - bottom) * POINT)
        found.append((sign, area, size))
    return found


def holds(outer: Area, inner: Area, slack: float) -> bool:
    return (
        inner.x >= outer.x - slack
        and inner.y >= outer.y - slack
        and inner.x + inner.width <= outer.x + outer.width + slack
        and inner.y + inner.height <= outer.y + outer.height + slack
    )


def ink_outside(path: Path, paper: LabelPaper, number: int = 0) -> int:
    """Return how many pixels of a page are not white outside all safe areas, one pixel of grace around each."""
    image = picture(path, number).copy()
    for label in range(paper.per_page):
        area = paper.safe(label)
        top, left = int(area.y * SCALE) - 1, int(area.x * SCALE) - 1
        bottom, right = int((area.y + area.height) * SCALE) + 2, int((area.x + area.width) * SCALE) + 2
        image[top:bottom, left:right] = 255
    return int((image < 250).sum())


def dark_lines(profile: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the middles [m] of the runs of pixels that are mostly dark."""
    dark = np.flatnonzero(profile > 0.5)
    runs = np.split(dark, np.flatnonzero(np.diff(dark) > 1) + 1)
    return np.array([(run.mean() + 0.5) / SCALE for run in runs if len(run)])


def refused(*labels: Label, paper: LabelPaper | None = None, path: Path, **how: object) -> str:
    """Return the message with which labels are refused; nothing was written."""
    with pytest.raises(FlybenchError) as caught:
        save_labels(labels, paper or label_paper_named(LABEL_PAPERS[0]), path, **how)  # type: ignore[arg-type]
    assert not path.exists()
    return str(caught.value)
