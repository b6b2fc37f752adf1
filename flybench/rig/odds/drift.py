"""One rig's drift: where each fly goes, with its fan over what is not known."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from flybench.quantity import Floats, inside
from flybench.rig.chain.simulate import simulate, steps
from flybench.rig.chain.state import ChainState
from flybench.rig.chain.watchers import Recorder, Tally
from flybench.rig.odds.doubts import airborne_flags, outcome_flags, rig_flags, skating_flags
from flybench.rig.odds.draws import Draws, best_estimate, drawn, rigs_of_draws
from flybench.rig.odds.goal import Goal, Outcomes, outcomes_of
from flybench.rig.tackle.leader import Rig
from flybench.rig.water.current import Current
from flybench.rig.water.level import check_level

SAMPLE = 0.1
"""Time between the samples of a drift [s] (judgement: a fly moves 10 cm at the most)."""
MOST_DRAWS = 4000
"""Most draws of one drift (judgement: some ten seconds of work)."""
DRAWS = 200
"""Draws where no number is given (judgement): a share is then good to about 0.03 (k = 1)."""
_PERCENTILES = (5.0, 50.0, 95.0)
"""What is shown of the draws [%]: the middle one, and the ends between which nine of ten lie."""
MOMENTS = 9
"""Moments at which the whole line is kept, the first and the last among them (judgement: more lines hide each other)."""
WANTED = Goal()
"""What is wanted where nothing is said."""
_MEANS = ("down", "touched", "at_level", "on_bed", "dropper", "dropper_on_bed")
"""Of what comes of the draws, what is told by its mean."""


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
class SideSeen:
    """What a picture from the side shows besides the paths.

    Depths are shares of the way from the surface down to the stones' tops of each draw's own water [-], so that flies on
    the bed of shallower or deeper water are on the bed. moments, places among the drift's times; line_x, from where the
    line met the water at time 0 [m], and line_down, of the line's nodes from its top to the point, medians (moments,
    nodes); down, of each fly at every time, medians (flies, times), and down_low and down_high, 5 and 95 % of the point.
    """

    moments: tuple[int, ...]
    line_x: Floats
    line_down: Floats
    down: Floats
    down_low: Floats
    down_high: Floats


@dataclass(frozen=True)
class Drift:
    """A drift over all draws.

    times [s]; flies, droppers from the top and the point last; tension [N] and angle off the vertical [rad] of the
    line where it enters the water, medians; time_to_level [s] and way_to_level [m], time and way of the point from
    where it landed until it first came down to the fish's level; share_reached, of the draws that came there;
    goal, what was wanted; landing, way within which the point is down in the wanted share of draws, infinite where it
    is not [m]; useful_from, when the useful drift begins [s]; share_down, of the draws that are down in time to fish;
    share_touched, of those in which a fly touched the bed; and of the useful drift share_at_level, that the point is at
    the level and not on the bed, share_on_bed, that it lies on the bed, and the same of the droppers: means [-];
    floor, depth of the stones' tops [m]; flags, words of flags.FLAGS; draws, their number; seen, what a picture shows
    besides.
    """

    times: Floats
    flies: tuple[FlyPath, ...]
    tension: Floats
    angle: Floats
    time_to_level: Fan
    way_to_level: Fan
    share_reached: float
    goal: Goal
    landing: float
    useful_from: float
    share_down: float
    share_touched: float
    share_at_level: float
    share_on_bed: float
    dropper_at_level: float
    dropper_on_bed: float
    floor: float
    flags: tuple[str, ...]
    draws: int
    seen: SideSeen


def drift(
    rig: Rig,
    current: Current,
    seconds: float | None = None,
    draws: int = DRAWS,
    seed: int = 1,
    goal: Goal = WANTED,
    turbulence: bool = True,
    taken: Draws | None = None,
) -> Drift:
    """Return one rig's drift.

    Parameters: seconds of drift [s], None for as long as the goal and the water want it; draws of depth, surface speed,
    bed, sink speeds, weights, line drag, slack, bumps and the water's up and down, 0 for the best estimate in level
    water alone; seed, fixes them; goal, what is wanted; taken, draws that were made already, instead of draws and seed.
    Range: 0.5 to 60 s, 0 to 4000 draws. Raises BadValueError outside, and for a level that is not in this water.
    """
    goal = goal if seconds is None else replace(goal, seconds=seconds)
    inside(
        "draws",
        draws,
        0,
        MOST_DRAWS,
        "",
        "Give a number such as 200: a share is then good to about 0.03 (k = 1).",
    )
    check_level(goal.level, current)
    seconds = goal.longest(current, rig.tackle)
    if taken is None:
        flies, number = len(rig.flies), len(steps(seconds))
        taken = drawn(draws, flies, number, seed, turbulence) if draws else best_estimate(flies)
    return _drift(rig, current, seconds, taken, goal)


def _drift(rig: Rig, current: Current, seconds: float, taken: Draws, goal: Goal) -> Drift:
    rigs, noise = rigs_of_draws(current, rig.tackle, rig.flies, [range(len(rig.flies))], taken)
    rigs = rigs.single()
    grid = np.asarray(np.arange(math.floor(seconds / SAMPLE + 1e-9) + 1) * SAMPLE, dtype=float)
    moments = tuple(int(place) for place in np.linspace(0, len(grid) - 1, MOMENTS).round())
    recorder, tally = (
        Recorder(rigs, grid, moments),
        Tally(rigs, goal.level, seconds, goal.dropper_level),
    )

    def watch(time: float, dt: float, state: ChainState) -> bool:
        recorder(time, dt, state)
        return tally(time, dt, state)

    simulate(rigs, steps(seconds), watch, noise)
    came = outcomes_of(tally, rigs, goal, seconds, 1)
    mean = {name: float(np.mean(getattr(came, name))) for name in _MEANS}
    return Drift(
        times=recorder.times,
        flies=_paths(rig, recorder),
        tension=np.median(recorder.tension, axis=-1),
        angle=np.median(recorder.angle, axis=-1),
        time_to_level=fan(tally.reached),
        way_to_level=fan(tally.way),
        share_reached=float(np.mean(np.isfinite(tally.reached))),
        goal=goal,
        landing=float(came.landing[0]),
        useful_from=float(came.begin[0]),
        share_down=mean["down"],
        share_touched=mean["touched"],
        share_at_level=mean["at_level"],
        share_on_bed=mean["on_bed"],
        dropper_at_level=mean["dropper"],
        dropper_on_bed=mean["dropper_on_bed"],
        floor=current.floor,
        flags=_flags(rig, current, goal, came, recorder),
        draws=taken.count,
        seen=_seen(recorder, moments, rigs.floor),
    )


def _flags(rig: Rig, current: Current, goal: Goal, came: Outcomes, recorder: Recorder) -> tuple[str, ...]:
    """Return what is doubtful of a drift: words of flags.FLAGS, each once."""
    *droppers, point = np.median(recorder.depth, axis=-1)
    raised = [
        *rig_flags(rig, current, goal),
        *outcome_flags(float(np.mean(came.down)), float(came.landing[0]), float(np.mean(came.on_bed))),
        *skating_flags(point),
        *(flag for path in droppers for flag in airborne_flags(path)),
    ]
    return tuple(dict.fromkeys(raised))


def _seen(recorder: Recorder, moments: tuple[int, ...], floor: Floats) -> SideSeen:
    """Return what a picture from the side shows besides the paths; ``floor`` of each draw [m]."""
    line_x, line_down = np.median(recorder.line[0], axis=-1), np.median(recorder.line[1] / floor, axis=-1)
    low, middle, high = np.percentile(recorder.depth / floor, _PERCENTILES, axis=-1)
    return SideSeen(moments, line_x, line_down, middle, low[-1], high[-1])


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
