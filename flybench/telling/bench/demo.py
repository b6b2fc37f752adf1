"""The demo in words: each step as it comes, and at the end what was measured beside what is true."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from flybench.jobs.demo import CATALOG, DemoFly, Heading, RiverSeen, ShelfSeen, Step, Untied
from flybench.quantity import COVERAGE_FACTOR
from flybench.rounding import speed_text
from flybench.shop.next_fly.gaps import WIDER_THAN
from flybench.telling.bench.measurement import verdict_line
from flybench.telling.table import aligned, paragraph
from flybench.telling.wording import counted

_HEADS = ("fly", "measured, k = 2", "true", "")
_UNTIED_HEADS = ("variant", "predicted", "95 of 100", "true", "off by")


def step_lines(step: Step) -> list[str]:
    """Return what happens in a step."""
    if isinstance(step, Heading):
        return [_heading(step)]
    if isinstance(step, DemoFly):
        return [paragraph(verdict_line(step.result), "   ")]
    if isinstance(step, ShelfSeen):
        return [paragraph(line, "   ") for line in _shelf(step)]
    if isinstance(step, RiverSeen):
        return [paragraph(_river(step), "   ")]
    return [
        f"   {line}"
        for line in aligned([_UNTIED_HEADS, *(_untied(one) for one in step)], [False, *[True] * 4])
    ]


def _heading(step: Heading) -> str:
    what = {
        "card": f"The scale card, to print and to stand in the tank: {step.name}",
        "clip": f"{step.name}: a rendered clip of an invented fly, measured with its sheet",
        "shop": "The rest of the invented shop: its runs are simulated, not filmed, and fitted as those of clips are; with "
        "weights, stock, and labels for the drawers",
        "untied": "Flies that nobody tied yet, predicted from those, and what is true of them",
        "rivers": "A box of four of these flies in three invented waters",
    }
    return paragraph(f"{step.number}. {what[step.part]}", "", "   ")


def _shelf(seen: ShelfSeen) -> list[str]:
    """Return what is on the shelf: how many flies, how far apart, and how many speeds hold the truth."""
    slowest, fastest = seen.rungs[0], seen.rungs[-1]
    pairs = zip(seen.rungs, seen.rungs[1:], strict=False)
    gaps = [(low, high) for low, high in pairs if high.speed > WIDER_THAN * low.speed]
    return [
        f"{counted(len(seen.rungs), 'measured fly', 'measured flies')}, from {slowest.code} at {_cm(slowest.speed)} to "
        f"{fastest.code} at {_cm(fastest.speed)} cm/s; {counted(seen.runs, 'simulated run')} gave a speed",
        f"Of {seen.known} simulated flies the true speed lies inside the ± (k = 2) of {seen.inside}",
        f"{counted(seen.ties, 'group')} of neighbours cannot be told apart (k = 2)",
        *(f"A gap: nothing between {_cm(low.speed)} and {_cm(high.speed)} cm/s" for low, high in gaps),
    ]


def _cm(speed: float) -> str:
    return f"{100 * speed:.1f}"


def _untied(one: Untied) -> tuple[str, ...]:
    low, high = (100 * end for end in one.interval)
    off = 100 * (one.predicted / one.truth - 1)
    return (
        one.code,
        f"about {100 * one.predicted:.0f}",
        f"{low:.0f} to {high:.0f}",
        f"{_cm(one.truth)} cm/s",
        f"{abs(off):.0f} %",
    )


def _river(seen: RiverSeen) -> str:
    water = seen.water
    return (
        f"{water.depth} deep, {water.surface_speed} at the surface, {water.temperature.replace('degC', '°C')}, "
        f"{water.bed} bed: {seen.point} as point and {seen.dropper} as dropper, down within {seen.landing:.1f} m in "
        f"{100 * seen.down:.0f} of 100 drifts"
    )


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
        "  drift.png: the rig in the last of the waters, seen from the side",
        "  labels.pdf: labels for drawers",
        f"  {CATALOG}: the shop's catalog, all of it invented; look around in it with",
        f"    flybench ladder --catalog {place / CATALOG}",
        f"    flybench sink gaps --catalog {place / CATALOG}",
        paragraph("Delete the folder when you have seen enough. Next:  flybench bench card --help"),
    ]


def _row(fly: DemoFly) -> tuple[str, str, str, str]:
    speed, doubt = fly.result.sink_speed, fly.result.standard_uncertainty
    measured = "no sink speed"
    if speed is not None and doubt is not None:
        measured = speed_text(speed, COVERAGE_FACTOR * doubt)
    return fly.name, measured, f"{100 * fly.truth:.2f} cm/s", "inside" if fly.holds else "OUTSIDE"
