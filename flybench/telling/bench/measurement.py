"""A measurement in words and as machine form: the verdict first, then what it rests on."""

from __future__ import annotations

import math
from typing import Any

from flybench.bench.track.handling import LIFTED_AGAIN
from flybench.bench.verdict.agreement import COMPARED
from flybench.bench.verdict.flags import FLAGS
from flybench.bench.verdict.result import BenchResult, MeasuredDrop, as_json
from flybench.flag import Weight
from flybench.quantity import COVERAGE_FACTOR
from flybench.rounding import rounded, speed_text
from flybench.telling.bench.clock import taken, which_rate
from flybench.telling.table import aligned, paragraph
from flybench.telling.wording import counted
from flybench.version import __version__

_NEGLIGIBLE = 0.1
"""Share of the whole uncertainty below which a source is left out of the words (judgement) [-]."""
_MANY = 1000.0
"""Degrees of freedom from which on they are not worth a word: Student's factor is the normal law's to 0.1 % [-]."""
_LABEL = 11
"""Letters of the longest label before a paragraph."""
_HEADS = ("drop", "start, s", "cm/s", "± (k = 2)", "of terminal", "frames")
_AGAIN = "Film the fly falling freely past the scale, with the whole column in view."


def record(result: BenchResult) -> dict[str, Any]:
    """Return the machine form: SI units, real seconds from the first frame, null where not measurable."""
    return as_json(result, __version__)


def verdict_line(result: BenchResult) -> str:
    """Return the verdict and the speed, or why there is none, on one line."""
    if result.sink_speed is None or result.standard_uncertainty is None:
        return f"REFUSED: no sink speed. {refusal(result)}"
    speed = speed_text(result.sink_speed, COVERAGE_FACTOR * result.standard_uncertainty)
    drops = counted(len(result.used_drops), "drop")
    return f"{result.verdict.upper()}: {speed} in the tank, k = 2, from {drops}"


def refusal(result: BenchResult) -> str:
    """Return in whole sentences why a result was refused."""
    if not result.drops:
        seen = ", ".join(f"{count} {why}" for why, count in result.left_out.items())
        return f"No drop was found: {seen or 'nothing moved'}. {_hint(result)}"
    why = [flag for drop in result.drops for flag in drop.flags if FLAGS[flag].weight is Weight.REFUSAL]
    reasons = " ".join([FLAGS[flag].meaning for flag in dict.fromkeys(why)] + which_rate(result))
    were = "was" if len(result.drops) == 1 else "were"
    return f"{counted(len(result.drops), 'drop')} {were} seen, and none can be used. {reasons}"


def _hint(result: BenchResult) -> str:
    rising = any(why.startswith("rose") for why in result.left_out)
    if rising and "card-upside-down" in result.flags:
        return "The picture stands on its head: turn the clip the right way up."
    return _AGAIN


def lines(result: BenchResult) -> list[str]:
    """Return everything worth saying, the verdict first, each paragraph wrapped to the terminal."""
    lines = [paragraph(verdict_line(result)), *taken(result), *_speeds(result), ""]
    if result.drops:
        lines += [*_drops(result), *_handled(result), ""]
    if result.budget:
        lines += [_budget(result), ""]
    return lines + _flags(result)


def _labelled(label: str, text: str) -> str:
    """Return a paragraph hung beside its label."""
    return paragraph(f"  {label:<{_LABEL}}  {text}", "", " " * (_LABEL + 4))


def _speeds(result: BenchResult) -> list[str]:
    lines = []
    if result.free_water is not None:
        free = result.free_water
        speed = speed_text(free.speed, COVERAGE_FACTOR * free.uncertainty)
        slower = 100 * (1 - free.wall_factor)
        lines.append(_labelled("free water", f"{speed}; the walls of the tank took {slower:.1f} % of it"))
    if result.drag is not None:
        lines.append(_labelled("drag", _drag(result)))
    clip = result.clip
    slow = f", played {clip.stretch:g} times slower" if clip.stretch != 1 else ""
    told = (
        f"{clip.width} x {clip.height} px upright, {counted(clip.frames, 'frame')} at {clip.capture_rate_hz:.4g} a "
        f"second{slow}; {result.metres_per_px * 1e3:.4f} mm a pixel"
    )
    return [*lines, _labelled("clip", told)]


def _drag(result: BenchResult) -> str:
    drag = result.drag
    assert drag is not None
    area = rounded(drag.drag_area * 1e6, COVERAGE_FACTOR * drag.drag_area_uncertainty * 1e6)
    weight = rounded(drag.submerged_weight * 1e3, COVERAGE_FACTOR * drag.submerged_weight_uncertainty * 1e3)
    text = f"drag area {area[0]} ± {area[1]} mm², weight in water {weight[0]} ± {weight[1]} mN"
    if drag.dressing_factor is None:
        return text
    return (
        f"{text}; it drags like {drag.dressing_factor:.1f} bare beads (drag coefficient {drag.drag_coefficient:.2f} on "
        f"the bead's frontal area, Reynolds number {drag.reynolds:.0f})"
    )


def _drops(result: BenchResult) -> list[str]:
    """Return a line for each drop; its flags stand last and go on below each other where they are many."""
    rows = [_HEADS, *(_drop(number, drop) for number, drop in enumerate(result.drops, 1))]
    lines = aligned(rows, [True] * len(_HEADS))
    hung = " " * (2 + max(map(len, lines)) + 2)
    flags = ["flags", *(" ".join(drop.flags_told) for drop in result.drops)]
    width = max(map(len, lines))
    return [
        paragraph(f"  {line:<{width}}  {told}".rstrip(), "", hung)
        for line, told in zip(lines, flags, strict=True)
    ]


def _handled(result: BenchResult) -> list[str]:
    """Return what went down and was no drop: whoever counted the drops looks for it."""
    count = result.left_out.get(LIFTED_AGAIN, 0)
    return [paragraph(f"  Left out: {count} {LIFTED_AGAIN}", "", "    ")] if count else []


def _drop(number: int, measured: MeasuredDrop) -> tuple[str, ...]:
    drop, fit = measured.drop, measured.fit
    speed, spread, share, frames = "not used", "", "-", len(drop.times)
    if fit is not None:
        share = f"{100 * fit.terminal_share:.1f} %"
        if any(flag in COMPARED for flag in measured.flags):
            speed = f"not used ({rounded(fit.terminal_speed * 100, COVERAGE_FACTOR * measured.uncertainty * 100)[0]})"
        if measured.used:
            speed, spread = rounded(fit.terminal_speed * 100, COVERAGE_FACTOR * measured.uncertainty * 100)
            frames = int(fit.used.sum())
    return (str(number), f"{drop.times[0]:.2f}", speed, spread, share, str(frames))


def _budget(result: BenchResult) -> str:
    """Return the main sources, k = 1, in percent of the speed."""
    speed, total = result.sink_speed or 1.0, result.standard_uncertainty or 1.0
    shown = [line for line in result.budget if line.standard_uncertainty > _NEGLIGIBLE * total]
    parts = [f"{line.source} {100 * line.standard_uncertainty / speed:.2f} %" for line in shown]
    freedom = result.degrees_of_freedom or math.inf
    tail = f" ({freedom:.0f} degrees of freedom)" if freedom < _MANY else ""
    together = f"together {100 * total / speed:.2f} % of the speed, k = 1{tail}"
    return _labelled("uncertainty", f"{', '.join(parts)}; {together}")


def _flags(result: BenchResult) -> list[str]:
    return [
        paragraph(f"{flag}: {FLAGS[flag].meaning} {FLAGS[flag].cure}", "  ", "    ")
        for flag in result.all_flags
    ]
