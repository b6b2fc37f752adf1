"""How well a tracked fall can give the terminal speed at best: the Cramér-Rao bound of the fall fit.

The fit frees terminal speed, response time, start speed and start depth together; each costs
precision. White tracking noise is assumed; noise that is alike from frame to frame makes it worse.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache

import numpy as np

from flybench.hydraulics import falling
from flybench.quantity import Floats

PARAMETERS = ("terminal_speed", "response_time", "start_speed", "start_depth")
_STEP = 1e-4
_SAME = 1e-9
"""Columns of the Jacobian that differ by less, relatively, count as the same."""


def frame_times(
    column: float, frame_rate: float, terminal_speed: float, response_time: float, start_speed: float = 0.0
) -> Floats:
    """Return the times of the frames that see the fly between the top and the bottom of the column.

    Parameters: column, visible height [m]; frame_rate [Hz]; terminal_speed [m/s]; response_time [s];
    start_speed at the top, from 0 [m/s]. Returns: times since the top [s].
    """
    longest = column / terminal_speed + response_time * math.log(2)
    times = np.arange(math.floor(longest * frame_rate) + 1) / frame_rate
    seen: Floats = times[falling.depth(times, terminal_speed, response_time, start_speed) <= column]
    return seen


def jacobian(times: Floats, terminal_speed: float, response_time: float, start_speed: float) -> Floats:
    """Return how the depth at each time follows each of PARAMETERS, by central differences; shape (n, 4)."""
    at = np.array([terminal_speed, response_time, start_speed])
    steps = _STEP * np.array([terminal_speed, response_time, terminal_speed])
    columns = [
        (falling.depth(times, *(at + step)) - falling.depth(times, *(at - step))) / (2 * step.max())
        for step in np.diag(steps)
    ]
    return np.stack([*columns, np.ones_like(times)], axis=-1)


def speed_bound(
    times: Floats,
    noise: float,
    terminal_speed: float,
    response_time: float,
    start_speed: float = 0.0,
    free: Sequence[str] = PARAMETERS,
) -> float:
    """Return the least standard uncertainty of the terminal speed an unbiased fit can have [m/s].

    u = noise / |j_V - its part that the other free columns of J explain|, which is the root of
    noise^2 [(J^T J)^-1]_VV where J^T J has an inverse, and holds as well where the other parameters
    cannot be told from one another, as when no frame sees the transient.

    Parameters: times [s]; noise, rms of the tracked depth [m]; terminal_speed [m/s]; response_time
    [s]; start_speed [m/s]; free, names in PARAMETERS, "terminal_speed" among them.
    Returns: standard uncertainty [m/s]; infinite where the frames cannot tell it from the others.
    Reference: Kay (1993), Fundamentals of Statistical Signal Processing: Estimation Theory, ch. 3
    (from memory).
    """
    if len(times) <= len(free):
        return math.inf
    slopes = jacobian(times, terminal_speed, response_time, start_speed)
    speed = slopes[:, PARAMETERS.index("terminal_speed")]
    others = slopes[:, [PARAMETERS.index(name) for name in free if name != "terminal_speed"]]
    explained = np.linalg.lstsq(others, speed, rcond=_SAME)[0]
    own = np.linalg.norm(speed - others @ explained)
    return float(noise / own) if own > _SAME * np.linalg.norm(speed) else math.inf


@cache
def bound_per_noise(column: float, frame_rate: float, terminal_speed: float, response_time: float) -> float:
    """Return the bound for a fall from rest through the whole column, over the noise [1/s].

    Parameters: column [m]; frame_rate [Hz]; terminal_speed [m/s]; response_time [s].
    """
    times = frame_times(column, frame_rate, terminal_speed, response_time)
    return speed_bound(times, 1.0, terminal_speed, response_time)
