"""The report page: every kind of run, nothing off the page, no words on each other."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from kinds_of_run import KINDS, SHOWN, kind_of, told_speed
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from measured_clips import measured
from PIL import Image
from pypdfium2 import PdfDocument

from flybench.bench.measure import Measurement
from flybench.paper.report.page import report_page, save_pdf, save_png


@pytest.fixture(scope="module")
def run() -> Measurement:
    return measured(SHOWN)[0]


def words(figure: Figure) -> Iterator[tuple[str, np.ndarray]]:
    """Yield every text drawn on a page with the corners of its box [px]."""
    from matplotlib.text import Text

    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    hidden = {id(label) for axes in figure.axes for label in _unseen_ticks(axes)}
    for text in figure.findobj(Text):
        if text.get_visible() and text.get_text().strip() and id(text) not in hidden:
            yield text.get_text(), text.get_window_extent(canvas.get_renderer()).get_points()


def _unseen_ticks(axes) -> Iterator[object]:
    """Yield labels of ticks that lie outside their axis and so are not drawn."""
    for axis in (axes.xaxis, axes.yaxis):
        low, high = sorted(axis.get_view_interval())
        for tick in axis.get_major_ticks():
            if not low <= tick.get_loc() <= high:
                yield from (tick.label1, tick.label2)


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_no_words_leave_the_page_or_touch_and_no_third_is_empty(run: Measurement, kind: str) -> None:
    changed = kind_of(run, kind)
    figure = report_page(changed, "Sink speed of a fly with a rather long name, tied by hand " * 3)
    page = figure.bbox.get_points()
    boxes = list(words(figure))
    assert len(boxes) > 5
    assert (changed.result.verdict.upper() == "REFUSED") == ("No sink speed" in dict(boxes))
    for text, (low, high) in boxes:
        assert (low >= page[0] + 20).all() and (high <= page[1] - 20).all(), text
    for (text, (low, high)), (other, (low_2, high_2)) in combinations(boxes, 2):
        shared = np.minimum(high, high_2) - np.maximum(low, low_2)
        assert not (shared > 1.0).all(), (text, other)
    assert largest_white(figure) < 1 / 6


def largest_white(figure: Figure) -> float:
    """Return the largest block without ink over the printed part of a page, of blocks of 18 x 12 fields [-]."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    ink = np.asarray(canvas.buffer_rgba())[87:1657, 87:1153, :3].min(axis=2) < 235
    rows, columns = 18, 12
    high, wide = ink.shape[0] // rows, ink.shape[1] // columns
    fields = ink[: rows * high, : columns * wide].reshape(rows, high, columns, wide).any(axis=(1, 3))
    blocks = (
        (bottom - top) * (right - left)
        for top, bottom in combinations(range(rows + 1), 2)
        for left, right in combinations(range(columns + 1), 2)
        if not fields[top:bottom, left:right].any()
    )
    return max(blocks, default=0) / (rows * columns)


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_page_says_what_matters(run: Measurement, kind: str) -> None:
    changed = kind_of(run, kind)
    told = [text for text, _ in words(report_page(changed))]
    joined = " ".join(told)
    assert told_speed(changed) in told
    assert changed.result.verdict.upper() in told
    assert changed.result.clip.sha256[:12] in joined and "coverage factor k = 2" in joined
    assert joined.count("k = ") == 1
    assert all(fact in told for fact in ("18 °C", "200 x 140 mm", "12 mm", "100 mm", "0.26 g in air"))
    if len(changed.result.all_flags) < 5:
        assert set(changed.result.all_flags) <= set(told)


@pytest.mark.slow
def test_drops_are_told_apart_without_colour(run: Measurement) -> None:
    """Each of eight drops has a marker of its own in the table, and a line of its own over the still."""
    figure = report_page(kind_of(run, "eight"))
    marks = [line.get_marker() for line in figure.findobj(Line2D) if line.get_markersize() == 4]
    assert len({mark for mark in marks if mark != "None"}) == 8
    still = next(axes for axes in figure.axes if axes.get_title(loc="left") == "Where it fell")
    paths = [line for line in still.lines if line.get_linewidth() == 1.3]
    assert len({str(line._dash_pattern) for line in paths}) == 8


@pytest.mark.slow
def test_name_of_the_fly_and_what_the_page_is_about(run: Measurement) -> None:
    """U+10FFFF stands for no sign at all (The Unicode Standard, 23.7)."""
    geometry = run.view.geometry
    fly = replace(geometry.settings.fly, code="MH-12", name="Moss hackle")
    settings = replace(geometry.settings, fly=fly)
    named = replace(run, view=replace(run.view, geometry=replace(geometry, settings=settings)))
    told = [text.get_text() for text in report_page(named, today=date(2026, 3, 1)).texts]
    assert told[:2] == ["Moss hackle", "GOOD"]
    assert {"4 drops; moss-hackle.mp4; fly MH-12", "measured on", "1 March 2026"} <= set(told)
    told = [
        text.get_text() for text in report_page(replace(run, filmed=date(2025, 4, 9)), "X\U0010ffff").texts
    ]
    assert told[0] == "X□"
    assert "4 drops; moss-hackle.mp4; □ is a letter that no font here has" in told
    assert {"filmed on", "9 April 2025"} <= set(told)


@pytest.mark.slow
def test_files_are_a4(run: Measurement, tmp_path: Path) -> None:
    png, pdf = tmp_path / "page.png", tmp_path / "page.pdf"
    page = report_page(run, "Moss hackle")
    save_png(page, run, png)
    save_pdf(page, run, pdf, "Moss hackle")
    with Image.open(png) as picture:
        assert picture.size == (1240, 1753)
        assert picture.info["dpi"] == pytest.approx((150, 150), abs=0.1)
        assert np.ptp(np.asarray(picture.convert("L"))) == 255
    document = PdfDocument(pdf)
    assert len(document) == 1
    assert document[0].get_size() == pytest.approx((595.276, 841.890), abs=0.01)
    assert document.get_metadata_dict()["Title"] == "Moss hackle: moss-hackle.mp4"
    assert told_speed(run) in document[0].get_textpage().get_text_range()


@pytest.mark.slow
def test_pages_are_the_same_each_time(run: Measurement, tmp_path: Path) -> None:
    for name in ("a", "b"):
        page = report_page(run)
        save_png(page, run, tmp_path / f"{name}.png")
        save_pdf(page, run, tmp_path / f"{name}.pdf")
    for ending in (".png", ".pdf"):
        assert (tmp_path / f"a{ending}").read_bytes() == (tmp_path / f"b{ending}").read_bytes()
