"""A fly as the rig knows it: how fast it sinks in free water, and what it weighs there."""

from __future__ import annotations

from dataclasses import dataclass

from flybench.errors import BadValueError
from flybench.hydraulics.sphere import GRAVITY
from flybench.quantity import Measured

SLOWEST, FASTEST = 0.02, 2.0
"""Range of the sink speed in free water [m/s]: any fly that sinks at all, to faster than a bare bead (judgement)."""
LIGHTEST, HEAVIEST = 2e-5, 0.1
"""Range of the weight in water [N]: 2 mg to 10 g (judgement)."""
USUAL_DENSITY = 4000.0
"""Density of a whole fly whose dry mass is not known [kg/m3] (judgement: steel, tungsten and dressing together); it moves
a drift by less than a percent."""

LEAST_DRAG, MOST_DRAG = 1e-6, 3e-4
"""Drag areas 2 W / (rho v^2) between which those of flies lie [m2] (judgement: a bare bead of 2 mm has 1.4e-6, a disc of
19 mm across the flow 3e-4)."""


@dataclass(frozen=True)
class RigFly:
    """A fly: speed it sinks at in free water [m/s], weight in water [N], dry mass [kg] where known.

    Range: 0.02 to 2 m/s and 0.02 to 100 mN. Raises BadValueError outside, and for a fly that floats.
    """

    name: str
    speed: Measured
    weight: Measured
    dry_mass: float | None = None

    def __post_init__(self) -> None:
        """Refuse what does not sink."""
        cure = "A rig needs flies that sink. Measure how fast it sinks and weigh it in water."
        if not self.speed.value > 0:
            raise BadValueError(
                f"fly {self.name}", f"has a sink speed of {self.speed.value:g} m/s, so it floats", cure
            )
        if not self.weight.value > 0:
            raise BadValueError(
                f"fly {self.name}", f"has a weight of {self.weight.value:g} N in water, so it floats", cure
            )
        for what, value, low, high, unit in (
            ("sink speed", self.speed.value, SLOWEST, FASTEST, "m/s"),
            ("weight in water", self.weight.value, LIGHTEST, HEAVIEST, "N"),
        ):
            if not low <= value <= high:
                problem = f"{what} {value:g} is outside {low:g} to {high:g} {unit}"
                raise BadValueError(f"fly {self.name}", problem, "Check the number and its unit.")
        if self.dry_mass is not None and not self.dry_mass * GRAVITY > self.weight.value:
            problem = f"weighs no more in air ({self.dry_mass * GRAVITY:.3g} N) than in water ({self.weight.value:g} N)"
            raise BadValueError(f"fly {self.name}", problem, "Check both weights.")

    def has_drag_of_a_fly(self, water_density: float) -> bool:
        """Tell whether weight and sink speed go together, in water of that density [kg/m3]: the drag is that of a fly."""
        area = 2 * self.weight.value / (water_density * self.speed.value**2)
        return LEAST_DRAG <= area <= MOST_DRAG

    def moving_mass(self, water_density: float) -> float:
        """Return mass plus added mass, m + rho V / 2 [kg], in water of that density [kg/m3].

        Reference: the added mass of a sphere is half that of the water it displaces (Lamb, Hydrodynamics, from memory).
        """
        sunk = self.weight.value / GRAVITY
        dry = sunk / (1 - water_density / USUAL_DENSITY) if self.dry_mass is None else self.dry_mass
        return dry + 0.5 * (dry - sunk)
