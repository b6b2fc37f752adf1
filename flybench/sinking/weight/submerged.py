"""The submerged weight of a fly: the record, what it stands on, and the same fly in other water."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np

from flybench.errors import BadValueError
from flybench.hydraulics.sphere import GRAVITY
from flybench.hydraulics.water import Water
from flybench.quantity import Measured
from flybench.sinking.weight.by_parts import ByParts
from flybench.sinking.weight.flags import doubtful


class Way(Enum):
    """How a submerged weight was come by."""

    WEIGHED_TWICE = "weighed-twice"
    WEIGHED_IN_WATER = "weighed-in-water"
    WEIGHED_AND_VOLUME = "weighed-and-volume"
    FROM_PARTS = "from-parts"


@dataclass(frozen=True)
class SubmergedWeight:
    """Weight less buoyancy, fully under water, and what it stands on.

    weight [N]; displaced, the volume of solids and held air [m3]; mass, dry [kg]; moving_mass, with the water
    soaked up [kg], added mass not included; density, mass over displaced volume [kg/m3], to first order
    only, so a poor guide where the volume is hardly resolved; water_density [kg/m3]; flags, keys of ``FLAGS``; gain, the
    part of the weight's relative standard uncertainty that all flies weighed on one scale share [-]; by_parts, what the
    parts alone say in this water, where they are known.
    """

    way: Way
    weight: Measured
    displaced: Measured
    mass: Measured
    moving_mass: Measured
    density: Measured
    water_density: float
    flags: tuple[str, ...] = ()
    gain: float = 0.0
    by_parts: ByParts | None = None

    @property
    def relative_uncertainty(self) -> float:
        """Standard uncertainty of the weight over the weight [-]."""
        return self.weight.standard_uncertainty / self.weight.value

    @property
    def over_parts(self) -> float:
        """Logarithm of the weight over that of the parts alone [-], 0 where no more than one of the two is known."""
        if self.way is Way.FROM_PARTS or self.by_parts is None:
            return 0.0
        return math.log(self.weight.value / self.by_parts.weight)

    @property
    def apparent_mass(self) -> float:
        """Mass less the water it displaces, weight over the acceleration of gravity [kg]."""
        return self.weight.value / GRAVITY

    def in_water(self, water: Water) -> SubmergedWeight:
        """Return the weight in other water.

        W' = W - (rho' - rho) V g. The doubt of the volume counts once more for the change, as if apart from the
        weight's own: at most one part in twenty of it from fresh to salt water.

        Parameters: water, of density rho' [kg/m3]. Returns: the same record for that water, weight [N].
        Raises BadValueError where the fly floats there. Reference: Archimedes' principle.
        """
        change = (water.density - self.water_density) * GRAVITY
        weight = Measured(
            self.weight.value - change * self.displaced.value,
            math.hypot(self.weight.standard_uncertainty, change * self.displaced.standard_uncertainty),
        )
        refuse_floating(weight.value / GRAVITY)
        flags = (*doubtful(weight), *(flag for flag in self.flags if flag != "weight-uncertain"))
        return replace(self, weight=weight, water_density=water.density, flags=flags)


def weight_of_mass(mass: Measured, displaced: Measured, water: Water) -> Measured:
    """Return the weight of a fly of known mass and volume, the two independent.

    W = g (m - rho V), u(W) = g hypot(u(m), rho u(V)).

    Parameters: mass m [kg]; displaced V [m3]; water, of density rho.
    Returns: weight with its standard uncertainty [N], not above zero where the fly floats.
    Reference: Archimedes' principle; JCGM 100:2008, 5.1.2.

    >>> round(weight_of_mass(Measured(0.2e-3, 0.0), Measured(2e-8, 0.0), Water(293.15)).value * 1e3, 4)
    1.7655
    """
    apparent = mass.value - water.density * displaced.value
    doubt = float(np.hypot(mass.standard_uncertainty, water.density * displaced.standard_uncertainty))
    return Measured(GRAVITY * apparent, GRAVITY * doubt)


def refuse_floating(apparent_mass: float) -> None:
    """Refuse a fly whose buoyancy bears it."""
    if not apparent_mass > 0:
        problem = f"its weight in water comes to {apparent_mass * GRAVITY * 1e3:.3g} mN, so it floats"
        raise BadValueError("fly", problem, "Check its masses and volumes, or add weight: it must sink.")
