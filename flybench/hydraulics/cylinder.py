"""Drag of a long cylinder across the flow, and of a line drawn along itself: published laws, each with its range."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from flybench.errors import BadValueError
from flybench.hydraulics.sphere import log_slope
from flybench.quantity import Floats, inside

DEFAULT = "cheng"
"""The law where none is named: closest to the digitised measurements at most Re from 1 to 10 000 (see
tests/published/cylinder.csv)."""
NORMAL_DOUBT = 0.11
"""Relative standard uncertainty of the coefficient across the flow [-]: over Re 1 to 10 000 the laws differ by 6 to
14 %, half of their range (judgement)."""
ALONG_DOUBT = 0.22
"""Relative standard uncertainty of the friction along a line [-]: laws and pictures differ by that much (judgement)."""
_STILL, _CROSSED = 0.65, 0.55
"""Nusselt number of a thin wire at Prandtl number 1 where nothing crosses it, and its growth with the root of the
Reynolds number across [-] (King's law of hot wires, from memory; 0.65 as Glauert & Lighthill 1955 have it at lengths
of lines, from memory)."""
_FASTEST_ACROSS = 1e4
"""Largest Reynolds number across that is taken at all [-]: lines in rivers stay below 300; it catches wrong units
(judgement)."""


@dataclass(frozen=True)
class CylinderLaw:
    """A drag law: coefficient [-] over Reynolds number [-], the lowest and highest it holds for [-], its source."""

    coefficient: Callable[[Floats], Floats]
    lowest: float
    highest: float
    reference: str


def cylinder_coefficient(reynolds: ArrayLike, law: str = DEFAULT) -> Floats:
    """Return the drag coefficient of a long smooth cylinder across the flow, on diameter x length.

    C = 11 Re^-0.75 + 0.9 (1 - e^(-1000/Re)) + 1.2 (1 - e^(-(Re/4500)^0.7)) (default).

    Parameters: reynolds, speed x diameter / kinematic viscosity [-]; law, a name in LAWS.
    Returns: drag coefficient [-].
    Range: that of the law; BadValueError outside. Measured cylinders agree within some 8 % from Re 1 to 10 000.
    Reference: Cheng (2013), J. Hydraul. Eng., doi:10.1061/(ASCE)HY.1943-7900.0000722 (author and year from
    memory).

    >>> round(float(cylinder_coefficient(100.0)), 3)
    1.329
    """
    chosen = _law(law)
    cure = "Use a law whose range holds it."
    return chosen.coefficient(inside("Reynolds number", reynolds, chosen.lowest, chosen.highest, "", cure))


def cylinder_slope(reynolds: ArrayLike, law: str = DEFAULT) -> Floats:
    """Return how steeply that coefficient goes with Reynolds number: d ln C / d ln Re.

    Parameters: reynolds [-]; law, a name in LAWS.
    Returns: slope [-], by a central difference of 1e-4 in ln Re.
    Range: that of the law; BadValueError outside. Reference: that of the law, differentiated here.

    >>> round(float(cylinder_slope(100.0)), 3)
    -0.156
    """
    return log_slope(lambda re: cylinder_coefficient(re, law), np.asarray(reynolds, dtype=float))


def friction_along(reynolds_across: ArrayLike, viscosity: float) -> Floats:
    """Return the friction of a thin line along itself, per metre and per speed along it [N s/m2].

    c = pi mu (0.65 + 0.55 sqrt(Re_n)), Re_n from the speed across the line: the speed along a long yawed cylinder
    obeys the equation of heat carried off a wire at Prandtl number 1, so the Nusselt number of wires gives the friction
    (0.65 where nothing crosses: Batchelor 1954, Glauert & Lighthill 1955, from memory).

    Parameters: reynolds_across Re_n, speed across the line x diameter / kinematic viscosity [-]; dynamic viscosity mu
    [Pa s].
    Returns: friction [N s/m2].
    Range: Re_n 0 to 300, lines of 0.08 to 0.35 mm, good to some 22 % (k = 1); BadValueError above 10 000.
    Difference from the papers: one law for all lengths of line in place of a boundary layer that grows along it.

    >>> round(float(friction_along(0.0, 1.0e-3)) * 1e3, 3)
    2.042
    """
    across = inside(
        "Reynolds number across",
        reynolds_across,
        0.0,
        _FASTEST_ACROSS,
        "",
        "Use a thin line at river speeds.",
    )
    friction: Floats = np.pi * viscosity * (_STILL + _CROSSED * np.sqrt(across))
    return friction


def _law(name: str) -> CylinderLaw:
    if name not in LAWS:
        raise BadValueError("law", f'there is no cylinder law "{name}"', f"Choose one of {', '.join(LAWS)}.")
    return LAWS[name]


_VANISHED = -37.5
"""Power of e that leaves 1 as it is when taken from it [-]: exp(-37.5) is less than half of the last place of 1."""


def _cheng(re: Floats) -> Floats:
    power = np.asarray(-1000 / re)
    lost = np.exp(power, where=power > _VANISHED, out=np.zeros_like(power))
    return 11 * re**-0.75 + 0.9 * (1 - lost) + 1.2 * (1 - np.exp(-((re / 4500) ** 0.7)))


def _white(re: Floats) -> Floats:
    return 1 + 10 * re ** (-2 / 3)


def _sucker_brauer(re: Floats) -> Floats:
    return 1.18 + 6.8 / re**0.89 + 1.96 / re**0.5 - 0.0004 * re / (1 + 3.64e-7 * re**2)


LAWS = {
    "cheng": CylinderLaw(_cheng, 0.1, 2e5, "Cheng (2013), doi:10.1061/(ASCE)HY.1943-7900.0000722"),
    "white": CylinderLaw(_white, 1.0, 2e5, "White, Viscous Fluid Flow (from memory)"),
    "sucker-brauer": CylinderLaw(
        _sucker_brauer, 1e-4, 2e5, "Sucker & Brauer (1975), Wärme- und Stoffübertragung 8, 149-158"
    ),
}
"""Every cylinder law by name."""
