"""Drag of a smooth sphere in steady fall: published laws, each with its range."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from flybench.errors import BadValueError
from flybench.hydraulics.water import Water
from flybench.quantity import Floats, inside

GRAVITY = 9.80665
"""Standard acceleration of gravity [m/s2], exact by definition (3rd CGPM, 1901); places differ by 0.3 % at most."""
DEFAULT = "brown-lawler"
"""The drag law where none is named: smooth over its whole range, which fitting needs (judgement)."""
SLOWEST = 0.01
"""Lowest Reynolds number of every law here [-]: below it all are Stokes' law, far below any fly (judgement)."""

_HALVINGS = 60
"""Halvings of the bracket in ln Re [-]: sixteen or so decades, as far as floats go (judgement)."""
_SLOPE_STEP = 1e-4
"""Step in ln Re of a law's slope [-]: the curvature left out is below 1e-8 of the slope, rounding too (judgement)."""


@dataclass(frozen=True)
class DragLaw:
    """A drag law: coefficient [-] over Reynolds number [-], the highest one it holds for [-], its source."""

    coefficient: Callable[[Floats], Floats]
    highest: float
    reference: str


def drag_coefficient(reynolds: ArrayLike, law: str = DEFAULT) -> Floats:
    """Return the drag coefficient of a sphere on its frontal area.

    C_d as printed beside each law in LAWS; the default is
    C_d = (24/Re) (1 + 0.150 Re^0.681) + 0.407 / (1 + 8710/Re).

    Parameters: reynolds, speed x diameter / kinematic viscosity [-]; law, a name in LAWS.
    Returns: drag coefficient [-].
    Range: Re from 0.01 to the law's highest; BadValueError outside, and for a law that is not there.
    Reference: Brown & Lawler (2003), J. Environ. Eng. 129, 222-231,
    doi:10.1061/(ASCE)0733-9372(2003)129:3(222) (range from memory).

    >>> round(float(drag_coefficient(1000.0)), 4)
    0.4634
    """
    chosen = _law(law)
    return chosen.coefficient(_reynolds(reynolds, chosen))


def drag_slope(reynolds: ArrayLike, law: str = DEFAULT) -> Floats:
    """Return how steeply the drag coefficient falls: d ln C_d / d ln Re.

    -1 in creeping flow, near 0 where drag goes with the square of speed.

    Parameters: reynolds [-]; law, a name in LAWS.
    Returns: slope [-], by a central difference of 1e-4 in ln Re.
    Range: that of the law; BadValueError outside.
    Reference: that of the law, differentiated here.

    >>> round(float(drag_slope(1000.0)), 3)
    -0.244
    """
    chosen = _law(law)
    steady = _reynolds(reynolds, chosen)
    return log_slope(chosen.coefficient, steady)


def log_slope(coefficient: Callable[[Floats], Floats], reynolds: Floats) -> Floats:
    """Return d ln C / d ln Re [-] of a drag law at Reynolds numbers [-], by a central difference of 1e-4 in ln Re."""
    above = coefficient(reynolds * np.exp(_SLOPE_STEP))
    below = coefficient(reynolds * np.exp(-_SLOPE_STEP))
    slope: Floats = np.log(above / below) / (2 * _SLOPE_STEP)
    return slope


def terminal_speed(
    diameter: ArrayLike, density: ArrayLike, water: Water, law: str = DEFAULT, gravity: float = GRAVITY
) -> Floats:
    """Return the steady speed of a sphere sinking in still, unbounded water.

    C_d(Re) Re^2 = (4/3) g d^3 (rho_s / rho - 1) / nu^2, solved for Re = v d / nu.

    Parameters: diameter [m]; density of the sphere [kg/m3]; water; law, a name in LAWS;
    gravity [m/s2].
    Returns: terminal speed [m/s].
    Range: spheres denser than the water, Re within the law; BadValueError else. Measured spheres in water agree
    within some 6 % (Goral et al. 2023, doi:10.1016/j.envres.2023.115783).
    Reference: balance of drag and weight less buoyancy; the law's own.

    >>> round(float(terminal_speed(0.003, 8500.0, Water(293.15))), 4)
    0.8627
    """
    size = np.asarray(diameter, dtype=float)
    excess = np.asarray(density, dtype=float) / water.density - 1
    _refuse_floating(size, excess)
    push = 4 / 3 * gravity * size**3 * excess / water.kinematic_viscosity**2
    steady: Floats = _steady_reynolds(push, _law(law)) * water.kinematic_viscosity / size
    return steady


def _steady_reynolds(push: Floats, law: DragLaw) -> Floats:
    """Return the Reynolds number where drag balances ``push``, by halving in ln Re."""
    ends = np.array([SLOWEST, law.highest])
    weakest, strongest = law.coefficient(ends) * ends**2
    if not np.all((push >= weakest) & (push <= strongest)):
        problem = f"it would sink at a Reynolds number outside {SLOWEST:g} to {law.highest:g}"
        cure = "Use a sphere of 0.1 to 20 mm that sinks, or a law with a wider range."
        raise BadValueError("sphere", problem, cure)
    low, high = (np.full(push.shape, np.log(end)) for end in ends)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        tried = np.exp(middle)
        slower = law.coefficient(tried) * tried**2 > push
        low, high = np.where(slower, low, middle), np.where(slower, middle, high)
    steady: Floats = np.exp((low + high) / 2)
    return steady


def _refuse_floating(size: Floats, excess: Floats) -> None:
    """Refuse a sphere that has no size or does not sink."""
    if not np.all(size > 0):
        problem = f"a sphere of {np.min(size) * 1e3:.6g} mm cannot be"
        raise BadValueError("diameter", problem, "Give a diameter above zero.")
    if not np.all(excess > 0):
        problem = (
            f"the sphere has {np.min(excess) + 1:.6g} times the density of the water, so it does not sink"
        )
        raise BadValueError("density", problem, "Give a density above that of the water.")


def _law(name: str) -> DragLaw:
    """Return a law by name."""
    if name not in LAWS:
        raise BadValueError("law", f'there is no drag law "{name}"', f"Choose one of {', '.join(LAWS)}.")
    return LAWS[name]


def _reynolds(reynolds: ArrayLike, law: DragLaw) -> Floats:
    """Return the Reynolds number, or refuse it."""
    return inside("Reynolds number", reynolds, SLOWEST, law.highest, "", "Use a law whose range holds it.")


def _brown_lawler(re: Floats) -> Floats:
    return 24 / re * (1 + 0.150 * re**0.681) + 0.407 / (1 + 8710 / re)


def _haider_levenspiel(re: Floats) -> Floats:
    return 24 / re * (1 + 0.1806 * re**0.6459) + 0.4251 / (1 + 6880.95 / re)


def _cheng(re: Floats) -> Floats:
    return 24 / re * (1 + 0.27 * re) ** 0.43 + 0.47 * (1 - np.exp(-0.04 * re**0.38))


def _clift_gauvin(re: Floats) -> Floats:
    return 24 / re * (1 + 0.15 * re**0.687) + 0.42 / (1 + 42500 * re**-1.16)


def _abraham(re: Floats) -> Floats:
    return 24 / 9.06**2 * (1 + 9.06 / np.sqrt(re)) ** 2


def _schiller_naumann(re: Floats) -> Floats:
    return 24 / re * (1 + 0.15 * re**0.687)


def _clift_grace_weber(re: Floats) -> Floats:
    w = np.log10(re)
    pieces = [
        24 / re * (1 + 0.1315 * re ** (0.82 - 0.05 * w)),
        24 / re * (1 + 0.1935 * re**0.6305),
        10 ** (1.6435 - 1.1242 * w + 0.1558 * w**2),
        10 ** (-2.4571 + 2.5558 * w - 0.9295 * w**2 + 0.1049 * w**3),
        10 ** (-1.9181 + 0.6370 * w - 0.0636 * w**2),
    ]
    return np.select([re <= 20, re <= 260, re <= 1500, re <= 1.2e4], pieces[:4], pieces[4])


LAWS = {
    "brown-lawler": DragLaw(_brown_lawler, 2e5, "Brown & Lawler (2003), J. Environ. Eng. 129, 222-231"),
    "clift-grace-weber": DragLaw(
        _clift_grace_weber,
        4.4e4,
        "Clift, Grace & Weber (1978), Bubbles, Drops, and Particles; jumps 0.76 % at Re 20",
    ),
    "haider-levenspiel": DragLaw(
        _haider_levenspiel,
        2e5,
        "Haider & Levenspiel (1989), Powder Technol. 58, 63-70, doi:10.1016/0032-5910(89)80008-7",
    ),
    "cheng": DragLaw(
        _cheng, 2e5, "Cheng (2009), Powder Technol. 189, 395-398, doi:10.1016/j.powtec.2008.07.006"
    ),
    "clift-gauvin": DragLaw(_clift_gauvin, 2e5, "Clift & Gauvin (1970), from memory"),
    "abraham": DragLaw(_abraham, 5e3, "Abraham (1970), Phys. Fluids 13, 2194, from memory"),
    "schiller-naumann": DragLaw(_schiller_naumann, 1e3, "Schiller & Naumann (1933), from memory"),
}
"""Every drag law by name."""
