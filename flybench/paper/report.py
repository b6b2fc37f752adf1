"""The report page of a bench run: the verdict, the pictures, and what to do about what is wrong."""

from __future__ import annotations

import textwrap
from pathlib import Path

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_pdf import FigureCanvasPdf
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from flybench import __version__
from flybench.bench.checks import FLAGS, Weight
from flybench.bench.measure import Run
from flybench.bench.result import COVERAGE_FACTOR, BenchResult, MeasuredDrop
from flybench.charts.budget import budget_bars
from flybench.charts.fall import depth_against_time, residuals, speed_against_depth
from flybench.charts.picture import path_over_still
from flybench.charts.style import ACCENT, BODY, INK, MUTED, RULE, SMALL
from flybench.quantity import rounded, speed_text

PAGE = (8.27, 11.69)
"""A4 upright [inch]."""
DPI = 150
_LEFT, _RIGHT = 0.075, 0.955
_LINE = 0.0118
_WORDS = {"good": "Good", "usable": "Usable, with doubts", "refused": "Refused"}
_MONO = "DejaVu Sans Mono"


def save_report(run: Run, png_path: Path | None = None, pdf_path: Path | None = None) -> None:
    """Write the report page as PNG (150 dots per inch), PDF (A4), or both."""
    figure = report_page(run)
    if png_path is not None:
        FigureCanvasAgg(figure).print_png(str(png_path))  # type: ignore[no-untyped-call]
    if pdf_path is not None:
        told = {"Title": f"Sink speed: {run.result.clip.name}", "Creator": f"flybench {__version__}"}
        FigureCanvasPdf(figure).print_pdf(str(pdf_path), metadata=told)  # type: ignore[no-untyped-call]


def report_page(run: Run) -> Figure:
    """Return the page of a run, refused ones included."""
    result = run.result
    figure = Figure(figsize=PAGE, dpi=DPI, facecolor="white")
    _headline(figure, result)
    path_over_still(figure.add_axes((_LEFT - 0.02, 0.445, 0.33, 0.40)), run)
    if any(drop.fit for drop in result.drops):
        depth_against_time(figure.add_axes((0.47, 0.655, 0.485, 0.185)), result)
        residuals(figure.add_axes((0.47, 0.525, 0.485, 0.07)), result)
        speed_against_depth(figure.add_axes((_LEFT + 0.015, 0.265, 0.385, 0.135)), result)
    budget_bars(figure.add_axes((0.66, 0.265, 0.295, 0.195)), result)
    _table(figure, result.drops)
    _flags(figure, result)
    _footer(figure, result)
    return figure


def _headline(figure: Figure, result: BenchResult) -> None:
    """Write verdict, speed and free-water speed."""
    uncertainty = result.standard_uncertainty
    figure.text(_LEFT, 0.962, _WORDS[result.verdict], fontsize=12, color=ACCENT, fontweight="bold", va="top")
    figure.text(
        _RIGHT, 0.962, _shortened(result.clip.name, 46), fontsize=BODY, color=MUTED, ha="right", va="top"
    )
    if result.sink_speed is None or uncertainty is None:
        figure.text(_LEFT, 0.940, "No sink speed", fontsize=25, color=INK, fontweight="bold", va="top")
        figure.text(
            _LEFT, 0.900, "\n".join(_why_refused(result)), fontsize=BODY, color=INK, va="top", linespacing=1.4
        )
        return
    metric, imperial = speed_text(result.sink_speed, COVERAGE_FACTOR * uncertainty).split(" (")
    figure.text(_LEFT, 0.940, metric, fontsize=25, color=INK, fontweight="bold", va="top")
    count = len(result.used_drops)
    told = f"{imperial.rstrip(')')} in the tank; k = 2; {count} of {len(result.drops)} drops used"
    figure.text(_LEFT, 0.900, told, fontsize=BODY + 1, color=INK, va="top")
    figure.text(_LEFT, 0.882, _free_water(result), fontsize=BODY, color=INK, va="top")


def _free_water(result: BenchResult) -> str:
    free, drag = result.free_water, result.drag
    if free is None:
        return "In free water: not known, since the tank's size is not"
    told = f"In free water {speed_text(free.speed, COVERAGE_FACTOR * free.uncertainty)}"
    if drag is not None:
        area = rounded(drag.drag_area * 1e6, COVERAGE_FACTOR * drag.drag_area_uncertainty * 1e6)
        told += f"; drag area {area[0]} ± {area[1]} mm²"
        if drag.dressing_factor is not None:
            told += f", like {drag.dressing_factor:.1f} bare beads"
    return told


def _why_refused(result: BenchResult) -> list[str]:
    if not result.drops:
        seen = ", ".join(f"{count} {why}" for why, count in result.left_out.items()) or "nothing moved"
        return textwrap.wrap(f"No drop found: {seen}.", 105)[:2]
    raised = dict.fromkeys(flag for drop in result.drops for flag in drop.flags)
    reasons = " ".join(FLAGS[flag].meaning for flag in raised if FLAGS[flag].weight is Weight.REFUSAL)
    return textwrap.wrap(reasons, 105)[:2]


def _table(figure: Figure, drops: list[MeasuredDrop]) -> None:
    """Write a line for each drop, at most eight."""
    y = 0.222
    figure.text(
        _LEFT,
        y,
        "drop   at s    cm/s      ±   of terminal  frames   flags",
        fontsize=SMALL,
        family=_MONO,
        color=MUTED,
    )
    for number, drop in enumerate(drops[:8], 1):
        y -= _LINE
        colour = INK if drop.used else MUTED
        figure.text(_LEFT, y, _row(number, drop), fontsize=SMALL, family=_MONO, color=colour)
    if len(drops) > 8:
        figure.text(_LEFT, y - _LINE, f"and {len(drops) - 8} more", fontsize=SMALL, family=_MONO, color=MUTED)


def _row(number: int, measured: MeasuredDrop) -> str:
    drop, fit = measured.drop, measured.fit
    share = f"{100 * fit.terminal_share:10.1f} %" if fit else f"{'-':>12}"
    flags = _shortened(", ".join(measured.flags), 52)
    if fit is None or not measured.used:
        return f"{number:>4} {drop.times[0]:6.2f}  {'not used':>13}  {share}  {len(drop.times):>6}   {flags}"
    speed, spread = rounded(fit.terminal_speed * 100, COVERAGE_FACTOR * measured.uncertainty * 100)
    return f"{number:>4} {drop.times[0]:6.2f}  {speed:>6} {spread:>6}  {share}  {int(fit.used.sum()):>6}   {flags}"


def _flags(figure: Figure, result: BenchResult) -> None:
    """Write what each flag means and what to do next time."""
    lines: list[str] = []
    for flag in result.all_flags:
        told = f"{flag}: {FLAGS[flag].meaning} {FLAGS[flag].cure}"
        lines += textwrap.wrap(told, 128, subsequent_indent="    ")
    top = 0.206 - _LINE * min(len(result.drops) + 1, 9)
    room = int((top - 0.055) / (1.12 * _LINE))
    if len(lines) > room:
        lines = [*lines[: room - 1], "… and more: flybench bench measure prints every flag"]
    if not lines:
        lines = ["No flags: nothing was seen that weakens this result."]
    figure.text(_LEFT, top, "\n".join(lines), fontsize=SMALL, color=INK, va="top", linespacing=1.3)


def _footer(figure: Figure, result: BenchResult) -> None:
    clip = result.clip
    slow = f", played {clip.stretch:g} times slower" if clip.stretch != 1 else ""
    told = (
        f"{clip.width} x {clip.height} px, {clip.frames} frames at {clip.capture_rate_hz:.4g} a second{slow}; "
        f"scale {result.metres_per_px * 1e3:.4f} mm a pixel from the {result.scale_source}; "
        f"SHA-256 {clip.sha256[:12]}…; flybench {__version__}\n"
        "± is the expanded uncertainty, k = 2: about 95 times in a hundred the true speed lies inside."
    )
    figure.add_artist(_rule(0.043))
    figure.text(_LEFT, 0.038, told, fontsize=SMALL - 0.5, color=MUTED, va="top", linespacing=1.4)


def _rule(y: float) -> Line2D:
    return Line2D([_LEFT, _RIGHT], [y, y], color=RULE, linewidth=0.8)


def _shortened(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"
