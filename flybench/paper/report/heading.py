"""The top of the report page: the fly's name and picture, the verdict and the speed."""

from __future__ import annotations

from flybench.bench.clip.clock import Source
from flybench.bench.measure import Measurement
from flybench.bench.verdict.flags import FLAGS
from flybench.bench.verdict.result import BenchResult
from flybench.charts.close_up import draw_close_up
from flybench.charts.lettering import drawable, faces_for, shortened, width_of, wrapped
from flybench.charts.style import ACCENT, BODY, INK, MUTED
from flybench.flag import Weight
from flybench.paper.report.blank import LEFT, RIGHT, TOP, Page
from flybench.paper.report.photo import PagePhoto, draw_photo
from flybench.quantity import COVERAGE_FACTOR
from flybench.rounding import rounded, speed_text

BOTTOM = 162.0
"""Lower edge of the heading [points]."""
_PICTURE = BOTTOM - TOP
"""Side of the fly's picture [points]."""
_PHOTO_LOW, _PHOTO_WIDE = 92.0, 88.0
"""Lower edge of a photo beside that picture, which leaves the speed its line, and its most width [points] (judgement)."""
_LARGEST, _SMALLEST = 26.0, 15.0
"""Type of the fly's name: as large as fits, and the size from which it takes two lines [points] (judgement)."""
_SPEED = 29.0
"""Type of the speed [points] (judgement)."""
_TEXT = BODY + 0.5
_WORDS = {"good": "GOOD", "usable": "USABLE", "refused": "REFUSED"}


def write_heading(page: Page, run: Measurement, name: str, photo: PagePhoto | None = None) -> None:
    """Write name, verdict and speed, and show the fly as it fell and, where there is one, on its photo."""
    right = RIGHT
    if run.close_up is not None:
        right -= _PICTURE + 16
        axes = page.axes(RIGHT - _PICTURE, TOP, RIGHT, BOTTOM)
        draw_close_up(axes, run.close_up, run.result.metres_per_px)
    beside = right if photo is None else _photo(page, photo, right, falling=run.close_up is not None)
    right = right if run.close_up is not None else beside
    _name(page, name, beside)
    _verdict(page, run.result, _sources(run, name), beside)
    lines = _speed(page, run.result, right)
    for number, line in enumerate(lines):
        page.write(LEFT, 136 + 12.5 * number, line, _TEXT)


def _photo(page: Page, photo: PagePhoto, right: float, *, falling: bool) -> float:
    """Show the photo left of the picture of the falling fly, above the line of the speed, or in that picture's place; return
    the right edge that is left for words beside it."""
    low, most = (_PHOTO_LOW, _PHOTO_WIDE) if falling else (BOTTOM, _PICTURE)
    return draw_photo(page, photo, right, TOP, low, most) - 12


def _name(page: Page, name: str, right: float) -> None:
    """Write the fly's name as large as it fits: in two lines, and shortened, where it is very long."""
    shown, room = drawable(name), right - LEFT
    own = faces_for(shown)
    size = min(_LARGEST, _LARGEST * room / max(width_of(shown, _LARGEST, True, own), 1.0))
    if size >= _SMALLEST:
        page.write(LEFT, 58, shown, size, fontweight="bold", family=list(own))
        return
    first, *rest = wrapped(shown, room, _SMALLEST, True, own)
    lines = [first, shortened(" ".join(rest), room, _SMALLEST, True, own)] if rest else [first]
    for number, line in enumerate(lines):
        y = (46 if rest else 58) + 18 * number
        page.write(LEFT, y, line, _SMALLEST, fontweight="bold", family=list(own))


def _verdict(page: Page, result: BenchResult, sources: str, right: float) -> None:
    """Write the verdict in its box, and beside it what it rests on."""
    refused, words = result.verdict == "refused", _WORDS[result.verdict]
    page.write(
        LEFT + 5.5,
        84,
        words,
        10.5,
        color="white" if refused else INK,
        fontweight="bold",
        bbox={
            "facecolor": ACCENT if refused else "white",
            "edgecolor": ACCENT if refused else INK,
            "linewidth": 1.2,
            "linestyle": "--" if result.verdict == "usable" else "-",
            "boxstyle": "round,pad=0.4",
        },
    )
    x = LEFT + width_of(words, 10.5, True) + 20
    page.write(x, 84, shortened(sources, right - x, BODY), BODY, color=MUTED)


def _sources(run: Measurement, name: str) -> str:
    """Return how many drops and which clip and fly the page is about; and what a box in the name stands for."""
    code = run.view.geometry.settings.fly.code
    told = [_counted(run.result), drawable(run.result.clip.name)]
    told += [f"fly {drawable(code)}"] if code and code != name else []
    told += ["□ is a letter that no font here has"] if drawable(name) != name else []
    return "; ".join(told)


def _counted(result: BenchResult) -> str:
    used, seen = len(result.used_drops), len(result.drops)
    if not seen:
        return "no drop"
    of = "" if used == seen else f" of {seen}"
    return f"{used or 'none'}{of} drop{'s' * (max(used, seen) != 1)}"


def _speed(page: Page, result: BenchResult, right: float) -> list[str]:
    """Write the speed large; return the lines that go below it."""
    if result.sink_speed is None or result.standard_uncertainty is None:
        page.write(LEFT, 120, "No sink speed", _SPEED, fontweight="bold")
        lines = wrapped(why_refused(result), right - LEFT, _TEXT)
        return [*lines[:2], lines[2] + " …"] if len(lines) > 3 else lines
    metric, imperial = speed_text(result.sink_speed, COVERAGE_FACTOR * result.standard_uncertainty).split(
        " ("
    )
    page.write(LEFT, 120, metric, _SPEED, fontweight="bold")
    page.write(LEFT + width_of(metric, _SPEED, True) + 2, 120, "in the tank", 10.5)
    told = [f"{imperial.rstrip(')')} in the tank. {_free_water(result)}", _drag(result), _taken(result)]
    lines = [line for text in told if text for line in wrapped(text, right - LEFT, _TEXT)]
    return lines[:3]


def _free_water(result: BenchResult) -> str:
    free = result.free_water
    if free is None:
        return "In free water: not known, as the tank's size is not stated."
    told = speed_text(free.speed, COVERAGE_FACTOR * free.uncertainty).split(" (")[0]
    return f"In free water {told}."


def _drag(result: BenchResult) -> str:
    drag = result.drag
    if drag is None:
        return ""
    area = rounded(drag.drag_area * 1e6, COVERAGE_FACTOR * drag.drag_area_uncertainty * 1e6)
    beads = "" if drag.dressing_factor is None else f"; it drags like {drag.dressing_factor:.1f} bare beads"
    return f"Drag area {area[0]} ± {area[1]} mm²{beads}."


def _taken(result: BenchResult) -> str:
    """Return what the times were taken for, where nobody states it."""
    if result.time_base is None or result.time_base.source is not Source.UNTOLD:
        return ""
    return f"Taken as real time: {result.time_base.rate_hz:.4g} frames a second."


def why_refused(result: BenchResult) -> str:
    """Return in whole sentences why there is no speed."""
    if not result.drops:
        return "No drop was found in this clip."
    raised = dict.fromkeys(flag for drop in result.drops for flag in drop.flags)
    return " ".join(FLAGS[flag].meaning for flag in raised if FLAGS[flag].weight is Weight.REFUSAL)
