"""Drag of the line for many rigs at once: the published laws as coefficients for the chain."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from flybench.hydraulics.cylinder import DEFAULT, LAWS, friction_along
from flybench.quantity import Floats

SLOWEST, FASTEST = LAWS[DEFAULT].lowest, 4096.0
"""Reynolds numbers beyond which drag is taken to go with the plain speed [-]: the law's own lowest, and far above the
few hundred that lines of 0.6 mm meet in rivers (judgement)."""


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
        reynolds = across * (self.density * self.diameter / self.viscosity)
        np.minimum(reynolds, FASTEST, out=reynolds)
        tangential[:] = friction_along(reynolds, self.viscosity)
        np.maximum(reynolds, SLOWEST, out=reynolds)
        np.multiply(LAWS[DEFAULT].coefficient(reynolds), reynolds, out=normal)
        normal *= self.viscosity / 2
