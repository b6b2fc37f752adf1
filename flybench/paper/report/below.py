"""The lower part of the report page: the table of drops, the flags with their cures, the small print."""

from __future__ import annotations

from flybench.bench.verdict.flags import FLAGS
from flybench.bench.verdict.result import BenchResult, MeasuredDrop
from flybench.charts.lettering import wrapped
from flybench.charts.style import BODY, INK, MOST_NAMED, MUTED, SMALL, look_of
from flybench.paper.report.blank import FOOT, LEFT, LINE, RIGHT, Page
from flybench.quantity import COVERAGE_FACTOR
from flybench.rounding import rounded
from flybench.version import __version__

_TOLD_AT = 140.0
"""Left edge of what a flag means, right of its name [points]."""
_COLUMNS = {"drop": 84.0, "start, s": 128.0, "cm/s": 176.0, "±": 212.0, "of terminal": 272.0, "frames": 314.0}
"""Right edges of the columns of drops [points]."""
_FLAGS_AT = 332.0
"""Left edge of a drop's flags [points]."""
_AGAIN = "Film the fly falling freely past the scale, with the whole column in view."
_LARGE, _STEP = BODY + 1.0, 13.5
"""Type and line to line of the words beside the still of a run without curves [points] (judgement)."""
_ITEM = "– "
"""How a thing of a list begins."""
_GOOD_CLIP = (
    "– the whole column of water, from above where the fly is let go to the floor",
    "– a phone that stands upright and still, its light and focus held",
    "– light enough that the fly is not smeared",
    "– the fly let go under water, and tweezers and hand out of the picture while it falls",
    "– three to six drops, with nothing else moving",
)
"""What to film, as docs/tier.md has it."""

Lines = list[tuple[str, str]]


def table_height(drops: list[MeasuredDrop]) -> float:
    """Return the height of the table of drops [points]."""
    rows = min(len(drops), MOST_NAMED + 1)
    return LINE * (rows + 1) + 10 if rows else 0.0


def write_table(page: Page, drops: list[MeasuredDrop], y: float) -> None:
    """Write a line for each drop, at most eight."""
    if not drops:
        return
    for name, x in _COLUMNS.items():
        page.write(x, y, name, SMALL, color=MUTED, ha="right")
    page.write(_FLAGS_AT, y, "flags", SMALL, color=MUTED)
    for number, drop in enumerate(drops[:MOST_NAMED]):
        _row(page, number, drop, y + LINE * (number + 1))
    if len(drops) > MOST_NAMED:
        told = f"and {len(drops) - MOST_NAMED} more, which flybench bench measure lists"
        page.write(LEFT, y + LINE * (MOST_NAMED + 1), told, SMALL, color=MUTED)


def _row(page: Page, number: int, measured: MeasuredDrop, y: float) -> None:
    drop, fit = measured.drop, measured.fit
    colour, mark, _ = look_of(number, measured)
    page.mark(LEFT + 4, y - 2.5, mark, colour)
    speed, spread, share, frames = "not used", "", "-", len(drop.times)
    if fit is not None:
        share, frames = f"{100 * fit.terminal_share:.1f} %", int(fit.used.sum())
        if measured.used:
            speed, spread = rounded(fit.terminal_speed * 100, COVERAGE_FACTOR * measured.uncertainty * 100)
    cells = (str(number + 1), f"{drop.times[0]:.2f}", speed, spread, share, str(frames))
    look = {"color": INK if measured.used else MUTED}
    for x, cell in zip(_COLUMNS.values(), cells, strict=True):
        page.write(x, y, cell, SMALL, ha="right", **look)
    flags = wrapped(", ".join(measured.flags_told) or "none", RIGHT - _FLAGS_AT - 8, SMALL)
    page.write(_FLAGS_AT, y, flags[0] + " …" * (len(flags) > 1), SMALL, **look)


def flag_lines(result: BenchResult, most: int) -> Lines:
    """Return what each flag means and what to do next time, as at most so many lines of flag and words.

    Whole flags are kept as far as there is room, and the rest is counted.
    """
    lines: Lines = []
    flags = result.all_flags
    for number, flag in enumerate(flags):
        told = wrapped(f"{FLAGS[flag].meaning} {FLAGS[flag].cure}", RIGHT - _TOLD_AT, SMALL)
        more = number + 1 < len(flags)
        if len(lines) + len(told) + more > most:
            return [*lines, ("", f"and {len(flags) - number} more, which flybench bench measure explains")]
        lines += [(flag if place == 0 else "", line) for place, line in enumerate(told)]
    return lines or [("no flags", "Nothing was found that weakens this result.")]


def write_flags(page: Page, lines: Lines, y: float) -> None:
    """Write the lines of flags."""
    for number, (flag, told) in enumerate(lines):
        page.write(LEFT, y + LINE * number, flag, SMALL, fontweight="bold")
        page.write(_TOLD_AT, y + LINE * number, told, SMALL)


def write_large(page: Page, result: BenchResult, left: float, top: float, bottom: float) -> None:
    """Write what was seen instead of a fall, and what to do, in the type of the page: for runs without curves."""
    blocks: list[tuple[str, list[str]]] = [("What was seen", _seen(result))]
    blocks += [(flag, [f"{FLAGS[flag].meaning} {FLAGS[flag].cure}"]) for flag in result.all_flags]
    blocks += [("What to do", [_AGAIN])] if not result.drops else []
    blocks += [("What a good clip shows", list(_GOOD_CLIP))]
    y = top + 8
    for number, (head, told) in enumerate(blocks):
        lines = [line for text in told for line in _hung(text, RIGHT - left)]
        if y + _STEP * (len(lines) + 2) > bottom:
            left_out = sum(1 for name, _ in blocks[number:] if name in FLAGS)
            if left_out:
                page.write(left, y, f"and {left_out} more, which flybench bench measure explains", SMALL)
            return
        page.write(left, y, head, _LARGE, fontweight="bold")
        for place, line in enumerate(lines, 1):
            page.write(left, y + 2 + _STEP * place, line, _LARGE)
        y += _STEP * (len(lines) + 1) + 12


def _hung(text: str, width: float) -> list[str]:
    """Return the lines of a text; those of a list go on under their first word."""
    if not text.startswith(_ITEM):
        return wrapped(text, width, _LARGE)
    first, *rest = wrapped(text.removeprefix(_ITEM), width - 10, _LARGE)
    return [f"{_ITEM}{first}", *(f"   {line}" for line in rest)]


def _seen(result: BenchResult) -> list[str]:
    """Return what moved and was no usable fall, a line for each kind."""
    drops = len(result.drops)
    found = [f"{drops} drop{'s' * (drops != 1)}, not long enough to fit"] if drops else []
    return found + [f"{count} {why}" for why, count in result.left_out.items()] or ["Nothing moved."]


def write_footer(page: Page, result: BenchResult) -> None:
    """Write the small print: the clip, the scale, and what ± means."""
    clip = result.clip
    slow = f", played {clip.stretch:g} times slower" if clip.stretch != 1 else ""
    told = (
        f"{clip.width} x {clip.height} px, {clip.frames} frames at {clip.capture_rate_hz:.4g} a second{slow}; "
        f"{result.metres_per_px * 1e3:.4f} mm a pixel from the {result.scale_source}; SHA-256 {clip.sha256[:12]}",
        "Every ± is the expanded uncertainty with the coverage factor k = 2: "
        "in about 95 of 100 such measurements the truth lies inside.",
    )
    page.rule(FOOT)
    for number, line in enumerate(told):
        page.write(LEFT, FOOT + 12 + 10 * number, line, SMALL - 0.5, color=MUTED)
    page.write(RIGHT, FOOT + 22, f"flybench {__version__}", SMALL - 0.5, color=MUTED, ha="right")
