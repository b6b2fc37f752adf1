"""The demo in words: each step as it comes, and at the end what was measured beside what is true."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from flybench.jobs.demo import CATALOG, RIVER, DemoFly, DemoRiver, Heading, Step
from flybench.quantity import COVERAGE_FACTOR, speed_text
from flybench.telling.bench.measurement import verdict_line
from flybench.telling.table import aligned, paragraph
from flybench.telling.wording import counted

_HEADS = ("fly", "measured, k = 2", "true", "")


def step_lines(step: Step) -> list[str]:
    """Return what happens in a step."""
    if isinstance(step, Heading):
        return [_heading(step)]
    if isinstance(step, DemoFly):
        return [paragraph(verdict_line(step.result), "   ")]
    return [paragraph(line, "   ") for line in _river(step)]


def _heading(step: Heading) -> str:
    what = {
        "card": f"The scale card, to print and to stand in the tank: {step.name}",
        "clip": f"{step.name}: a rendered clip of an invented fly, measured with its sheet",
        "catalog": "The catalog of invented flies, with these measured ones, and labels for their drawers",
        "river": f"What these speeds become in a river: {_river_words()}",
    }
    return paragraph(f"{step.number}. {what[step.part]}", "", "   ")


def _river_words() -> str:
    warmth = RIVER.temperature.replace("degC", "°C")
    return f"{warmth}, {RIVER.depth} deep, {RIVER.surface_speed} at the surface, {RIVER.bed} bed"


def _river(river: DemoRiver) -> list[str]:
    low, high = (100 * end for end in river.interval)
    return [
        *(
            f"{one.name}: {speed_text(one.speed, COVERAGE_FACTOR * one.uncertainty)}, {_changed(one.change)}"
            for one in river.speeds
        ),
        f"{river.untied}, which is not tied yet: about {100 * river.predicted:.0f} cm/s; 95 of 100 such flies sink at "
        f"{low:.0f} to {high:.0f} cm/s",
        f"The rig to tie on: {river.point} as point and {river.dropper} as dropper. They are down within "
        f"{river.target:g} m in {100 * river.in_time:.0f} of 100 drifts.",
    ]


def _changed(change: float) -> str:
    """Return a ratio of speeds in words."""
    return f"{abs(100 * (change - 1)):.1f} % {'slower' if change < 1 else 'faster'}"


def lines(place: Path, flies: Sequence[DemoFly]) -> list[str]:
    """Return what was measured beside the truth, which files were written, and what to do next.

    The name of the folder may hold bytes that are no text; the caller shows it as it can.
    """
    rows = [_HEADS, *(_row(fly) for fly in flies)]
    files = [f"  {fly.report.name}: the report page of {fly.name}, also as .pdf" for fly in flies]
    return [
        "",
        paragraph("Measured, and the truth from which the clips were rendered:"),
        *(f"  {line}" for line in aligned(rows, [False, False, True, False])),
        "",
        f"{counted(len(flies), 'report page')} and the rest are in",
        f"  {place}",
        *files,
        "  moss-hackle-drawn.mp4: the clip with track and fit drawn into it",
        "  drift.png: the rig in the river, seen from the side",
        "  labels.pdf: labels for drawers",
        f"  {CATALOG}: the catalog; look around in it with",
        f"    flybench ladder --catalog {place / CATALOG}",
        paragraph("Delete the folder when you have seen enough. Next:  flybench bench card --help"),
    ]


def _row(fly: DemoFly) -> tuple[str, str, str, str]:
    speed, doubt = fly.result.sink_speed, fly.result.standard_uncertainty
    measured = "no sink speed"
    if speed is not None and doubt is not None:
        measured = speed_text(speed, COVERAGE_FACTOR * doubt)
    return fly.name, measured, f"{100 * fly.truth:.2f} cm/s", "inside" if fly.holds else "OUTSIDE"
