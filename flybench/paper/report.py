"""The report page of a bench run: the verdict, the pictures, and what to do about what is wrong.

Places on the page are in points from its top left corner.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from flybench.bench.measure import Measurement
from flybench.bench.verdict.flags import FLAGS
from flybench.bench.verdict.result import BenchResult, MeasuredDrop
from flybench.charts.budget import LABEL_WIDTH, budget_bars
from flybench.charts.fall import depth_against_time, residuals
from flybench.charts.lettering import drawable, shortened, width_of, wrapped
from flybench.charts.picture import crop_of, path_over_still
from flybench.charts.speed import speed_against_depth
from flybench.charts.style import ACCENT, BODY, INK, MOST_NAMED, MUTED, RULE, SMALL, look_of
from flybench.flag import Weight
from flybench.paper.page_mark import SOFTWARE, page_mark
from flybench.quantity import COVERAGE_FACTOR, rounded, speed_text
from flybench.version import __version__

WIDTH, HEIGHT = 595.276, 841.890
"""A4 upright [points] (ISO 216: 210 x 297 mm)."""
DPI = 150
"""Of the PNG: sharp when printed, and small enough to send (judgement) [dots per inch]."""
_LEFT, _RIGHT = 42.0, WIDTH - 42.0
"""Edges of what is printed, 15 mm inside the paper: more than any printer leaves white [points]."""
_CHARTS_TOP = 128.0
"""Upper edge of the pictures, below the verdict [points]."""
_FOOT = HEIGHT - 46.0
"""The rule above the small print [points]."""
_LINE = 10.6
"""Line to line in tables and flags, 1.4 of the type [points]."""
_COLUMN = 216.0
"""Width of the left column of pictures [points]."""
_MOST_TEXT = 0.30 * HEIGHT
"""Height that drops and flags may take from the pictures [points]."""
_TOLD_AT = 140.0
"""Left edge of what a flag means, right of its name [points]."""
_COLUMNS = {
    "drop": 84.0,
    "start, s": 128.0,
    "cm/s": 180.0,
    "± (k = 2)": 232.0,
    "of terminal": 288.0,
    "frames": 330.0,
}
"""Right edges of the columns of drops [points]."""
_FLAGS_AT = 348.0
"""Left edge of a drop's flags [points]."""
_AGAIN = "Film the fly falling freely past the scale, with the whole column in view."
_WORDS = {"good": "GOOD", "usable": "USABLE", "refused": "REFUSED"}


def save_report(
    run: Measurement, png_path: Path | None = None, pdf_path: Path | None = None, title: str = "Sink speed"
) -> None:
    """Write the report page as PNG (150 dots per inch), PDF (A4), or both."""
    figure = report_page(run, title)
    if png_path is not None:
        FigureCanvasAgg(figure).print_png(
            str(png_path), metadata=page_mark(run.result.clip.name), pil_kwargs={"compress_level": 3}
        )  # type: ignore[no-untyped-call]
    if pdf_path is not None:
        from matplotlib.backends.backend_pdf import FigureCanvasPdf  # brings a font library along

        name = drawable(f"{title}: {run.result.clip.name}")
        told = {"Title": name, "Creator": SOFTWARE, "CreationDate": None}
        FigureCanvasPdf(figure).print_pdf(str(pdf_path), metadata=told)  # type: ignore[no-untyped-call]


def prepare() -> None:
    """Have the fonts read and the drawing code loaded before the first page is wanted."""
    figure = Figure()
    figure.subplots().plot([0, 1], marker="o", label="a")
    figure.legend()
    FigureCanvasAgg(figure).draw()  # type: ignore[no-untyped-call]


def report_page(run: Measurement, title: str = "Sink speed") -> Figure:
    """Return the page of a run, refused ones included."""
    figure = Figure(figsize=(WIDTH / 72, HEIGHT / 72), dpi=DPI, facecolor="white")
    page = _Page(figure)
    _headline(page, run.result, title)
    flags = _flag_lines(run.result)
    rows = min(len(run.result.drops), MOST_NAMED + 1)
    table = _LINE * (rows + 1) + 10 if rows else 0.0
    room = int((_MOST_TEXT - table) / _LINE)
    flags = flags if len(flags) <= room else _cut(flags, room)
    top = _FOOT - 10 - table - _LINE * len(flags)
    _charts(page, run, top - 16)
    _table(page, run.result.drops, top)
    _flags(page, flags, top + table)
    _footer(page, run.result)
    return figure


class _Page:
    """A figure on which words, rules and axes are put in points from the top left corner."""

    def __init__(self, figure: Figure) -> None:
        self.figure = figure

    def write(self, x: float, y: float, words: str, size: float = BODY, **look: Any) -> None:
        """Write one line with its baseline at ``y``; dollar signs are dollar signs."""
        look = {"color": INK, "family": "DejaVu Sans", "parse_math": False, **look}
        self.figure.text(x / WIDTH, 1 - y / HEIGHT, words, fontsize=size, va="baseline", **look)

    def rule(self, y: float) -> None:
        """Draw a thin line over the page."""
        ends = [_LEFT / WIDTH, _RIGHT / WIDTH]
        self.figure.add_artist(Line2D(ends, [1 - y / HEIGHT] * 2, color=RULE, linewidth=0.8))

    def mark(self, x: float, y: float, sign: str, colour: str) -> None:
        """Draw one plot marker."""
        at = ([x / WIDTH], [1 - y / HEIGHT])
        self.figure.add_artist(Line2D(*at, marker=sign, color=colour, markersize=4, markeredgewidth=0))

    def axes(self, left: float, top: float, right: float, bottom: float) -> Axes:
        """Add axes whose frame has these sides."""
        box = (left / WIDTH, 1 - bottom / HEIGHT, (right - left) / WIDTH, (bottom - top) / HEIGHT)
        return self.figure.add_axes(box)


def _headline(page: _Page, result: BenchResult, title: str) -> None:
    """Write verdict, speed and free-water speed."""
    name = shortened(drawable(result.clip.name), 250, BODY)
    page.write(_LEFT, 44, shortened(drawable(title), 240, BODY + 1), BODY + 1, color=MUTED)
    page.write(_RIGHT, 44, name, BODY, color=MUTED, ha="right")
    page.write(
        _RIGHT - 5.5,
        75,
        _WORDS[result.verdict],
        10.5,
        ha="right",
        color="white" if result.verdict == "refused" else INK,
        fontweight="bold",
        bbox={
            "facecolor": ACCENT if result.verdict == "refused" else "white",
            "edgecolor": ACCENT if result.verdict == "refused" else INK,
            "linewidth": 1.2,
            "linestyle": "--" if result.verdict == "usable" else "-",
            "boxstyle": "round,pad=0.45",
        },
    )
    if result.sink_speed is None or result.standard_uncertainty is None:
        page.write(_LEFT, 78, "No sink speed", 27, fontweight="bold")
        lines = wrapped(_why_refused(result), _RIGHT - _LEFT, BODY + 0.5)[:2]
    else:
        metric, imperial = speed_text(result.sink_speed, COVERAGE_FACTOR * result.standard_uncertainty).split(
            " ("
        )
        page.write(_LEFT, 78, metric, 27, fontweight="bold")
        page.write(_LEFT + width_of(metric, 27, True), 78, "in the tank, k = 2", 10.5)
        count = len(result.used_drops)
        of = "" if count == len(result.drops) else f" of {len(result.drops)}"
        drops = f"{count}{of} drop{'s' * (max(count, len(result.drops)) != 1)}"
        lines = [f"{imperial.rstrip(')')} in the tank, from {drops}", _free_water(result)]
    for number, line in enumerate(lines):
        page.write(_LEFT, 95 + 13 * number, line, BODY + 0.5)


def _free_water(result: BenchResult) -> str:
    free, drag = result.free_water, result.drag
    if free is None:
        return "In free water: not known, because the size of the tank is not in the sheet"
    told = f"In free water {speed_text(free.speed, COVERAGE_FACTOR * free.uncertainty)}"
    if drag is not None:
        area = rounded(drag.drag_area * 1e6, COVERAGE_FACTOR * drag.drag_area_uncertainty * 1e6)
        told += f"; drag area {area[0]} ± {area[1]} mm²"
        if drag.dressing_factor is not None:
            told += f"; it drags like {drag.dressing_factor:.1f} bare beads"
    return told


def _why_refused(result: BenchResult) -> str:
    if not result.drops:
        seen = ", ".join(f"{count} {why}" for why, count in result.left_out.items()) or "nothing moved"
        return f"No drop was found: {seen}."
    raised = dict.fromkeys(flag for drop in result.drops for flag in drop.flags)
    return " ".join(FLAGS[flag].meaning for flag in raised if FLAGS[flag].weight is Weight.REFUSAL)


def _charts(page: _Page, run: Measurement, bottom: float) -> None:
    """Put the picture and the bars on the left, the curves on the right."""
    result, top = run.result, _CHARTS_TOP + 12
    left, above, right, below = crop_of(run)
    aspect = (right - left) / (below - above)
    deep = (bottom - top) * (0.66 if result.budget else 0.97)
    fitted = any(drop.fit for drop in result.drops)
    column = _COLUMN if result.budget else min(max(deep * aspect, 80.0), _COLUMN)
    column = column if fitted else _RIGHT - _LEFT
    wide = min(column, deep * aspect)
    start = _LEFT + (column - wide) / 2
    path_over_still(page.axes(start, top, start + wide, top + wide / aspect), run)
    if result.budget:
        under = top + wide / aspect + 34
        low = min(bottom - 22, under + 190)
        budget_bars(page.axes(_LEFT + LABEL_WIDTH + 4, under, _LEFT + column, low), result)
    if fitted:
        _curves(page, result, _LEFT + column + 46, top, bottom)


def _curves(page: _Page, result: BenchResult, left: float, top: float, bottom: float) -> None:
    """Draw depth over residuals over speed."""
    free = bottom - top - 22 - 26 - 42
    first, second = top + 0.46 * free, top + 0.64 * free + 26
    upper = page.axes(left, top, _RIGHT, first)
    lower = page.axes(left, first + 26, _RIGHT, second)
    depth_against_time(upper, result)
    residuals(lower, result)
    upper.set_xlabel("")
    upper.tick_params(labelbottom=False)
    lower.set_xlim(upper.get_xlim())
    speed_against_depth(page.axes(left, second + 42, _RIGHT, bottom - 22), result)
    for axes in page.figure.axes[-3:]:
        axes.yaxis.set_label_coords(-30 / (_RIGHT - left), 0.5)


def _table(page: _Page, drops: list[MeasuredDrop], y: float) -> None:
    """Write a line for each drop, at most eight."""
    if not drops:
        return
    for name, x in _COLUMNS.items():
        page.write(x, y, name, SMALL, color=MUTED, ha="right")
    page.write(_FLAGS_AT, y, "flags", SMALL, color=MUTED)
    for number, drop in enumerate(drops[:MOST_NAMED]):
        _row(page, number, drop, y + _LINE * (number + 1))
    if len(drops) > MOST_NAMED:
        told = f"and {len(drops) - MOST_NAMED} more, which flybench bench measure lists"
        page.write(_LEFT, y + _LINE * (MOST_NAMED + 1), told, SMALL, color=MUTED)


def _row(page: _Page, number: int, measured: MeasuredDrop, y: float) -> None:
    drop, fit = measured.drop, measured.fit
    colour, mark, _ = look_of(number, measured)
    page.mark(_LEFT + 4, y - 2.5, mark, colour)
    speed, spread, share, frames = "not used", "", "-", len(drop.times)
    if fit is not None:
        share, frames = f"{100 * fit.terminal_share:.1f} %", int(fit.used.sum())
        if measured.used:
            speed, spread = rounded(fit.terminal_speed * 100, COVERAGE_FACTOR * measured.uncertainty * 100)
    cells = (str(number + 1), f"{drop.times[0]:.2f}", speed, spread, share, str(frames))
    look = {"color": INK if measured.used else MUTED}
    for x, cell in zip(_COLUMNS.values(), cells, strict=True):
        page.write(x, y, cell, SMALL, ha="right", **look)
    flags = wrapped(", ".join(measured.flags_told) or "none", _RIGHT - _FLAGS_AT - 8, SMALL)
    page.write(_FLAGS_AT, y, flags[0] + " …" * (len(flags) > 1), SMALL, **look)


Lines = list[tuple[str, str]]


def _flag_lines(result: BenchResult) -> Lines:
    """Return what each flag means and what to do next time, as lines of flag and words."""
    lines: Lines = []
    for flag in result.all_flags:
        told = wrapped(f"{FLAGS[flag].meaning} {FLAGS[flag].cure}", _RIGHT - _TOLD_AT, SMALL)
        lines += [(flag if number == 0 else "", line) for number, line in enumerate(told)]
    if not result.drops:
        return [*lines, ("no drop", _AGAIN)]
    return lines or [("no flags", "Nothing was found that weakens this result.")]


def _cut(lines: Lines, room: int) -> Lines:
    """Keep whole flags as far as there is room, and say how many were left out."""
    kept = max(room - 1, 0)
    while kept and not lines[kept][0]:
        kept -= 1
    missing = sum(1 for flag, _ in lines[kept:] if flag)
    return [*lines[:kept], ("", f"and {missing} more, which flybench bench measure explains")]


def _flags(page: _Page, lines: Lines, y: float) -> None:
    for number, (flag, told) in enumerate(lines):
        page.write(_LEFT, y + _LINE * number, flag, SMALL, fontweight="bold")
        page.write(_TOLD_AT, y + _LINE * number, told, SMALL)


def _footer(page: _Page, result: BenchResult) -> None:
    clip = result.clip
    slow = f", played {clip.stretch:g} times slower" if clip.stretch != 1 else ""
    told = (
        f"{clip.width} x {clip.height} px, {clip.frames} frames at {clip.capture_rate_hz:.4g} a second{slow}; "
        f"{result.metres_per_px * 1e3:.4f} mm a pixel from the {result.scale_source}; SHA-256 {clip.sha256[:12]}",
        "± is the expanded uncertainty with the coverage factor k = 2: "
        "in about 95 of 100 such measurements the true speed lies inside.",
    )
    page.rule(_FOOT)
    for number, line in enumerate(told):
        page.write(_LEFT, _FOOT + 12 + 10 * number, line, SMALL - 0.5, color=MUTED)
    page.write(_RIGHT, _FOOT + 22, f"flybench {__version__}", SMALL - 0.5, color=MUTED, ha="right")
