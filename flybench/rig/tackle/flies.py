"""A fly as the rig knows it: how fast it sinks in free water, and what it weighs there."""

from __future__ import annotations

from dataclasses import dataclass

from flybench.errors import BadValueError
from flybench.hydraulics.sphere import GRAVITY
from flybench.quantity import Measured

SLOWEST, FASTEST = 0.02, 2.0
"""Range of the sink speed [m/s]."""
LIGHTEST, HEAVIEST = 2e-5, 0.1
"""Range of the submerged weight [N]."""
USUAL_DENSITY = 4000.0
"""Of a whole fly where its dry mass is not known [kg/m3] (judgement); it moves a drift by less than a percent."""


@dataclass(frozen=True)
class RigFly:
    """A fly: free-water sink speed v [m/s], submerged weight W [N], dry mass [kg] where known.

    Raises BadValueError for a fly that floats or has no weight.
    """

    name: str
    speed: Measured
    weight: Measured
    dry_mass: float | None = None

    def __post_init__(self) -> None:
        """Refuse what does not sink."""
        cure = "A rig needs flies that sink: measure its speed and weigh it in water."
        if not self.speed.value > 0:
            raise BadValueError(f"fly {self.name}", f"sinks at {self.speed.value:g} m/s: it floats", cure)
        if not self.weight.value > 0:
            raise BadValueError(
                f"fly {self.name}", f"weighs {self.weight.value:g} N in water: it floats", cure
            )
        for what, value, low, high, unit in (
            ("sink speed", self.speed.value, SLOWEST, FASTEST, "m/s"),
            ("submerged weight", self.weight.value, LIGHTEST, HEAVIEST, "N"),
        ):
            if not low <= value <= high:
                problem = f"{what} {value:g} is outside {low:g} to {high:g} {unit}"
                raise BadValueError(f"fly {self.name}", problem, "Check the number and its unit.")
        if self.dry_mass is not None and not self.dry_mass * GRAVITY > self.weight.value:
            problem = f"weighs no more in air ({self.dry_mass:g} kg) than in water ({self.weight.value:g} N)"
            raise BadValueError(f"fly {self.name}", problem, "Check both weights.")

    def moving_mass(self, water_density: float) -> float:
        """Return mass plus added mass, m + rho V / 2 [kg], in water of that density [kg/m3]."""
        sunk = self.weight.value / GRAVITY
        dry = sunk / (1 - water_density / USUAL_DENSITY) if self.dry_mass is None else self.dry_mass
        return dry + 0.5 * (dry - sunk)
