"""Exact and continuous solutions for lines and flies in flowing water; none of it uses the chain.

Formulas of towed cables after Landweber & Protter and Pode (1951, DTMB 687), from memory and derived again.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq, fsolve

RHO, MU, G = 1000.0, 1.0e-3, 9.80665


def free_fall(t: float, v: float, weight: float, mass: float, entry: float = 0.0) -> tuple[float, float]:
    """Return depth and speed of a fly with terminal speed v: the tanh law, or coth where it enters faster."""
    tau = mass * v / weight
    if entry == 0:
        return v * tau * math.log(math.cosh(t / tau)), v * math.tanh(t / tau)
    c = math.atanh(v / entry)
    return v * tau * math.log(math.sinh(t / tau + c) / math.sinh(c)), v / math.tanh(t / tau + c)


def linked_pair(speeds: tuple[float, float], weights: tuple[float, float]) -> tuple[float, float]:
    """Return speed and link tension of two flies falling one above the other."""
    drags = [w / v**2 for v, w in zip(speeds, weights, strict=True)]
    fall = math.sqrt(sum(weights) / sum(drags))
    return fall, weights[1] - drags[1] * fall**2


def catenary(span: float, length: float, weight: float) -> tuple[float, float]:
    """Return sag and tension at the end of a hanging line, weight [N/m]."""
    a = brentq(lambda a: 2 * a * math.sinh(span / (2 * a)) - length, span / 20, span * 20)
    return a * (math.cosh(span / (2 * a)) - 1), weight * a * math.cosh(span / (2 * a))


def critical_angle(
    d: float, density: float, cn: float, ct: float, u: float, length: float
) -> tuple[float, float]:
    """Return the angle to the flow [deg] of a heavy towed line, and its tension at the surface."""
    weight = (density - RHO) * G * math.pi * d**2 / 4
    q = weight / (RHO * cn * d * u**2)
    cosine = math.sqrt(1 + q**2) - q
    sine = math.sqrt(1 - cosine**2)
    along = RHO * math.pi * d * ct * (u * cosine) ** 2 / 2
    return math.degrees(math.acos(cosine)), length * (weight * sine + along)


def light_line(
    weight: float, drag: float, r: float, length: float, f: float = 0.0
) -> tuple[float, float, float]:
    """Return depth, trail and surface tension of a weightless line with an end weight in an even current.

    r, drag across the line [N/m]; f r, drag along it, whatever its angle. q is the cotangent of the angle
    to the flow, going up the line.
    """
    end = math.hypot(weight, drag)
    q0 = drag / weight
    if f == 0:
        q1 = q0 + r * length / end
        depth = end / r * (math.asinh(q1) - math.asinh(q0))
        return depth, end / r * (math.hypot(1, q1) - math.hypot(1, q0)), end
    q1 = q0 + math.log(1 + f * r * length / end) / f

    def pull(q: float) -> float:
        return end / r * math.exp(f * (q - q0))

    depth = quad(lambda q: pull(q) / math.hypot(1, q), q0, q1, epsabs=1e-12)[0]
    trail = quad(lambda q: pull(q) * q / math.hypot(1, q), q0, q1, epsabs=1e-12)[0]
    return depth, trail, r * pull(q1)


Coefficients = Callable[[float, float], tuple[float, float]]


def cheng(d: float) -> Coefficients:
    """Return drag per metre and speed of a smooth line, across (Cheng 2013) and along it."""

    def law(un: float, ut: float) -> tuple[float, float]:
        re = max(RHO * abs(un) * d / MU, 1e-9)
        cn = 11 * re**-0.75 + 0.9 * (1 - math.exp(-1000 / re)) + 1.2 * (1 - math.exp(-((re / 4500) ** 0.7)))
        return MU * re * cn / 2, math.pi * MU * (0.65 + 0.55 * math.sqrt(re))

    return law


def constant(d: float, cn: float, ct: float) -> Coefficients:
    """Return the same for constant coefficients."""
    return lambda un, ut: (RHO * cn * d * abs(un) / 2, RHO * math.pi * ct * d * abs(ut) / 2)


def towed(
    law: Coefficients,
    weight: float,
    water: Callable[[float], float],
    lead: float,
    length: float,
    flies: list[tuple[float, float, float]],
) -> list[tuple[float, float]]:
    """Return (depth, trail) of each fly, the point last, of a line held at the surface and led at a speed.

    The line's equilibrium integrated up from the point, its depth found by shooting; flies are (distance up
    from the point, drag k, weight), the point first.
    """

    def up(s: float, y: np.ndarray) -> list[float]:
        depth, _, tx, tz = y
        tension = math.hypot(tx, tz)
        ex, ez = tx / tension, tz / tension
        slip = water(depth) - lead
        ut, un = slip * ex, -slip * ez
        cn, ct = law(un, ut)
        fx, fz = ct * ut * ex - cn * un * ez, ct * ut * ez + cn * un * ex + weight
        return [-ez, -ex, fx, fz]

    def hung(depth: float) -> tuple[float, list[tuple[float, float]]]:
        y, places = np.array([depth, 0.0, 0.0, 0.0]), []
        stops = [*[fly[0] for fly in flies[1:]], length]
        for (at, k, w), stop in zip(flies, stops, strict=True):
            slip = water(y[0]) - lead
            y = y + np.array([0, 0, k * abs(slip) * slip, w])
            places.append((y[0], y[1]))
            y = solve_ivp(up, (at, stop), y, method="DOP853", rtol=1e-11, atol=1e-13).y[:, -1]
        return y[0], [(d, x - y[1]) for d, x in places][::-1]

    point = brentq(lambda depth: hung(depth)[0], 1e-3, length * 0.999999, xtol=1e-12)
    return hung(point)[1]


def swing_time(share: float, v: float, length: float) -> float:
    """Return the time for a fly to swing down from a taut flat line in still water to share x length.

    L a' = -v sqrt(sin a), a from 90 degrees off the vertical.
    """
    end = math.acos(share)
    return length / v * quad(lambda a: 1 / math.sqrt(math.sin(a)), end, math.pi / 2, epsabs=1e-12)[0]


def pulled_line(v: float, weight: float, d: float, density: float, length: float) -> float:
    """Return the speed of a fly that pulls a free straight line down end-on."""
    k, w = weight / v**2, (density - RHO) * G * math.pi * d**2 / 4
    return brentq(
        lambda u: k * u**2 + math.pi * MU * 0.65 * length * u - weight - w * length, 0, 2 * v, xtol=1e-14
    )


def broadside(d: float, density: float) -> float:
    """Return the speed of a level line that sinks on its own."""
    w = (density - RHO) * G * math.pi * d**2 / 4
    law = cheng(d)
    return brentq(lambda u: law(u, 0.0)[0] * u - w, 1e-5, 1.0, xtol=1e-14)


def tilted_pair(
    speeds: tuple[float, float], weights: tuple[float, float], link: float, shear: float
) -> tuple[float, float]:
    """Return tilt off the vertical [deg] and speed of a linked pair that falls through sheared water."""
    k1, k2 = (w / v**2 for v, w in zip(speeds, weights, strict=True))

    def balance(y: np.ndarray) -> list[float]:
        a, tilt, fall, tension = y
        b = a + shear * link * math.cos(tilt)
        r1, r2 = math.hypot(a, fall), math.hypot(b, fall)
        return [
            weights[0] - k1 * r1 * fall + tension * math.cos(tilt),
            weights[1] - k2 * r2 * fall - tension * math.cos(tilt),
            -k1 * r1 * a - tension * math.sin(tilt),
            -k2 * r2 * b + tension * math.sin(tilt),
        ]

    found = fsolve(balance, [-0.15, 0.5, 0.28, 1e-3], xtol=1e-13)
    return math.degrees(found[1]), found[2]
