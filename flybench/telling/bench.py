"""A bench result in words: the verdict first, then what it rests on."""

from __future__ import annotations

from flybench.bench.verdict.flags import FLAGS
from flybench.bench.verdict.result import COVERAGE_FACTOR, BenchResult, MeasuredDrop
from flybench.flag import Weight
from flybench.quantity import rounded, speed_text

_NEGLIGIBLE = 0.1


def verdict_line(result: BenchResult) -> str:
    """Return the first line: the verdict and the speed, or why there is none."""
    if result.sink_speed is None or result.standard_uncertainty is None:
        return f"REFUSED: no sink speed. {refusal(result)}"
    speed = speed_text(result.sink_speed, COVERAGE_FACTOR * result.standard_uncertainty)
    count = len(result.used_drops)
    return f"{result.verdict.upper()}: {speed} in the tank, k = 2, from {count} drop{'s' * (count != 1)}"


def refusal(result: BenchResult) -> str:
    """Return in one sentence why a result was refused."""
    if not result.drops:
        seen = ", ".join(f"{count} {why}" for why, count in result.left_out.items())
        return f"No drop found: {seen or 'nothing moved'}." + _hint(result)
    why = [flag for drop in result.drops for flag in drop.flags if FLAGS[flag].weight is Weight.REFUSAL]
    reasons = " ".join(FLAGS[flag].meaning for flag in dict.fromkeys(why))
    return f"{len(result.drops)} seen, none usable. {reasons}"


def _hint(result: BenchResult) -> str:
    rising = any(why.startswith("rose") for why in result.left_out)
    if rising and "card-upside-down" in result.flags:
        return " The picture stands on its head: turn the clip the right way up."
    return " Film the fly falling freely past the scale, whole column in view."


def in_words(result: BenchResult) -> list[str]:
    """Return everything worth telling, line by line."""
    lines = [verdict_line(result), *_speeds(result), ""]
    if result.drops:
        lines += [*_drops(result), ""]
    if result.budget:
        lines += [_budget(result), ""]
    return lines + _flags(result)


def _speeds(result: BenchResult) -> list[str]:
    lines = []
    if result.free_water is not None:
        free = result.free_water
        speed = speed_text(free.speed, COVERAGE_FACTOR * free.uncertainty)
        lines.append(f"  free water  {speed}; the walls took {100 * (1 - free.wall_factor):.1f} %")
    if result.drag is not None:
        lines += _drag(result)
    clip = result.clip
    slow = f", played {clip.stretch:g} times slower" if clip.stretch != 1 else ""
    lines.append(
        f"  clip        {clip.width} x {clip.height} px upright, {clip.frames} frames at "
        f"{clip.capture_rate_hz:.4g} a second{slow}; {result.metres_per_px * 1e3:.4f} mm a pixel"
    )
    return lines


def _drag(result: BenchResult) -> list[str]:
    drag = result.drag
    assert drag is not None
    area = rounded(drag.drag_area * 1e6, COVERAGE_FACTOR * drag.drag_area_uncertainty * 1e6)
    weight = rounded(drag.submerged_weight * 1e3, COVERAGE_FACTOR * drag.submerged_weight_uncertainty * 1e3)
    lines = [f"  drag        {area[0]} ± {area[1]} mm² at {weight[0]} ± {weight[1]} mN in water"]
    if drag.dressing_factor is not None:
        lines.append(
            f"              drags like {drag.dressing_factor:.1f} bare beads; coefficient "
            f"{drag.drag_coefficient:.2f} on the bead's frontal area, Reynolds number {drag.reynolds:.0f}"
        )
    return lines


def _drops(result: BenchResult) -> list[str]:
    lines = ["  drop   at s   cm/s     ±  terminal  frames  flags"]
    return lines + [_drop(number, drop) for number, drop in enumerate(result.drops, 1)]


def _drop(number: int, measured: MeasuredDrop) -> str:
    drop, fit = measured.drop, measured.fit
    flags = " ".join(measured.flags)
    if fit is None or not measured.used:
        share = f"{100 * fit.terminal_share:8.1f}%" if fit else f"{'-':>9}"
        return f"  {number:>4} {drop.times[0]:6.2f}  {'not used':>12} {share}  {len(drop.times):>6}  {flags}"
    speed, spread = rounded(fit.terminal_speed * 100, COVERAGE_FACTOR * measured.uncertainty * 100)
    share = f"{100 * fit.terminal_share:8.1f}%"
    return f"  {number:>4} {drop.times[0]:6.2f} {speed:>6} {spread:>6} {share}  {int(fit.used.sum()):>6}  {flags}".rstrip()


def _budget(result: BenchResult) -> str:
    """Return the main sources, k = 1, in percent of the speed."""
    speed, total = result.sink_speed or 1.0, result.standard_uncertainty or 1.0
    shown = [line for line in result.budget if line.standard_uncertainty > _NEGLIGIBLE * total]
    parts = [f"{line.source} {100 * line.standard_uncertainty / speed:.2f} %" for line in shown]
    freedom = result.degrees_of_freedom or float("inf")
    tail = f"; {freedom:.0f} degrees of freedom" if freedom < 1000 else ""
    return f"  uncertainty (k = 1)  {', '.join(parts)}; together {100 * total / speed:.2f} %{tail}"


def _flags(result: BenchResult) -> list[str]:
    return [f"  {flag}: {FLAGS[flag].meaning} {FLAGS[flag].cure}" for flag in result.all_flags]
