"""Drag of the line for many rigs at once: the published laws as coefficients for the chain."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Protocol

import numpy as np
from numpy.polynomial import Chebyshev, Polynomial

from flybench.hydraulics.cylinder import DEFAULT, LAWS, friction_along
from flybench.quantity import Floats

SLOWEST, FASTEST = LAWS[DEFAULT].lowest, 4096.0
"""Reynolds numbers beyond which drag is taken to go with the plain speed [-]: the law's own lowest, and far above the
few hundred that lines of 0.6 mm meet in rivers (judgement)."""
SMOOTH, DEGREE = 512.0, 9
"""Reynolds number up to which the law is taken as a polynomial of its fourth root [-], and the polynomial's degree: within
0.03 % of the law, at a fifth of its cost; faster lines, of which there are few, get the law itself."""


class LineDrag(Protocol):
    """Drag of a metre of line: force = -coefficient x velocity, across and along it."""

    def fill(self, across: Floats, along: Floats, normal: Floats, tangential: Floats) -> None:
        """Fill the two coefficients [N s/m2] for the speeds across and along, both from 0 [m/s]."""


@dataclass(frozen=True)
class ThinLine:
    """A smooth thin line: c_n = mu Re Cn(Re) / 2, c_t = pi mu Nu(Re), Re of the speed across.

    diameter [m]; density of the water [kg/m3]; viscosity mu [Pa s].
    Reference: hydraulics.cylinder.
    """

    diameter: float
    density: float
    viscosity: float

    def fill(self, across: Floats, along: Floats, normal: Floats, tangential: Floats) -> None:
        """Fill the two coefficients [N s/m2] for the speeds across and along [m/s]."""
        del along
        root = np.multiply(across, float(self.density * self.diameter / self.viscosity))
        np.minimum(root, FASTEST, out=root)
        np.sqrt(root, out=root)
        still, crossed = (float(one) for one in friction_along(np.array([0.0, 1.0]), self.viscosity))
        np.multiply(root, crossed - still, out=tangential)
        tangential += still
        np.maximum(root, SLOWEST**0.5, out=root)
        _fill_product(root, normal)
        normal *= float(self.viscosity) / 2


def _fill_product(root: Floats, out: Floats) -> None:
    """Fill Re Cn(Re) [-] for the square root of Re; ``root`` is used up."""
    fast = root > SMOOTH**0.5
    reynolds = root[fast] ** 2 if fast.any() else None
    scale, shift, factors = _polynomial()
    np.sqrt(root, out=root)
    root *= scale
    root += shift
    np.multiply(root, factors[-1], out=out)
    for factor in factors[-2:0:-1]:
        out += factor
        out *= root
    out += factors[0]
    if reynolds is not None:
        out[fast] = LAWS[DEFAULT].coefficient(reynolds) * reynolds


@cache
def _polynomial() -> tuple[float, float, tuple[float, ...]]:
    """Return Re Cn(Re) as a polynomial of t = scale Re^(1/4) + shift, which goes from -1 to 1: scale, shift, factors from the
    constant up."""
    low, high = SLOWEST**0.25, SMOOTH**0.25
    middle, half = (high + low) / 2, (high - low) / 2

    knots = np.cos(np.pi * (np.arange(DEGREE + 1) + 0.5) / (DEGREE + 1))
    roots = middle + half * knots
    # Over the root, for Re Cn(Re) / Re^(1/4) hardly goes with it where the line is slow.
    fitted = Chebyshev.fit(knots, LAWS[DEFAULT].coefficient(roots**4) * roots**3, DEGREE, domain=[-1, 1])
    product = fitted.convert(kind=Polynomial) * Polynomial([middle, half])
    return 1 / half, -middle / half, tuple(float(one) for one in product.coef)
