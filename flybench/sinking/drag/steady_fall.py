"""Steady fall: the drag that a measured fly shows, and the speed at which a known drag balances its weight."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from flybench.errors import BadValueError
from flybench.hydraulics.sphere import drag_coefficient
from flybench.hydraulics.water import Water
from flybench.quantity import Floats, Measured
from flybench.sinking.drag.shape import reference_length
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.weight.bead import frontal_area

LOWEST, HIGHEST = 1.0, 1e5
"""Reynolds numbers between which a speed is looked for [-]: from a hair to a salmon fly thrown down, with room
(judgement)."""
_CLOSE = 1e-12
"""How near drag comes to the weight, in ln [-]: a thousandth of what a float of a measured weight can tell (judgement)."""
_MOST_STEPS = 100
"""Most steps of the search [-]: a smooth law takes some eight, one with a jump at most as many as halving (judgement)."""


def terminal_speed_of(
    weight: ArrayLike, area_at: Callable[[Floats], Floats], length: ArrayLike, water: Water
) -> Floats:
    """Return the speed at which drag balances a submerged weight.

    W = rho / 2 v^2 A(Re), Re = v L / nu.

    Parameters: weight W [N]; area_at, the drag area A [m2] at Reynolds numbers of the weight's shape, such that
    Re^2 A(Re) rises with Re; length L of the Reynolds number [m]; water.
    Returns: terminal speed [m/s], drag within 1e-12 of the weight, of the broadcast shape of weight and length.
    Range: Re from 1 to 1e5; BadValueError outside, and where the weight is not above zero (it floats).
    Reference: balance of forces in steady fall.

    >>> round(float(terminal_speed_of(2e-3, lambda reynolds: 8e-6 + 0 * reynolds, 3e-3, Water(283.15))), 4)
    0.7072
    """
    push, size = np.broadcast_arrays(np.asarray(weight, dtype=float), np.asarray(length, dtype=float))
    if not np.all(push > 0):
        problem = f"its weight in water is {np.min(push) * 1e3:.3g} mN, so it floats"
        raise BadValueError("fly", problem, "Add weight, or correct its masses and volumes.")
    wanted = push * size**2 * 2 / (water.density * water.kinematic_viscosity**2)

    def surplus(logarithm: Floats) -> Floats:
        reynolds = np.exp(logarithm)
        excess: Floats = np.log(reynolds**2 * area_at(reynolds) / wanted)
        return excess

    ends = [np.full(push.shape, np.log(end)) for end in (LOWEST, HIGHEST)]
    over = [surplus(end) for end in ends]
    if not np.all((over[0] <= 0) & (over[1] >= 0)):
        problem = f"it would sink at a speed that no fly has, outside the Reynolds numbers {LOWEST:g} to {HIGHEST:g}"
        raise BadValueError("fly", problem, "Check its weight and its sizes.")
    speed: Floats = np.exp(_root(surplus, ends, over)) * water.kinematic_viscosity / size
    return speed


def _root(surplus: Callable[[Floats], Floats], ends: list[Floats], over: list[Floats]) -> Floats:
    """Return where a rising function is nought between two ends, where it has the values ``over``.

    By the secant through the last two tries, by halving where that leaves the bracket and every fourth step, so that a
    law with a jump ends too (Press et al., Numerical Recipes, 9.2 to 9.4, from memory).
    """
    low, high = ends
    last, was = high, over[1]
    now = low - over[0] * (high - low) / (over[1] - over[0])
    for step in range(_MOST_STEPS):
        found = surplus(now)
        done = np.abs(found) < _CLOSE
        if np.all(done):
            break
        low, high = np.where(found > 0, low, now), np.where(found > 0, now, high)
        with np.errstate(divide="ignore", invalid="ignore"):
            ahead = now - found * (now - last) / (found - was)
        halve = ~((low < ahead) & (ahead < high)) | (step % 4 == 3)
        tried = np.where(halve, (low + high) / 2, ahead)
        last, was, now = np.where(done, last, now), np.where(done, was, found), np.where(done, now, tried)
    return now


def drag_area_of(weight: ArrayLike, speed: ArrayLike, water: Water) -> Floats:
    """Return the drag area of a body that sinks steadily.

    A = 2 W / (rho v^2).

    Parameters: weight W [N]; speed v in free water [m/s]; water, of density rho.
    Returns: drag area [m2]. Range: both above zero, not checked here.
    Reference: balance of forces in steady fall.

    >>> round(float(drag_area_of(2e-3, 0.7073, Water(283.15))) * 1e6, 3)
    7.998
    """
    area: Floats = 2 * np.asarray(weight) / (water.density * np.asarray(speed) ** 2)
    return area


BARE_BEAD_MARGIN = 0.9
"""Dressing factor below which a weighing is doubted [-]: a fly may drag a little less than its bare bead, whose wake
the body fills (judgement)."""
_SURE = 2.0
"""Standard uncertainties by which it must be below [-]: k = 2, some 95 % (JCGM 100:2008, G.1)."""


@dataclass(frozen=True)
class SteadyDrag:
    """SteadyDrag area [m2]; drag coefficient on the bead's frontal area and dressing factor, drag area over that of the
    bare bead at the same Reynolds number, both None without a bead; Reynolds number on the bead's diameter, without a
    bead on the hook's gape. Standard uncertainties are of weight and speed alone."""

    area: Measured
    coefficient: Measured | None
    dressing_factor: Measured | None
    reynolds: float

    @property
    def below_bare_bead(self) -> bool:
        """Tell whether the drag is less than a bare bead's, beyond its doubt: check the weighing."""
        factor = self.dressing_factor
        return factor is not None and factor.value + _SURE * factor.standard_uncertainty < BARE_BEAD_MARGIN


def drag_of(measured: MeasuredFly) -> SteadyDrag | None:
    """Return the drag of a measured fly at its speed in free water, None where its weight is not known.

    Raises BadValueError and has its reference as ``drag_in_fall``.
    """
    if measured.weight is None:
        return None
    speed = Measured(measured.speed, math.hypot(measured.own, measured.shared))
    return drag_in_fall(
        measured.weight.weight,
        speed,
        measured.water,
        measured.build.bead_diameter,
        reference_length(measured.build),
    )


def drag_in_fall(
    weight: Measured, speed: Measured, water: Water, bead: float | None, length: float | None
) -> SteadyDrag:
    """Return the drag of a fly that sinks steadily.

    A = 2 W / (rho v^2), u(A)/A = hypot(u(W)/W, 2 u(v)/v).

    Parameters: weight in water W [N]; free-water speed v [m/s]; bead, its diameter [m], None without one; length of
    the Reynolds number [m], None where there is none to take: the Reynolds number is then not a number.
    Returns: drag area [m2] and, with a bead, coefficient and dressing factor [-].
    Range: weight and speed above zero, not checked here; BadValueError for a bead below 0.5 mm or above 20 mm.
    Reference: balance of forces in steady fall; JCGM 100:2008, 5.1.6.

    >>> found = drag_in_fall(Measured(2e-3, 0.0), Measured(0.7, 0.007), Water(283.15), 3e-3, 3e-3)
    >>> round(found.area.value * 1e6, 2), round(found.area.standard_uncertainty * 1e6, 2)
    (8.17, 0.16)
    """
    area = float(drag_area_of(weight.value, speed.value, water))
    share = math.hypot(
        weight.standard_uncertainty / weight.value, 2 * speed.standard_uncertainty / speed.value
    )
    reynolds = math.nan if length is None else speed.value * length / water.kinematic_viscosity
    if bead is None:
        return SteadyDrag(Measured(area, area * share), None, None, reynolds)
    coefficient = area / frontal_area(bead)
    factor = coefficient / float(drag_coefficient(reynolds))
    return SteadyDrag(
        Measured(area, area * share),
        Measured(coefficient, coefficient * share),
        Measured(factor, factor * share),
        reynolds,
    )
