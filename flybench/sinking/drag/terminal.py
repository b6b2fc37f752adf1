"""The steady speed of a body whose drag area is known as a curve over Reynolds number."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from flybench.errors import BadValueError
from flybench.hydraulics.water import Water
from flybench.quantity import Floats

LOWEST, HIGHEST = 1.0, 1e5
"""Reynolds numbers between which a speed is looked for."""
_HALVINGS = 60


def terminal_speed_of(
    weight: ArrayLike, area_at: Callable[[Floats], Floats], length: ArrayLike, water: Water
) -> Floats:
    """Return the speed at which drag balances a submerged weight: W = rho / 2 v^2 A(Re), Re = v L / nu.

    Parameters: weight W [N]; area_at, the drag area A [m2] at Reynolds numbers of the weight's shape, such that
    Re^2 A(Re) rises with Re; length L of the Reynolds number [m]; water.
    Returns: terminal speed [m/s], by halving in ln Re, of the broadcast shape of weight and length.
    Range: Re from 1 to 1e5; BadValueError outside, and where the weight is not above zero (it floats).
    Reference: balance of forces in steady fall.
    """
    push, size = np.broadcast_arrays(np.asarray(weight, dtype=float), np.asarray(length, dtype=float))
    if not np.all(push > 0):
        problem = f"a submerged weight of {np.min(push) * 1e3:.3g} mN does not sink: it floats"
        raise BadValueError("fly", problem, "Give it more weight, or correct masses and volumes.")
    wanted = push * size**2 * 2 / (water.density * water.kinematic_viscosity**2)

    def pull(logarithm: Floats) -> Floats:
        reynolds = np.exp(logarithm)
        return reynolds**2 * area_at(reynolds)

    low, high = (np.full(push.shape, np.log(end)) for end in (LOWEST, HIGHEST))
    if not np.all((pull(low) <= wanted) & (wanted <= pull(high))):
        problem = f"its Reynolds number would be outside {LOWEST:g} to {HIGHEST:g}"
        raise BadValueError("fly", problem, "Check its weight and its sizes.")
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        slower = pull(middle) > wanted
        low, high = np.where(slower, low, middle), np.where(slower, middle, high)
    speed: Floats = np.exp((low + high) / 2) * water.kinematic_viscosity / size
    return speed


def drag_area_of(weight: ArrayLike, speed: ArrayLike, water: Water) -> Floats:
    """Return the drag area [m2] of a body that sinks steadily: A = 2 W / (rho v^2).

    Parameters: weight W [N]; speed v in free water [m/s]; water. Range: both above zero, not checked here.
    """
    area: Floats = 2 * np.asarray(weight) / (water.density * np.asarray(speed) ** 2)
    return area
