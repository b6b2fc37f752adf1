"""A sink speed timed by hand: times over a distance in, speed and budget out.

From rest the fly falls x = v tau ln cosh(t / tau), tau = F v / g. So over a distance L from a place that it reaches
after falling the run-up r, it takes T = t(r + L) - t(r), with t(x) = tau arcosh exp(x / (v tau)). Solved for v.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from flybench.bench.fit.drop_pooling import pool_drops
from flybench.errors import BadValueError
from flybench.quantity import Floats, Measured
from flybench.statistics.budget import BudgetLine, combined

GRAVITY = 9.80665
"""Standard acceleration of gravity [m/s2], exact by definition (CGPM 1901)."""
RESPONSE, RESPONSE_FACTOR = 2.2, 1.5
"""F, the response time over v / g [-], and its standard uncertainty as a factor: weighted flies have 1.1 to 4 (judgement)."""
PRESS = 0.05
"""Standard uncertainty of one press of the watch when something passes a mark [s], from press to press (common practice, no
source); there are two to a time."""
BIAS = 0.05
"""Standard uncertainty of what a hand adds to every time alike [s]: it stops later than it starts, or the other way round
(judgement)."""
BY_THE_CLOCK = "by-the-clock"
"""Flag of every speed that was timed by hand."""
SHORTEST = 1.7
"""Time over that of a fall without drag from which a sink speed can be told [-]: below it start-up is all there is
(judgement)."""


@dataclass(frozen=True)
class Timing:
    """What was timed: distance and run-up [m], times [s], and the step of the watch [s]."""

    distance: Measured
    times: Sequence[float]
    step: float
    run_up: Measured = field(default_factory=lambda: Measured(0.0, 0.0))


@dataclass(frozen=True)
class TimedSpeed:
    """Speed in the tank with its budget [m/s], each drop's speed, and what the start cost of it [-]."""

    speed: float
    budget: list[BudgetLine]
    drops: Floats
    start_up: float

    @property
    def standard_uncertainty(self) -> float:
        """Return the combined standard uncertainty [m/s]."""
        return combined(self.budget)


def timed_speed(timing: Timing) -> TimedSpeed:
    """Return the sink speed; raises BadValueError for times too short to tell one."""
    length, run_up = timing.distance, timing.run_up
    _check(timing)

    def speeds(more: float = 0.0, longer: float = 0.0, later: float = 0.0, factor: float = 1.0) -> Floats:
        found = [
            _speed(length.value + longer, max(run_up.value + later, 0.0), time + more, RESPONSE * factor)
            for time in timing.times
        ]
        return np.array(found)

    own = math.hypot(PRESS * math.sqrt(2.0), timing.step / math.sqrt(12.0))
    here = speeds()
    pooled = pool_drops(here, np.abs(speeds(more=own) - here))
    moved = {
        "reaction time": speeds(more=BIAS),
        "distance": speeds(longer=length.standard_uncertainty),
        "run-up before the start": speeds(later=run_up.standard_uncertainty),
        "coming to speed": speeds(factor=RESPONSE_FACTOR),
    }
    lines = [
        BudgetLine(name, float(abs(np.mean(there / here - 1.0)) * pooled.value))
        for name, there in moved.items()
    ]
    lines += [
        BudgetLine("pressing the watch", pooled.within),
        BudgetLine("drop-to-drop spread", pooled.between, pooled.degrees_of_freedom),
    ]
    plain = length.value / np.array(timing.times)
    lines.sort(key=lambda line: -line.standard_uncertainty)
    return TimedSpeed(pooled.value, lines, here, float(np.mean(1.0 - plain / here)))


def _check(timing: Timing) -> None:
    response = RESPONSE * RESPONSE_FACTOR
    fall = _falling(timing.distance.value, timing.run_up.value, response)
    short = min(timing.times)
    if short < SHORTEST * fall:
        raise BadValueError(
            "times",
            f"{short:g} s over {timing.distance.value * 100:.3g} cm is hardly longer than the fly takes to come to its speed",
            f"Time a longer fall, so that it takes {SHORTEST * fall:.2g} s or more, or film it: flybench bench measure",
        )


def _falling(length: float, run_up: float, response: float) -> float:
    """Return how long the distance takes without drag [s]: x = g t^2 / (2 F)."""
    ends = [math.sqrt(2.0 * x * response / GRAVITY) for x in (run_up, run_up + length)]
    return ends[1] - ends[0]


def time_taken(speed: float, length: float, run_up: float, response: float) -> float:
    """Return how long a fly of this sink speed [m/s] takes over a distance after a run-up [m] from rest [s]."""
    tau = response * speed / GRAVITY
    ends = [x / (speed * tau) for x in (run_up, run_up + length)]
    # arcosh(exp a) = a + ln(1 + sqrt(1 - exp(-2 a))), which does not overflow
    start, end = (a + math.log1p(math.sqrt(-math.expm1(-2.0 * a))) for a in ends)
    return tau * (end - start)


def _speed(length: float, run_up: float, time: float, response: float) -> float:
    """Return the sink speed that takes this time [m/s]."""
    from scipy.optimize import brentq  # slow to load, and needed only here

    plain = length / time
    found: float = brentq(lambda v: time_taken(v, length, run_up, response) - time, 0.5 * plain, 20.0 * plain)
    return found
