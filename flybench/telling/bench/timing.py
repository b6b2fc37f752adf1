"""A fly timed by hand, in words and as machine form."""

from __future__ import annotations

from typing import Any

from flybench.bench.verdict.flags import FLAGS
from flybench.jobs.bench.timing import TimedRun
from flybench.quantity import COVERAGE_FACTOR
from flybench.rounding import speed_text
from flybench.telling.numbers import percent
from flybench.telling.table import paragraph
from flybench.telling.wording import counted
from flybench.version import __version__

_TOLD_HERE = {
    "tank-unknown": "Nothing says how large the tank is, so the speed in free water cannot be worked out. Give --tank-width "
    "and --tank-depth, or --tank-diameter.",
    "few-drops": "Only two drops were timed. Time three to six.",
    "single-drop": "Only one drop was timed, so how well drops repeat had to be assumed. Time three to six.",
}
"""Flags in the words of this command, which has neither sheet nor clip."""


def timed_lines(run: TimedRun) -> list[str]:
    """Return the speed first, then what it rests on."""
    found, free = run.found, run.free
    drops = counted(len(found.drops), "drop")
    speed = speed_text(found.speed, COVERAGE_FACTOR * found.standard_uncertainty)
    lines = [paragraph(f"USABLE: {speed} in the tank, k = 2, from {drops} timed by hand")]
    if free is not None:
        told = speed_text(free.speed, COVERAGE_FACTOR * free.uncertainty)
        slower = percent(1 - free.wall_factor, 1)
        lines.append(_labelled("free water", f"{told}; the walls of the tank took {slower} of it"))
    start = percent(found.start_up, 1)
    lines.append(
        _labelled("start", f"a fly loses time until it sinks at its full speed; {start} was added for that")
    )
    shares = [
        f"{line.source} {percent(line.standard_uncertainty / found.speed, 1)}"
        for line in found.budget
        if line.standard_uncertainty > 0
    ]
    whole = percent(found.standard_uncertainty / found.speed, 1)
    lines.append(_labelled("uncertainty", f"{', '.join(shares)}; together {whole} of the speed, k = 1"))
    return lines + [
        paragraph(
            f"{flag}: {_TOLD_HERE.get(flag, f'{FLAGS[flag].meaning} {FLAGS[flag].cure}')}", "  ", "    "
        )
        for flag in run.flags
    ]


def _labelled(label: str, text: str) -> str:
    """Return a paragraph hung beside its label."""
    return paragraph(f"  {label:<11}  {text}", "", " " * 15)


def timed_record(run: TimedRun) -> dict[str, Any]:
    """Return the machine form: SI units, null where not known."""
    found, free = run.found, run.free
    return {
        "flybench": __version__,
        "timed": {
            "distance_m": run.timing.distance.value,
            "run_up_m": run.timing.run_up.value,
            "times_s": list(run.timing.times),
            "speeds_m_s": found.drops.tolist(),
        },
        "sink_speed_m_s": found.speed,
        "standard_uncertainty_m_s": found.standard_uncertainty,
        "coverage_factor": COVERAGE_FACTOR,
        "expanded_uncertainty_m_s": COVERAGE_FACTOR * found.standard_uncertainty,
        "free_water": None
        if free is None
        else {
            "sink_speed_m_s": free.speed,
            "standard_uncertainty_m_s": free.uncertainty,
            "wall_factor": free.wall_factor,
        },
        "budget": [
            {"source": line.source, "standard_uncertainty_m_s": line.standard_uncertainty}
            for line in found.budget
        ],
        "flags": run.flags,
        "verdict": "usable",
    }
