"""What is wrong with a drop or a clip: numbers in, flags out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.clock import Clock, Source
from flybench.bench.fit.fall import FallFit
from flybench.bench.fit.residual_shape import shape_of
from flybench.bench.sheet.settings import Settings
from flybench.bench.track.drop import Drop
from flybench.bench.track.observations import Observations
from flybench.bench.verdict.result import MeasuredDrop
from flybench.bench.view.geometry import Geometry

Floats = NDArray[np.float64]

TERMINAL = 0.90
"""Least share of terminal speed from which the rest is extrapolated at all [-]: over the last tenth the history force, left
out of the fit, makes up to 0.7 % of the speed (``fall.left_out_share``); beyond it the form of the law would carry
the answer (judgement)."""
NEAR_TERMINAL = 0.97
"""Share of terminal speed above which the end of a fall counts as settled [-]: what is left is within the 3 % that a good
result may be uncertain by (judgement)."""
_WORST_FIT = 0.05
"""Standard uncertainty of a drop's fit over its speed from which the drop is refused [-]: it would tell two speed bands
(26 % apart, ISO 3 R10) from one another only just, k = 2 (judgement)."""
_ROUGH_BY_FLY, _ROUGH_BY_FALL = 0.35, 0.03
"""Rms residual from which a track is no free fall: over the fly's length, and over the length of the fall [-]; whichever is
more. A fly wanders by a part of its own length, not by more than a third (judgement)."""
_LATE_CHANGE, _LATE_DOUBTS = 0.15, 2.0
"""Change of speed late in a fall, beyond what the fit has, from which it is no free fall, over the speed [-], and standard
uncertainties added to it [-]: 500 simulated free falls each that are even, light, rock by 0.5 or by 1.2 mm reach it in 0,
0, 0 and 0.6 of a hundred, a hand's smooth reach always and an uneven hand in 64 (simulated here)."""
_SPEED_SWING, _SLOW_M = 0.10, 0.0005
"""Swing of the speed about the fit's from which it is told, over the speed [-]: a fly that rocks by 0.5 mm has 0.03, a ball
in waves that quicken and slow it by 30 % has 0.2; and the swing of its place that goes with it at least [m], which reading
noise averaged over 80 ms does not reach (judgement)."""
_TILT_DEGREES = 6.0
"""Slant of a path from which it is flagged [degrees]: read along the vertical it is then 0.5 % short (1 - cos 6 degrees),
and a sideways speed of a tenth of the sinking speed is no chance (judgement)."""
_SIDEWAYS_DEGREES = 45.0
"""Slant of a path from which it is no fall [degrees]: it moves across more than down."""
_SWING, _SWING_M = 0.35, 0.0025
"""Rms swing sideways about a straight path from which it is flagged: over the fly's length [-], and at least so much [m],
below which a small fly's swing does not matter (judgement)."""
_TURNED = np.radians(60.0)
"""Turn of the longer axis from which a fly tumbles [rad]: swinging flies stay within some 30 degrees to either side
(judgement)."""
_TURN_PERCENTILES = (5, 95)
"""Which leans are taken for the ends of a turn [percentiles]: single misread frames are left out."""
_ELONGATED = 1.4
"""Length over breadth from which a fly shows an axis at all [-]: rounder ones give an axis of chance (judgement)."""
_WALL_WIDTHS = 2.5
"""Distance from a side wall, in breadths of the fly, below which it is flagged [-]: in the middle of a tank as narrow as
is advised, fifteen breadths, it has three times as much (judgement)."""
_LEAP, _LEAP_SCATTERS = 0.001, 5.0
"""Change of the residual over two frames that no fly in water makes: a floor [m], and what is added to it, in upper
quartiles of those changes [-], so that a rough track does not leap everywhere (judgement)."""
_WIDE_GAP = 1.5
"""Time over two frames, in its median, from which a leap is not looked for [-]: with a frame missing the fly moves on."""
_HELD = 0.1
"""Share of pictures shown twice from which it is told [-]: a recording that fits 27 pictures a second to 30 has so many;
fewer alter a fall's times by less than its readings do (judgement)."""
_LEAST_SKIPPED, _SKIPPED = 4, 0.03
"""Pictures that steps show to be left out in all drops of a clip, and their share, from which it is told [-]: single misread
ones come by chance, and a speed that is 3 % too high is as much as a good result may be uncertain by (judgement)."""
_JITTER = 0.15
"""Spread of the gaps between frames, over the median gap, from which the clock is doubted [-]: phones keep to a few
hundredths (common practice, no source); from there on the times may be made up (judgement)."""
_MISSING = 0.02
"""Share of frames missing from which it is noted [-]: one in fifty; the rest carry their own times (judgement)."""
_DECODED = 0.98
"""Share of the promised frames below which, and one frame more, the clip counts as damaged [-]: files count one frame
differently at their ends (judgement)."""


def drop_flags(drop: Drop, fit: FallFit | None, down: Floats, geometry: Geometry) -> tuple[list[str], float]:
    """Return a drop's flags and the angle of its path from the vertical of the card [degrees]."""
    path = drop.places[-1] - drop.places[0]
    tilt = float(np.degrees(np.arctan2(path[0], path[1])))
    slant = float(np.degrees(np.arccos(np.clip(path @ down / np.linalg.norm(path), -1, 1))))
    checks = {
        "two-flies": drop.together,
        "shadow-or-fly": drop.shadow_doubt > 0.0,
        "stopped-on-the-way": drop.stopped,
        "too-few-frames": fit is None,
        "sideways": abs(tilt) > _SIDEWAYS_DEGREES,
        "tilted-path": max(abs(tilt), slant) > _TILT_DEGREES,
        "near-wall": _near_wall(drop, geometry),
        "tumbling": _tumbles(drop),
        "held-pictures": drop.held > _HELD,
        "blended-pictures": drop.blended,
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
    shape = shape_of(fit)
    handled = abs(shape.change) > _LATE_CHANGE + _LATE_DOUBTS * shape.change_uncertainty
    return {
        "not-terminal": still_changing,
        "extrapolated": not still_changing and share < NEAR_TERMINAL,
        "poor-fit": (loose and not still_changing)
        or rough > max(_ROUGH_BY_FLY * drop.length, _ROUGH_BY_FALL * length)
        or (handled and not still_changing)
        or _leaps(drop, fit),
        "uneven-speed": shape.swing > _SPEED_SWING and shape.slow > _SLOW_M,
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
    over_two[t[2:] - t[:-2] > _WIDE_GAP * np.median(t[2:] - t[:-2])] = 0.0
    far = over_two > _LEAP + _LEAP_SCATTERS * float(np.percentile(over_two, 75))
    return bool(np.any(far[1:] & far[:-1]))


def _swings(drop: Drop, fit: FallFit, down: Floats) -> bool:
    """Tell whether the path swings sideways by a good part of the fly's length, back and forth."""
    across = drop.places @ np.array([down[1], -down[0]])
    t = fit.times - fit.times[0]
    off = across - np.polyval(np.polyfit(t, across, 1), t)
    return bool(np.std(off) > max(_SWING * drop.length, _SWING_M))


def _tumbles(drop: Drop) -> bool:
    """Tell whether the longer axis turned right over; a round fly shows no axis to judge by."""
    if drop.length < _ELONGATED * drop.breadth:
        return False
    turn = np.unwrap(2.0 * drop.leans) / 2.0
    low, high = np.percentile(turn, _TURN_PERCENTILES)
    return bool(high - low > _TURNED)


def _near_wall(drop: Drop, geometry: Geometry) -> bool:
    """Tell whether the path came near a side wall, taking the card to stand in the middle of the tank."""
    width = geometry.settings.tank.width or geometry.settings.tank.diameter
    if width is None or not geometry.settings.scale.card:
        return False
    middle = float(
        np.mean([geometry.scale_points.places[:, 0].min(), geometry.scale_points.places[:, 0].max()])
    )
    off = float(np.max(np.abs(drop.places[:, 0] - geometry.sign * middle)))
    return width / 2 - off < _WALL_WIDTHS * drop.breadth


def paths_width(used: list[MeasuredDrop]) -> float:
    """Return the fly's usual extent across the fall [m]."""
    widths = []
    for measured in used:
        drop = measured.drop
        lean = float(np.median(np.abs(drop.leans)))
        widths.append(np.hypot(drop.length * np.sin(lean), drop.breadth * np.cos(lean)))
    return float(np.median(widths))


def share_skipped(drops: list[MeasuredDrop]) -> float:
    """Return the share of pictures that the steps of all drops show to be left out, though the times are even [-].

    0 where they are so few that they may be misread.
    """
    skipped = sum(one.drop.skipped for one in drops)
    share = skipped / max(skipped + sum(len(one.drop.times) for one in drops), 1)
    return share if skipped >= _LEAST_SKIPPED and share > _SKIPPED else 0.0


def clip_flags(observed: Observations, clock: Clock, settings: Settings) -> list[str]:
    """Return what is doubtful about the file, its clock and the tank as a whole."""
    tally, promised = observed.tally, observed.promised
    checks = {
        "clip-damaged": tally.broken > 0 or tally.decoded < _DECODED * promised - 1,
        "frames-missing": clock.missing > _MISSING * max(tally.decoded, 1),
        "uneven-clock": clock.jitter > _JITTER or tally.unordered > 0,
        "times-contradicted": observed.times_doubt.header_ratio != 1.0 and clock.source is not Source.TYPED,
        "slow-motion-guessed": clock.guessed,
        "rolling-shutter": observed.orientation.rows_run_along_fall and settings.camera.readout is None,
        "turn-not-told": observed.orientation.turn_is_baked_in,
        "tank-unknown": settings.tank.shortest_side is None,
    }
    return [flag for flag, raised in checks.items() if raised]
