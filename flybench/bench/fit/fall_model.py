"""The fall as its four fitted values see it: depths, slopes, and how well a track can give the speed.

``values`` are terminal speed [m/s], logarithm of the response time [s], start speed [m/s] and start depth
[m]; the fit frees all four together, and each costs precision. The bound is that of white noise; noise
that is alike from frame to frame makes it worse.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache

import numpy as np

from flybench.hydraulics import falling_body as falling
from flybench.quantity import Floats

ALL = (0, 1, 2, 3)
"""Indices of the values: terminal speed, logarithm of response time, start speed, start depth."""
_SAME = 1e-9
"""Columns of the Jacobian that differ by less, relatively, count as the same."""


def from_rest(terminal_speed: float, response_time: float) -> Floats:
    """Return the values of a fall from rest."""
    return np.array([terminal_speed, math.log(response_time), 0.0, 0.0])


def depth_of(values: Floats, t: Floats) -> Floats:
    """Return the depth [m] at times since the start [s]."""
    v, log_tau, v0, y0 = values
    tau = math.exp(log_tau)
    if v0 < 0:
        return np.asarray(y0 + falling.depth(t, v, tau, v0))
    x, _, grown = _grown(t, v, tau, v0)
    return np.asarray(y0 + v * tau * (x + np.log(grown)))


def _grown(t: Floats, v: float, tau: float, v0: float) -> tuple[Floats, Floats, Floats]:
    """Return x = t / tau, h = sinh(x) / exp(x) and (cosh x + u sinh x) / exp(x), u = v0 / v, for the law of
    ``hydraulics.falling_body``: unchecked, as the fit asks for it thousands of times, and good to 1e-16 v tau."""
    x = t / tau
    h = -0.5 * np.expm1(-2.0 * x)
    return x, h, 1.0 + (v0 / v - 1.0) * h


def scales(values: Floats) -> Floats:
    """Return by how much each value may well change."""
    return np.array([max(abs(values[0]), 0.01), 1.0, max(abs(values[0]), 0.01), 0.1])


def jacobian(values: Floats, t: Floats) -> Floats:
    """Return d depth / d values, shape (n, 4): in closed form, by central differences for a start upwards."""
    v, log_tau, v0, _ = values
    if v0 < 0:
        return _by_differences(values, t)
    tau, u = math.exp(log_tau), v0 / v
    x, h, grown = _grown(t, v, tau, v0)
    fallen, pushed = x + np.log(grown), h / grown
    speed = (h + u * (1.0 - h)) / grown
    columns = (tau * (fallen - u * pushed), v * tau * (fallen - x * speed), tau * pushed, np.ones(len(t)))
    return np.stack(columns, axis=1)


def _by_differences(values: Floats, t: Floats) -> Floats:
    steps = 1e-5 * scales(values)
    columns = []
    for i, h in enumerate(steps):
        shift = np.zeros(4)
        shift[i] = h
        columns.append((depth_of(values + shift, t) - depth_of(values - shift, t)) / (2 * h))
    return np.stack(columns, axis=1)


def answer(values: Floats, t: Floats, tightness: float) -> Floats:
    """Return d terminal speed / d depth of each frame [1/s]: how plain least squares answers.

    ``tightness`` [m2] holds the logarithm of the response time: the track's variance over the prior's.
    """
    slopes = jacobian(values, t)
    prior = np.diag([0.0, tightness, 0.0, 0.0])
    return np.asarray(np.linalg.solve(slopes.T @ slopes + prior, slopes.T)[0])


def bound(times: Floats, values: Floats, sigma: float, free: Sequence[int] = ALL) -> float:
    """Return the Cramér-Rao bound of the terminal speed's standard deviation [m/s].

    u = sigma / |j_V - its part that the other free columns of J explain|, which is the root of
    sigma^2 [(J^T J)^-1]_VV where J^T J has an inverse, and holds as well where the other values
    cannot be told from one another, as when no frame sees the approach.

    Parameters: times [s]; values at the first of them; sigma, rms of the tracked depth [m]; free, which
    values are fitted, 0 among them.
    Returns: standard uncertainty [m/s]; infinite where the frames cannot tell the speed from the others.
    Reference: Kay (1993), Fundamentals of Statistical Signal Processing: Estimation Theory, ch. 3
    (from memory).
    """
    if len(times) <= len(free):
        return math.inf
    slopes = jacobian(values, times - times[0])
    others = slopes[:, [index for index in free if index != 0]]
    explained = np.linalg.lstsq(others, slopes[:, 0], rcond=_SAME)[0]
    own = np.linalg.norm(slopes[:, 0] - others @ explained)
    return float(sigma / own) if own > _SAME * np.linalg.norm(slopes[:, 0]) else math.inf


def frame_times(column: float, frame_rate: float, terminal_speed: float, response_time: float) -> Floats:
    """Return the times [s] of the frames that see a fall from rest until the bottom of the column [m]."""
    longest = column / terminal_speed + response_time * math.log(2)
    times = np.arange(math.floor(longest * frame_rate) + 1) / frame_rate
    seen: Floats = times[falling.depth(times, terminal_speed, response_time) <= column]
    return seen


@cache
def bound_per_noise(column: float, frame_rate: float, terminal_speed: float, response_time: float) -> float:
    """Return the bound for a fall from rest through the whole column, over the noise [1/s].

    Parameters: column [m]; frame_rate [Hz]; terminal_speed [m/s]; response_time [s].
    """
    times = frame_times(column, frame_rate, terminal_speed, response_time)
    return bound(times, from_rest(terminal_speed, response_time), 1.0)
