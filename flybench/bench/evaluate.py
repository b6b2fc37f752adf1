"""From what a clip showed to a result: spots joined, cut into drops, fitted, pooled and budgeted.

The same for a clip that was just read and for one whose spots were saved.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.clock import Clock
from flybench.bench.fit.fall import FallFit, fit_fall
from flybench.bench.fit.response_number import response_profile
from flybench.bench.fit.stretch_evidence import filled_share
from flybench.bench.sheet.left_out import check_numbers
from flybench.bench.track.drop import Drop
from flybench.bench.track.drops import Findings, find_drops
from flybench.bench.track.joining import join
from flybench.bench.track.observations import Observations, placed_spots
from flybench.bench.track.repeats import shown_before
from flybench.bench.verdict.agreement import clock_factor, compared, two_clocks
from flybench.bench.verdict.drop_flags import clip_flags, drop_flags, paths_width, share_skipped
from flybench.bench.verdict.flags import refuses
from flybench.bench.verdict.free_water import submerged_weight
from flybench.bench.verdict.result import BenchResult, ClipFacts, MeasuredDrop
from flybench.bench.verdict.sink_speed import conclude
from flybench.bench.verdict.time_base import density_ratio, judged, seen_drag
from flybench.bench.verdict.upright import against_the_card, on_its_head
from flybench.bench.view.geometry import Geometry
from flybench.bench.view.tank_view import scale_flags

Floats = NDArray[np.float64]

READING_NOISE_PX = 0.1
"""First guess of the scatter of one reading [px]."""
FEWEST_FITTED = 12
"""Fewest frames from which a fall is fitted; below it four values are not told apart from noise."""


@dataclass(frozen=True)
class Evaluation:
    """A result, and the vertical on the fall plane, shape (2,)."""

    result: BenchResult
    down: Floats


def evaluate(observed: Observations, geometry: Geometry, clock: Clock) -> Evaluation:
    """Return the result for these spots under this geometry and clock; it may have no speed."""
    findings, rising = _findings(observed, geometry, clock)
    down = _down(findings.drops)
    edited = observed.orientation.may_be_edited
    fitted = _breathed(_measured(findings, geometry, down), observed)
    measured = two_clocks(compared(fitted), edited)
    measured = _refused(_upright(measured, rising, geometry), observed.flags)
    result = _unpooled(observed, geometry, clock, measured, findings)
    if result.used_drops:
        result = _timed(result, geometry, clock)
    if result.used_drops:
        result = conclude(result, observed.spots, down, geometry, clock, observed.orientation)
    return Evaluation(result, down)


def _findings(observed: Observations, geometry: Geometry, clock: Clock) -> tuple[Findings, list[Drop]]:
    """Join the spots to tracks and the tracks to drops; what rises as a drop falls is looked for without an upright card."""
    if not observed.spots:
        return Findings([], Counter()), []
    sightings = placed_spots(observed, geometry, clock)
    tracks = join(sightings)
    found = find_drops(sightings, tracks, geometry.metres_per_px)
    if not found.drops or (geometry.settings.scale.card and geometry.sign > 0):
        return found, []
    turned = replace(sightings, places=sightings.places * np.array([1.0, -1.0]))
    return found, find_drops(turned, tracks, geometry.metres_per_px).drops


def _upright(measured: list[MeasuredDrop], rising: list[Drop], geometry: Geometry) -> list[MeasuredDrop]:
    """Flag the usable drops where the picture seems to stand on its head."""
    noise = READING_NOISE_PX * geometry.metres_per_px
    drops = [one.drop for one in measured if one.used]
    turned = geometry.settings.scale.card and geometry.sign < 0
    flag = "against-the-card" if turned else "picture-on-its-head"
    judge = against_the_card if turned else on_its_head
    if not drops or not (turned or rising) or not judge(drops, rising, noise):
        return measured
    return [replace(one, flags=[*one.flags, flag]) if one.used else one for one in measured]


def _breathed(measured: list[MeasuredDrop], observed: Observations) -> list[MeasuredDrop]:
    """Return the drops, those with what the picture grew by that fell while it breathed."""
    growths = [observed.growth(one.drop.rows) for one in measured]
    return [
        replace(one, growth=growth, flags=[*one.flags, "picture-breathes"]) if growth else one
        for one, growth in zip(measured, growths, strict=True)
    ]


def _refused(measured: list[MeasuredDrop], flags: list[str]) -> list[MeasuredDrop]:
    """Return the drops, the usable ones with what the sample pictures tell against all of them."""
    against = [flag for flag in flags if refuses([flag])]
    return [replace(one, flags=[*one.flags, *against]) if one.used else one for one in measured]


def _down(drops: Iterable[Drop]) -> Floats:
    """Return the vertical on the fall plane: the middle direction of all paths."""
    paths = np.array([drop.places[-1] - drop.places[0] for drop in drops])
    if not len(paths):
        return np.array([0.0, 1.0])
    slant = float(np.median(paths[:, 0] / paths[:, 1]))
    return np.asarray(np.array([slant, 1.0]) / np.hypot(slant, 1.0))


def _measured(findings: Findings, geometry: Geometry, down: Floats) -> list[MeasuredDrop]:
    """Fit every drop and look for what is wrong with it."""
    noise = READING_NOISE_PX * geometry.metres_per_px
    measured = []
    without = geometry.settings.without
    check_numbers(without, len(findings.drops))
    again = shown_before(findings.drops, geometry.metres_per_px)
    for number, drop in enumerate(findings.drops, 1):
        fit = fit_fall(drop.times, drop.places @ down, noise) if len(drop.times) >= FEWEST_FITTED else None
        flags, tilt = drop_flags(drop, fit, down, geometry)
        flags += ["left-out"] if number in without else []
        flags += ["repeated-drop"] if again[number - 1] else []
        own = 0.0 if fit is None else _own(fit)
        measured.append(MeasuredDrop(drop, fit, own, tilt, flags, without.get(number, "")))
    return measured


def _own(fit: FallFit) -> float:
    """Return the uncertainty that a drop shares with no other [m/s]."""
    return float(np.hypot(fit.fit_uncertainty, fit.history_uncertainty))


def _unpooled(
    observed: Observations, geometry: Geometry, clock: Clock, measured: list[MeasuredDrop], findings: Findings
) -> BenchResult:
    """Return what is known before the drops are pooled: a result without a speed."""
    flags = observed.flags + scale_flags(geometry) + clip_flags(observed, clock, geometry.settings)
    flags = [flag for flag in flags if flag != "card-upside-down" or not geometry.on_its_side]
    flags += ["picture-on-its-side"] if geometry.on_its_side else []
    flags += ["another-clock"] if clock_factor(measured, observed.orientation.may_be_edited) else []
    flags += ["pictures-left-out"] if share_skipped(measured) else []
    return BenchResult(
        _facts(observed, clock),
        geometry.settings.scale.source,
        geometry.metres_per_px,
        0.0,
        measured,
        None,
        flags=flags,
        left_out=dict(findings.left_out),
    )


def _timed(result: BenchResult, geometry: Geometry, clock: Clock) -> BenchResult:
    """Return the result with what the falls tell of the clock."""
    used, settings = result.used_drops, geometry.settings
    noise = READING_NOISE_PX * geometry.metres_per_px
    fits = [drop.fit for drop in used if drop.fit is not None]
    profiles = [response_profile(fit.times[fit.used], fit.depths[fit.used], noise) for fit in fits]
    speed = float(np.median([fit.terminal_speed for fit in fits]))
    breadth = max(paths_width(used), settings.fly.bead or 0.0)
    weight = submerged_weight(settings.fly, settings.water)
    drag = seen_drag(weight, speed, breadth, settings.water)
    density, filled = density_ratio(settings.fly, settings.water), filled_share(breadth, settings.fly.bead)
    time_base = judged(clock, profiles, speed, density, drag, filled)
    return _flagged(replace(result, time_base=time_base), time_base.flag)


def _flagged(result: BenchResult, flag: str | None) -> BenchResult:
    """Return the result with a flag on the clip or, where it refuses, on every drop that was used till then."""
    if flag is None:
        return result
    if not refuses([flag]):
        return replace(result, flags=[*result.flags, flag])
    drops = [replace(drop, flags=[*drop.flags, flag]) if drop.used else drop for drop in result.drops]
    return replace(result, drops=drops)


def _facts(observed: Observations, clock: Clock) -> ClipFacts:
    times, orientation = observed.times, observed.orientation
    return ClipFacts(
        observed.name,
        observed.sha256,
        observed.tally.decoded,
        orientation.width,
        orientation.height,
        orientation.rotation,
        float(times[-1] - times[0]) / clock.stretch,
        clock.capture_rate,
        clock.slowing,
    )
