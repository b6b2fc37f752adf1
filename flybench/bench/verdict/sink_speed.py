"""From fitted drops to one sink speed: pooled, budgeted, taken to free water, and turned into drag."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.clock import Clock
from flybench.bench.clip.orientation import Orientation
from flybench.bench.fit.drop_pooling import pool_drops, wetting_trend
from flybench.bench.fit.residual_shape import Drift, common_drift, shape_of
from flybench.bench.sheet.settings import ScaleSettings, Settings
from flybench.bench.track.spotting import Spot
from flybench.bench.verdict.agreement import clock_factor
from flybench.bench.verdict.budget import FallInPixels, scale_uncertainty, shared_doubts
from flybench.bench.verdict.drop_flags import paths_width, share_skipped
from flybench.bench.verdict.free_water import MOST_WALL_DOUBT, drag, free_water
from flybench.bench.verdict.points_doubt import points_doubts
from flybench.bench.verdict.result import BenchResult, FreeWater, MeasuredDrop
from flybench.bench.verdict.sway import breath_doubts, sway_doubts
from flybench.bench.view.geometry import Geometry
from flybench.statistics.budget import BudgetLine, combined
from flybench.statistics.pooling import Pooled

Floats = NDArray[np.float64]

DIFFERING = 0.04
"""Standard deviation of drops over their speed from which they differ more than a fly usually does [-]: over twice the
usual 1.5 % (judgement)."""
ROOMY = 15.0
"""Widths of the fly in the shortest side of a tank that needs no warning [-]: the walls then slow it by 2 to 5 %,
known to a standard uncertainty of 2 % at most (``hydraulics.walls``; the limit is a judgement)."""
DRIFTING = 0.03
"""Change of speed on the way down, the same in all drops, from which it is flagged, over the speed [-]: as much as a good
result may be uncertain by (judgement)."""
_SIGNIFICANT = 3.0
"""Standard uncertainties of such a change that it must have as well [-]: one clip in some four hundred by chance."""
FITTED_VALUES = 4
"""What a fall is fitted with [-]: terminal speed, response time, start speed and start depth."""


def conclude(
    result: BenchResult,
    spots: list[Spot],
    down: Floats,
    geometry: Geometry,
    clock: Clock,
    orientation: Orientation,
) -> BenchResult:
    """Return the result with its used drops pooled; there must be at least one."""
    used, settings = result.used_drops, geometry.settings
    falls = [_fall(drop, spots, down) for drop in used]
    doubts = shared_doubts(falls, geometry, clock, orientation)
    drift = common_drift([shape_of(fall.fit) for fall in falls])
    doubts |= _drifting(drift, len(falls))
    doubts |= sway_doubts(result.flags, falls, geometry) | _shadow_doubts(falls)
    doubts |= breath_doubts([drop.growth for drop in used])
    speeds = np.array([fall.fit.terminal_speed for fall in falls])
    open_points, point_flags = points_doubts(geometry, falls, orientation)
    doubts |= {name: np.full(len(falls), doubt) for name, doubt in open_points.items()}
    doubts |= _clock_doubts(result, len(falls), orientation.may_be_edited)
    own = np.array([drop.uncertainty for drop in used])
    pooled = pool_drops(speeds, own)
    budget = _budget(pooled, falls, doubts)
    width = paths_width(used)
    free = free_water(settings, pooled.value, combined(budget), width)
    dragged, drag_flags = drag(settings, free.speed, free.uncertainty) if free else (None, [])
    return replace(
        result,
        scale_relative_uncertainty=scale_uncertainty(doubts),
        drops=_with_shared(result.drops, own, speeds, doubts),
        sink_speed=pooled.value,
        budget=budget,
        drop_spread=pooled.spread,
        free_water=free,
        drag=dragged,
        flags=[
            *result.flags,
            *point_flags,
            *drag_flags,
            *_pooled_flags(pooled, speeds, own),
            *_wall_flags(free, width, settings),
            *(["gap-doubt"] if _against_the_card(width, settings.scale, result.flags) else []),
            *(["drifting-speed"] if _drifts(drift) else []),
        ],
    )


def _clock_doubts(result: BenchResult, drops: int, may_be_edited: bool) -> dict[str, Floats]:
    """Return by how much the speed would be another one if the times were; anywhere between is as likely (GUM 4.3.7)."""
    conformed = 1.0 if result.time_base is None else result.time_base.conformed
    factors = {
        "played slower than filmed": conformed - 1.0,
        "part of the clip in slow motion": (clock_factor(result.drops, may_be_edited) or 1.0) - 1.0,
        "pictures left out": share_skipped(result.drops),
    }
    return {name: np.full(drops, far / math.sqrt(3.0)) for name, far in factors.items() if far > 0}


def _shadow_doubts(falls: list[FallInPixels]) -> dict[str, Floats]:
    """Return by how much the speed would be another one if the shadow was taken for the fly (evenly likely, GUM 4.3.7)."""
    open_to = np.array([fall.drop.shadow_doubt for fall in falls]) / math.sqrt(3.0)
    return {"shadow taken for the fly": open_to} if np.any(open_to > 0) else {}


def _drifts(drift: Drift) -> bool:
    return abs(drift.change) > max(DRIFTING, _SIGNIFICANT * drift.uncertainty)


def _drifting(drift: Drift, drops: int) -> dict[str, Floats]:
    """Return the doubt about which of the speeds on the way is the fly's: all of the change beyond chance.

    A change that dies away ends beyond the speeds that were seen: a current or a hackle that takes 0.3 to 1 s to settle
    shifts the speed by 0.9 to 1.7 times the change (simulated here).
    """
    doubt = drift.beyond_chance
    return {"speed changing on the way down": np.full(drops, doubt)} if doubt > 0 else {}


def _with_shared(
    drops: list[MeasuredDrop], own: Floats, speeds: Floats, doubts: dict[str, Floats]
) -> list[MeasuredDrop]:
    """Return the drops, the used ones with the doubts that all share put into their uncertainty."""
    shared = np.sqrt(np.sum([relative**2 for relative in doubts.values()], axis=0))
    totals = iter(np.hypot(own, speeds * shared))
    return [replace(drop, uncertainty=float(next(totals))) if drop.used else drop for drop in drops]


def _fall(measured: MeasuredDrop, spots: list[Spot], down: Floats) -> FallInPixels:
    assert measured.fit is not None
    pixels = np.array([[spots[row].x, spots[row].y] for row in measured.drop.rows])
    return FallInPixels(measured.drop, pixels, measured.fit, down)


def _budget(pooled: Pooled, falls: list[FallInPixels], doubts: dict[str, Floats]) -> list[BudgetLine]:
    """Return the lines [m/s], largest first."""
    freedom = float(sum(max(int(fall.fit.used.sum()) - FITTED_VALUES, 1) for fall in falls))
    history = float(np.mean([fall.fit.history_uncertainty for fall in falls]))
    reading = float(np.sqrt(max(pooled.within**2 - history**2 / len(falls), 0.0)))
    lines = [
        BudgetLine("reading the track", reading, freedom),
        BudgetLine("drop-to-drop spread", pooled.between, pooled.degrees_of_freedom),
        BudgetLine("history force", history),
    ]
    lines += [
        BudgetLine(name, float(abs(np.mean(relative)) * pooled.value)) for name, relative in doubts.items()
    ]
    return sorted(lines, key=lambda line: -line.standard_uncertainty)


def _pooled_flags(pooled: Pooled, speeds: Floats, own: Floats) -> list[str]:
    checks = {
        "single-drop": pooled.count == 1,
        "few-drops": pooled.count == 2,
        "drops-differ": pooled.count > 1 and float(np.std(speeds, ddof=1)) > DIFFERING * pooled.value,
        "wetting": wetting_trend(speeds, own) is not None,
    }
    return [flag for flag, raised in checks.items() if raised]


def _against_the_card(width: float, scale: ScaleSettings, flags: list[str]) -> bool:
    """Tell whether a fly of this width [m] would touch the card at the gap that was typed, and it was not yet told."""
    told = not scale.card or not scale.gap_known or "gap-doubt" in flags
    return not told and scale.gap.value < width / 2


def _wall_flags(free: FreeWater | None, width: float, settings: Settings) -> list[str]:
    """Tell whether the tank is too narrow: by the fly's width, or by what nobody knows of its walls' effect."""
    side = settings.tank.shortest_side
    unsure = free is not None and free.tank_doubt > MOST_WALL_DOUBT
    return ["narrow-tank"] if unsure or (side is not None and width > side / ROOMY) else []
