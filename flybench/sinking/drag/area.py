"""The drag of a measured fly: area, coefficient, and how many bare beads it drags like."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flybench.hydraulics.sphere import drag_coefficient
from flybench.hydraulics.water import Water
from flybench.quantity import Measured
from flybench.sinking.drag.shape import reference_length
from flybench.sinking.drag.terminal import drag_area_of
from flybench.sinking.drag.tied_fly import Sunk
from flybench.sinking.weight.bead import frontal_area

BARE_BEAD_MARGIN = 0.9
"""A fly may drag a little less than its bare bead, whose wake the body fills."""
_SURE = 2.0


@dataclass(frozen=True)
class Drag:
    """Drag area [m2]; drag coefficient on the bead's frontal area and dressing factor, drag area over that of the
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


def drag_of(sunk: Sunk) -> Drag | None:
    """Return the drag of a measured fly, None where its weight is not known."""
    if sunk.weight is None:
        return None
    speed = Measured(sunk.speed, math.hypot(sunk.own, sunk.shared))
    water = Water(sunk.temperature, sunk.salinity)
    return drag_in_fall(
        sunk.weight.weight, speed, water, sunk.build.bead_diameter, reference_length(sunk.build)
    )


def drag_in_fall(
    weight: Measured, speed: Measured, water: Water, bead: float | None, length: float | None
) -> Drag:
    """Return the drag of a fly that sinks steadily.

    A = 2 W / (rho v^2), u(A)/A = hypot(u(W)/W, 2 u(v)/v).

    Parameters: weight in water W [N]; free-water speed v [m/s]; bead, its diameter [m], None without one; length of
    the Reynolds number [m], None where there is none to take: the Reynolds number is then not a number.
    Raises BadValueError for a bead of 0.5 mm or less, or more than 20 mm. Reference: JCGM 100:2008, 5.1.6.
    """
    area = float(drag_area_of(weight.value, speed.value, water))
    share = math.hypot(
        weight.standard_uncertainty / weight.value, 2 * speed.standard_uncertainty / speed.value
    )
    reynolds = math.nan if length is None else speed.value * length / water.kinematic_viscosity
    if bead is None:
        return Drag(Measured(area, area * share), None, None, reynolds)
    coefficient = area / frontal_area(bead)
    factor = coefficient / float(drag_coefficient(reynolds))
    return Drag(
        Measured(area, area * share),
        Measured(coefficient, coefficient * share),
        Measured(factor, factor * share),
        reynolds,
    )
