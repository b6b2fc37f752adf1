"""One rig's drift: where each fly goes, with its fan over what is not known."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from flybench.errors import BadValueError
from flybench.quantity import Floats, inside
from flybench.rig.chain.record import BAND, Band, Recorder, Tally
from flybench.rig.chain.state import State
from flybench.rig.chain.time_steps import run, steps
from flybench.rig.odds.draws import Draws, batch, best_estimate, drawn
from flybench.rig.tackle.leader import Hold, Rig, Tackle
from flybench.rig.water.current import Current

SAMPLE = 0.1
"""Time between the samples of a drift [s]."""
LONGEST = 60.0
"""Longest drift [s]."""
MOST_DRAWS = 4000
"""Most draws of one drift."""
HELD_BACK = 0.7
"""Lead over surface speed below which the current lifts the flies [-]."""
_PERCENTILES = (5.0, 50.0, 95.0)


@dataclass(frozen=True)
class Fan:
    """Median of all draws with the 5 % and 95 % points; infinite where never reached."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class FlyPath:
    """One fly; x downstream from where the line met the water at time 0, depth below the surface [m]: the median
    with the 5 % and 95 % points at each time; speed [m/s], weight [N]."""

    role: str
    name: str
    speed: float
    weight: float
    x: Floats
    x_low: Floats
    x_high: Floats
    depth: Floats
    depth_low: Floats
    depth_high: Floats


@dataclass(frozen=True)
class Drift:
    """A drift over all draws.

    times [s]; flies, droppers from the top and the point last; tension [N] and angle off the vertical [rad] of the
    line where it enters the water, medians; time_to_band [s] and drift_to_band [m], the way of the point from
    where it landed until it first came down to the band; share_reached, of the draws that came there;
    share_in_band, of the drift that the point is in the band and not on the bed; share_grounded, that it lies on
    the bed: means; floor, depth of the stones' tops [m]; flags, words of flags.FLAGS.
    """

    times: Floats
    flies: tuple[FlyPath, ...]
    tension: Floats
    angle: Floats
    time_to_band: Fan
    drift_to_band: Fan
    share_reached: float
    share_in_band: float
    share_grounded: float
    floor: float
    flags: tuple[str, ...]
    draws: int


def drift(
    rig: Rig,
    current: Current,
    seconds: float,
    draws: int = 200,
    seed: int = 1,
    band: Band = BAND,
    turbulence: bool = True,
) -> Drift:
    """Return one rig's drift.

    Parameters: seconds of drift; draws of depth, surface speed, bed, sink speeds, weights, line drag, slack and the
    water's up and down, 0 for the best estimate in level water alone; seed, fixes them; band, heights above the
    stones' tops [m].
    Raises BadValueError for a drift of no or more than 60 s, too many draws, or a band that is none.
    """
    inside("seconds", seconds, 0.5, LONGEST, "s", "Give the length of a drift, such as 8 s.")
    inside("draws", draws, 0, MOST_DRAWS, "", "200 tell a share to about 0.03.")
    check_band(band, current)
    times = steps(seconds)
    taken = (
        drawn(draws, len(rig.flies), len(times), seed, turbulence) if draws else best_estimate(len(rig.flies))
    )
    return _drift(rig, current, seconds, taken, band)


def leader_flags(tackle: Tackle, current: Current, band: Band) -> tuple[str, ...]:
    """Return the flag of a leader that cannot reach down to the band, if it is such."""
    return ("leader-short",) if tackle.length < current.floor - band.high else ()


def check_band(band: Band, current: Current) -> None:
    """Refuse a band that is none, or lies above the surface."""
    if not 0 <= band.low < band.high <= current.floor:
        problem = f"{band.low:g} to {band.high:g} m above the stones' tops is no band in {current.floor:g} m of water"
        raise BadValueError("band", problem, "Give two heights from 0 up, the lower first.")


def _drift(rig: Rig, current: Current, seconds: float, taken: Draws, band: Band) -> Drift:
    rigs, noise = batch(current, rig.tackle, rig.flies, [range(len(rig.flies))], taken)
    grid = np.asarray(np.arange(math.floor(seconds / SAMPLE + 1e-9) + 1) * SAMPLE, dtype=float)
    recorder, tally = (
        Recorder(rigs, grid),
        Tally(rigs, band, np.full(rigs.count, seconds)),
    )

    def watch(time: float, dt: float, state: State) -> bool:
        recorder(time, dt, state)
        return tally(time, dt, state)

    run(rigs, steps(seconds), watch, noise)
    reached = np.isfinite(tally.reached)
    return Drift(
        times=recorder.times,
        flies=_paths(rig, recorder),
        tension=np.median(recorder.tension, axis=-1),
        angle=np.median(recorder.angle, axis=-1),
        time_to_band=fan(tally.reached),
        drift_to_band=fan(tally.way),
        share_reached=float(np.mean(reached)),
        share_in_band=float(np.mean(tally.in_band)),
        share_grounded=float(np.mean(tally.on_bed)),
        floor=current.floor,
        flags=current.flags + leader_flags(rig.tackle, current, band) + _flags(rig, current, reached, tally),
        draws=taken.count,
    )


def fan(values: Floats) -> Fan:
    """Return the median with the 5 % and 95 % points, of draws that were made: infinite ones count."""
    low, middle, high = (float(np.percentile(values, share, method="inverted_cdf")) for share in _PERCENTILES)
    return Fan(low, middle, high)


def _paths(rig: Rig, recorder: Recorder) -> tuple[FlyPath, ...]:
    """Return each fly's path."""
    x, depth = (np.percentile(part, _PERCENTILES, axis=-1) for part in (recorder.x, recorder.depth))
    return tuple(
        FlyPath(
            role,
            fly.name,
            fly.speed.value,
            fly.weight.value,
            x[1, number],
            x[0, number],
            x[2, number],
            depth[1, number],
            depth[0, number],
            depth[2, number],
        )
        for number, (role, fly) in enumerate(zip(rig.roles, rig.flies, strict=True))
    )


def _flags(rig: Rig, current: Current, reached: Floats, tally: Tally) -> tuple[str, ...]:
    """Return the flags of rig and drift."""
    raised = []
    speeds = [fly.speed.value for fly in rig.flies]
    if speeds[-1] < max(speeds):
        raised.append("point-slower")
    lead = {Hold.STILL: 0.0, Hold.FLOATING: np.inf}.get(rig.tackle.hold, rig.tackle.lead_speed or 0.0)
    if lead < HELD_BACK * current.surface_speed.value:
        raised.append("held-back")
    if np.mean(reached) < 0.5:
        raised.append("band-not-reached")
    if np.mean(tally.on_bed) > 0.5:
        raised.append("mostly-grounded")
    return tuple(raised)
