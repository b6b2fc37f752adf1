"""From the sink speed in the tank to free water, and to drag where the weight is known."""

from __future__ import annotations

import numpy as np

from flybench.bench.sheet.settings import FlySettings, Settings
from flybench.bench.verdict.result import FreeWater, MeasuredDrag
from flybench.errors import BadValueError
from flybench.hydraulics.sphere import drag_coefficient, drag_slope
from flybench.hydraulics.walls import WIDEST_RATIO, plane_wall_factor, wall_factor
from flybench.hydraulics.water import HOTTEST, Water
from flybench.quantity import Measured
from flybench.sinking.drag.steady_fall import drag_in_fall
from flybench.sinking.weight.bead import frontal_area
from flybench.sinking.weight.scale import weight_of_reading
from flybench.sinking.weight.submerged import weight_of_mass

_WIDTH_DOUBT, _WIDTH_DOUBT_UNWEIGHED = 0.2, 0.4
"""Relative standard uncertainty of the width of the fly to the walls [-]: hackle and tail stand off by eye; without a weight
nobody knows either how the drag of the whole compares with its silhouette (judgement)."""
_ROUNDS = 4
"""Rounds in which speed, Reynolds number and width settle [-]: each changes the next by a tenth or less."""
MOST_WALL_DOUBT = 0.045
"""Standard uncertainty of the effect of the tank's walls over the speed from which the tank is too narrow for the fly [-]:
the drag, which goes with the square of the speed, is then good to a fifth, k = 2 (judgement)."""
_SLOWEST, _FASTEST = 1.0, 1e5
"""Reynolds numbers on that width between which walls are corrected [-]: no fly is outside (judgement)."""
_WARMER = 0.05
"""Step of the difference quotient over temperature [K]: viscosity bends by less than 1e-3 of itself (judgement)."""


def free_water(settings: Settings, speed: float, uncertainty: float, fly_width: float) -> FreeWater | None:
    """Take the walls out of a speed [m/s]; None where the tank is unknown or too narrow to correct.

    ``fly_width`` [m] is the extent across the fall as seen. Carried are its own doubt, its difference from the ball with
    the fly's drag, the spread of the published wall formulas, the card as a wall behind the fly, and the doubt of the
    water's temperature: the result is the speed in wide water at the temperature in the sheet.
    """
    side = settings.tank.shortest_side
    if side is None or fly_width / side > WIDEST_RATIO / (1 + _WIDTH_DOUBT):
        return None
    reynolds = _reynolds(settings, speed, fly_width)
    tank, card = _tank(settings, speed, fly_width, side), _card(settings, speed, fly_width)
    factor = tank.value * card.value
    doubts = [wall.standard_uncertainty / wall.value for wall in (tank, card)]
    parts = [uncertainty / speed, *doubts, _warmth(settings, reynolds)]
    free = speed / factor
    return FreeWater(free, free * float(np.linalg.norm(parts)), factor, doubts[0])


def _reynolds(settings: Settings, speed: float, width: float) -> float:
    return float(np.clip(speed * width / settings.water.kinematic_viscosity, _SLOWEST, _FASTEST))


def _tank(settings: Settings, speed: float, fly_width: float, side: float) -> Measured:
    """Return the factor of the tank's walls: the middle of those for the widths that the fly may have to them."""
    drags_like = _drag_width(settings, speed)
    doubt = _WIDTH_DOUBT_UNWEIGHED if drags_like is None else _WIDTH_DOUBT
    widths = [fly_width, fly_width if drags_like is None else drags_like, fly_width * (1 + doubt)]
    seen, other, wider = (
        wall_factor(min(width / side, WIDEST_RATIO), _reynolds(settings, speed, width)) for width in widths
    )
    parts = [
        max(seen.standard_uncertainty, other.standard_uncertainty),
        wider.value - seen.value,
        (other.value - seen.value) / 2,
    ]
    return Measured((seen.value + other.value) / 2, float(np.linalg.norm(parts)))


def _card(settings: Settings, speed: float, fly_width: float) -> Measured:
    """Return the factor of the card that stands behind the fly; exactly 1 where none does."""
    gap = settings.scale.gap.value
    if not settings.scale.card or gap <= 0.0:
        return Measured(1.0, 0.0)
    return plane_wall_factor(fly_width, gap, _reynolds(settings, speed, fly_width))


def _drag_width(settings: Settings, speed: float) -> float | None:
    """Return the diameter of the ball that has the fly's drag at this speed [m]; None where its weight is not known."""
    weight = submerged_weight(settings.fly, settings.water)
    if weight is None:
        return None
    area = drag_in_fall(weight, Measured(speed, 0.0), settings.water, None, None).area.value
    width = float(np.sqrt(area * 4.0 / np.pi))
    for _ in range(_ROUNDS):
        coefficient = float(drag_coefficient(_reynolds(settings, speed, width)))
        width = float(np.sqrt(area / coefficient * 4.0 / np.pi))
    return width


def _warmth(settings: Settings, reynolds: float) -> float:
    """Return the relative change of speed for one standard uncertainty of the water's temperature [-].

    v ~ nu^(n / (2 + n)) with n = d ln Cd / d ln Re of a sphere at the fly's Reynolds number.
    """
    step = _WARMER if settings.temperature < HOTTEST - _WARMER else -_WARMER
    here, there = (
        Water(kelvin, settings.salinity).kinematic_viscosity
        for kelvin in (settings.temperature, settings.temperature + step)
    )
    n = float(drag_slope(reynolds))
    return float(n / (2.0 + n) * np.log(there / here) / step * settings.temperature_uncertainty)


def submerged_weight(fly: FlySettings, water: Water) -> Measured | None:
    """Return weight less buoyancy with its standard uncertainty [N], or None where it is not known.

    The sheet's masses are taken as masses, not as readings in air, which differ by 0.015 %. Raises BadValueError where
    mass and volume say that the fly floats.
    """
    if fly.mass_in_water is not None:
        return weight_of_reading(Measured(*fly.mass_in_water), air_density=0.0)
    if fly.mass is None or fly.volume is None:
        return None
    mass, volume = Measured(*fly.mass), Measured(*fly.volume)
    weight = weight_of_mass(mass, volume, water)
    if not weight.value > 0:
        problem = (
            f"a fly of {volume.value * 1e9:.3g} mm3 displaces {volume.value * water.density * 1e3:.3g} g of water and "
            f"weighs {mass.value * 1e3:.3g} g, so it would float"
        )
        cure = "Weigh the soaked fly hanging in water and give fly.mass_in_water instead."
        raise BadValueError("fly.volume", problem, cure)
    return weight


def drag(settings: Settings, speed: float, uncertainty: float) -> tuple[MeasuredDrag | None, list[str]]:
    """Return the drag at a free-water speed [m/s], and a flag where it is below the bare bead's.

    Drag area 2 W / (rho v^2); the coefficient is on the bead's frontal area, the Reynolds number on the
    bead's diameter.
    """
    water = settings.water
    weight = submerged_weight(settings.fly, water)
    if weight is None:
        return None, []
    bead = settings.fly.bead
    found = drag_in_fall(weight, Measured(speed, uncertainty), water, bead, bead)
    area = (found.area.value, found.area.standard_uncertainty)
    if bead is None or found.coefficient is None or found.dressing_factor is None:
        return MeasuredDrag(weight.value, weight.standard_uncertainty, *area, None, None, None, None), []
    flags = ["drag-too-small"] if found.below_bare_bead else []
    return MeasuredDrag(
        weight.value,
        weight.standard_uncertainty,
        *area,
        found.coefficient.value,
        frontal_area(bead),
        found.reynolds,
        found.dressing_factor.value,
    ), flags
