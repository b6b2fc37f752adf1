"""A body falling through still water: closed form with quadratic drag and any start speed.

(m + m_a) dv/dt = W - k v |v|, with the terminal speed V = sqrt(W / k) and the response time
tau = (m + m_a) V / W. Speed and depth count downwards.

The history force (Basset) is left out: it slows the last approach to terminal speed. Computed
with it (kernel of Mei & Adrian 1992, J. Fluid Mech. 237, 323-341, from memory) for a 3 mm tungsten
ball over 0.3 to 1 m, a fit of this form reads 0.1 to 0.2 % low when terminal speed, response time
and start are all free, 0.2 to 1.2 % low when the response time is tied to the speed, and 1 to 4 %
low when the release point is fixed as well.

References: Timmerman & van der Weele (1999), Am. J. Phys. 67, 538-546, doi:10.1119/1.19320;
the logarithm is arranged here so that it neither overflows nor cancels.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from flybench.errors import BadValueError
from flybench.hydraulics.sphere import GRAVITY
from flybench.quantity import Floats, inside

SPHERE_ADDED_MASS = 0.5
"""Added mass of a sphere over the mass of the water it displaces [-] (Lamb, Hydrodynamics, §92)."""

_LEAST_EXCESS = 1e-9
"""Least density ratio above 1 [-]: below it the difference of densities is rounding (judgement)."""


def depth(
    t: ArrayLike, terminal_speed: ArrayLike, response_time: ArrayLike, start_speed: ArrayLike = 0.0
) -> Floats:
    """Return the depth below the start point.

    x = V tau ln[cosh(t/tau) + (v0/V) sinh(t/tau)] for v0 >= 0; a body started upwards rises
    (V tau / 2) ln[1 + (v0/V)^2] in the time tau arctan(|v0|/V), and falls from rest after it.

    Parameters: t, time since the start [s]; terminal_speed V [m/s]; response_time tau [s];
    start_speed v0 [m/s], faster than V or upwards (negative) allowed.
    Returns: depth [m].
    Range: t >= 0, V and tau above zero; BadValueError else.
    Reference: Timmerman & van der Weele (1999), see above.

    >>> round(float(depth(0.5, 0.6324555, 0.1581139, 1.0)), 6)
    0.341696
    """
    rising, falling, start = _phases(t, terminal_speed, response_time, start_speed)
    climbed = np.log1p(np.maximum(-start, 0) * np.sin(rising) - 2 * np.sin(rising / 2) ** 2)
    scale = np.multiply(terminal_speed, response_time)
    gone: Floats = (_fallen(falling, np.maximum(start, 0)) - climbed) * scale
    return gone


def speed(
    t: ArrayLike, terminal_speed: ArrayLike, response_time: ArrayLike, start_speed: ArrayLike = 0.0
) -> Floats:
    """Return the speed, downwards positive.

    v = V (u + T) / (1 + u T), T = tanh(t/tau), u = v0/V >= 0: the tanh law below V, coth above;
    v = V tan(t/tau - arctan|u|) while rising.

    Parameters, range and reference: as depth.
    Returns: speed [m/s].

    >>> round(float(speed(0.5, 0.6324555, 0.1581139, 1.0)), 6)
    0.632966
    """
    rising, falling, start = _phases(t, terminal_speed, response_time, start_speed)
    share = np.tanh(falling)
    down = np.maximum(start, 0)
    up = np.tan(rising - np.arctan(np.maximum(-start, 0)))
    shares = np.where(falling > 0, (down + share) / (1 + down * share), up + down)
    now: Floats = shares * np.asarray(terminal_speed, dtype=float)
    return now


def time_to_share(
    share: ArrayLike, terminal_speed: ArrayLike, response_time: ArrayLike, start_speed: ArrayLike = 0.0
) -> Floats:
    """Return the time until the speed is ``share`` of the terminal speed.

    t = tau artanh[(s - u) / (1 - s u)], u = v0/V >= 0; tau (arctan s + arctan|u|) while rising.

    Parameters: share s [-], between v0/V and 1, 1 itself never being reached; others as depth.
    Returns: time [s].
    Range: shares that are reached; BadValueError else. Reference: as depth.

    >>> round(float(time_to_share(0.99, 1.359, 0.150)), 3)
    0.397
    """
    _, _, start = _phases(0.0, terminal_speed, response_time, start_speed)
    wanted = np.asarray(share, dtype=float)
    climbing = np.arctan(np.maximum(-start, 0)) + np.arctan(np.minimum(wanted, 0))
    aim, down = np.broadcast_arrays(np.maximum(wanted, 0), np.maximum(start, 0))
    with np.errstate(divide="ignore", invalid="ignore"):
        tangent = np.where(aim == down, 0.0, (aim - down) / (1 - aim * down))
    reached = (climbing >= 0) & (tangent >= 0) & (tangent < 1)
    if not np.all(reached):
        problem = f"{np.broadcast_to(wanted, reached.shape)[~reached].flat[0]:.6g} is never reached"
        cure = "Give a share between that of the start and 1."
        raise BadValueError("share of terminal speed", problem, cure)
    needed: Floats = (climbing + np.arctanh(tangent)) * np.asarray(response_time, dtype=float)
    return needed


def response_time(
    terminal_speed: ArrayLike,
    density_ratio: ArrayLike,
    added_mass: ArrayLike = SPHERE_ADDED_MASS,
    gravity: float = GRAVITY,
) -> Floats:
    """Return the time scale of the approach to terminal speed.

    tau = (s + C_a) V / [(s - 1) g].

    Parameters: terminal_speed V [m/s]; density_ratio s, body over water [-]; added_mass C_a over
    the displaced mass [-]; gravity [m/s2].
    Returns: response time [s].
    Range: s above 1, V above zero, C_a from 0; BadValueError else.
    Reference: linearised about the terminal speed, see above; C_a of a sphere, Lamb, Hydrodynamics, §92.

    >>> round(float(response_time(1.359, 19.335)), 4)
    0.1499
    """
    pace = _above_zero("terminal speed", terminal_speed, "m/s")
    heavy = inside(
        "density ratio", density_ratio, 1 + _LEAST_EXCESS, np.inf, "", "Give a body denser than the water."
    )
    extra = inside("added mass", added_mass, 0.0, np.inf, "", "Give 0.5 for a sphere.")
    return (heavy + extra) * pace / ((heavy - 1) * gravity)


def _phases(
    t: ArrayLike, terminal_speed: ArrayLike, response: ArrayLike, start_speed: ArrayLike
) -> tuple[Floats, Floats, Floats]:
    """Return the time spent rising and falling over tau, and the start speed over V."""
    since = inside("time", t, 0.0, np.inf, "s", "Count from the start.")
    pace = _above_zero("terminal speed", terminal_speed, "m/s")
    scale = _above_zero("response time", response, "s")
    start = np.asarray(start_speed, dtype=float) / pace
    passed = since / scale
    rising = np.minimum(passed, np.arctan(np.maximum(-start, 0)))
    return rising, passed - rising, start


def _above_zero(key: str, value: ArrayLike, unit: str) -> Floats:
    """Return values, or refuse the first that is not above zero."""
    values = np.asarray(value, dtype=float)
    wrong = ~((values > 0) & (values <= np.inf))
    if np.any(wrong):
        problem = f"{values[wrong].flat[0]:.6g} {unit} is not above zero"
        raise BadValueError(key, problem, "Give a value above zero.")
    return values


def _fallen(s: Floats, start: Floats) -> Floats:
    """Return ln[cosh s + start sinh s], s and start from 0: neither overflows nor cancels."""
    early = np.minimum(s, 1.0)
    soon = np.log1p(2 * np.sinh(early / 2) ** 2 + start * np.sinh(early))
    late = s + np.log1p((start - 1) / 2 * -np.expm1(-2 * s))
    return np.where(s < 1, soon, late)
