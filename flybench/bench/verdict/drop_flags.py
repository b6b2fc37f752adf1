"""What is wrong with a drop or a clip: numbers in, flags out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.clock import Clock
from flybench.bench.fit.fall import FallFit
from flybench.bench.sheet.settings import Settings
from flybench.bench.track.drops import Drop
from flybench.bench.track.sightings import Seen
from flybench.bench.verdict.result import MeasuredDrop
from flybench.bench.view.geometry import Geometry

Floats = NDArray[np.float64]

TERMINAL = 0.90
"""Least share of terminal speed from which the rest is extrapolated at all."""
NEAR_TERMINAL = 0.97
FEWEST_FRAMES = 12
_WORST_FIT = 0.05
_TILT_DEGREES = 6.0
_SWING = 0.35
_TURNED = np.radians(60.0)
_ELONGATED = 1.4
_WALL_WIDTHS = 2.5
_LEAP = 0.001
_ODD_LEAST = 0.06
_JITTER = 0.15
_MISSING = 0.02


def drop_flags(drop: Drop, fit: FallFit | None, down: Floats, geometry: Geometry) -> tuple[list[str], float]:
    """Return a drop's flags and the angle of its path from the vertical of the card [degrees]."""
    path = drop.places[-1] - drop.places[0]
    tilt = float(np.degrees(np.arctan2(path[0], path[1])))
    slant = float(np.degrees(np.arccos(np.clip(path @ down / np.linalg.norm(path), -1, 1))))
    checks = {
        "two-flies": drop.together,
        "too-few-frames": fit is None,
        "tilted-path": max(abs(tilt), slant) > _TILT_DEGREES,
        "near-wall": _near_wall(drop, geometry),
        "tumbling": _tumbles(drop),
    }
    if fit is not None:
        checks |= _fit_checks(drop, fit) | {"spiralling-path": _swings(drop, fit, down)}
    return [flag for flag, raised in checks.items() if raised], tilt


def _fit_checks(drop: Drop, fit: FallFit) -> dict[str, bool]:
    share, doubt = fit.terminal_share, fit.share_uncertainty
    speed = fit.terminal_speed
    loose = fit.fit_uncertainty > _WORST_FIT * speed
    rough = float(np.sqrt(np.mean(fit.residuals[fit.used] ** 2)))
    length = float(np.ptp(fit.depths))
    still_changing = share - doubt < TERMINAL
    return {
        "not-terminal": still_changing,
        "extrapolated": not still_changing and share < NEAR_TERMINAL,
        "poor-fit": (loose and not still_changing)
        or rough > max(0.35 * drop.length, 0.03 * length)
        or _leaps(drop, fit),
    }


def _leaps(drop: Drop, fit: FallFit) -> bool:
    """Tell whether the path leaps from one frame to the next and stays off, as no fly in water can.

    The card or the phone was bumped, or two things were joined. A single misread frame leaps back and is
    left to the fit.
    """
    t = fit.times - fit.times[0]
    off = np.column_stack(
        [drop.places[:, 0] - np.polyval(np.polyfit(t, drop.places[:, 0], 1), t), fit.residuals]
    )
    over_two = np.linalg.norm(off[2:] - off[:-2], axis=1)
    over_two[t[2:] - t[:-2] > 1.5 * np.median(t[2:] - t[:-2])] = 0.0
    far = over_two > _LEAP + 5.0 * float(np.percentile(over_two, 75))
    return bool(np.any(far[1:] & far[:-1]))


def _swings(drop: Drop, fit: FallFit, down: Floats) -> bool:
    """Tell whether the path swings sideways by a good part of the fly's length, back and forth."""
    across = drop.places @ np.array([down[1], -down[0]])
    t = fit.times - fit.times[0]
    off = across - np.polyval(np.polyfit(t, across, 1), t)
    return bool(np.std(off) > max(_SWING * drop.length, 0.0025))


def _tumbles(drop: Drop) -> bool:
    """Tell whether the longer axis turned right over; a round fly shows no axis to judge by."""
    if drop.length < _ELONGATED * drop.breadth:
        return False
    turn = np.unwrap(2.0 * drop.leans) / 2.0
    low, high = np.percentile(turn, [5, 95])
    return bool(high - low > _TURNED)


def _near_wall(drop: Drop, geometry: Geometry) -> bool:
    """Tell whether the path came near a side wall, taking the card to stand in the middle of the tank."""
    width = geometry.settings.tank.width or geometry.settings.tank.diameter
    if width is None or not geometry.settings.scale.card:
        return False
    middle = float(np.mean([geometry.known.places[:, 0].min(), geometry.known.places[:, 0].max()]))
    off = float(np.max(np.abs(drop.places[:, 0] - geometry.sign * middle)))
    return width / 2 - off < _WALL_WIDTHS * drop.breadth


def odd_drops(measured: list[MeasuredDrop]) -> list[MeasuredDrop]:
    """Flag usable drops that are far from the middle one of at least three."""
    used = [drop for drop in measured if drop.used]
    if len(used) < 3:
        return measured
    middle = float(np.median([drop.fit.terminal_speed for drop in used if drop.fit]))
    far = {
        id(drop)
        for drop in used
        if drop.fit
        and abs(drop.fit.terminal_speed / middle - 1.0) > _ODD_LEAST + 3 * drop.uncertainty / middle
    }
    return [replace(drop, flags=[*drop.flags, "odd-drop"]) if id(drop) in far else drop for drop in measured]


def paths_width(used: list[MeasuredDrop]) -> float:
    """Return the fly's usual extent across the fall [m]."""
    widths = []
    for measured in used:
        drop = measured.drop
        lean = float(np.median(np.abs(drop.leans)))
        widths.append(np.hypot(drop.length * np.sin(lean), drop.breadth * np.cos(lean)))
    return float(np.median(widths))


def clip_flags(seen: Seen, clock: Clock, settings: Settings) -> list[str]:
    """Return what is doubtful about the file, its clock and the tank as a whole."""
    tally, promised = seen.tally, seen.promised
    checks = {
        "clip-damaged": tally.broken > 0 or tally.decoded < 0.98 * promised - 1,
        "frames-missing": clock.missing > _MISSING * max(tally.decoded, 1),
        "uneven-clock": clock.jitter > _JITTER or tally.unordered > 0,
        "slow-motion-guessed": clock.guessed,
        "rolling-shutter": seen.orientation.rows_run_along_fall and settings.camera.readout is None,
        "tank-unknown": settings.tank.shortest_side is None,
    }
    return [flag for flag, raised in checks.items() if raised]
