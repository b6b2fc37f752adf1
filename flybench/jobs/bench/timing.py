"""A sink speed timed by hand: what was asked, worked out with its budget and taken to free water."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from flybench.bench.by_clock.asked import read_timing
from flybench.bench.by_clock.timed import BY_THE_CLOCK, TimedSpeed, Timing, timed_speed
from flybench.bench.sheet.read import read_sheet
from flybench.bench.sheet.settings import Settings
from flybench.bench.verdict.free_water import free_water
from flybench.bench.verdict.result import FreeWater
from flybench.quantity import parse_inside
from flybench.shop.speeds.set_ups import NO_SCALE

FLY_WIDTH = "6 mm"
"""Widest side of a fly across its fall where none is given, hackle included (judgement)."""
_WIDTHS = (0.0005, 0.05)


@dataclass(frozen=True)
class TimedRun:
    """What was timed, the speed in the tank, and the speed in free water where the tank is known."""

    timing: Timing
    found: TimedSpeed
    free: FreeWater | None
    settings: Settings
    asked: dict[str, Any] = field(default_factory=dict)
    """What the user wrote, so that it can be kept with the run."""

    @property
    def flags(self) -> list[str]:
        """Return what is doubtful about it."""
        count = len(self.timing.times)
        few = {1: ["single-drop"], 2: ["few-drops"]}.get(count, [])
        return [BY_THE_CLOCK, *few, *([] if self.free else ["tank-unknown"])]


def time_run(
    distance: str,
    times: Sequence[str],
    run_up: str | None,
    tables: Mapping[str, Mapping[str, Any]],
    fly_width: str | None = None,
) -> TimedRun:
    """Return the speed of a fly timed over a distance; raises BadValueError naming what is wrong."""
    timing = read_timing(distance, times, run_up)
    width = parse_inside(
        fly_width or FLY_WIDTH, "m", "--fly-width", *_WIDTHS, "Measure it across, hackle included."
    )
    settings = read_sheet({**tables, "scale": NO_SCALE})
    found = timed_speed(timing)
    free = free_water(settings, found.speed, found.standard_uncertainty, width)
    asked = {"distance": distance, "times": list(times)} | ({} if run_up is None else {"run_up": run_up})
    return TimedRun(timing, found, free, settings, asked)
