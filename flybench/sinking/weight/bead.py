"""The solid geometry of a bead: a sphere, its bore, and its wide mouth or its slot."""

from __future__ import annotations

import math
from enum import Enum

from flybench.errors import BadValueError
from flybench.quantity import Measured, inside
from flybench.sinking.weight.metals import Metal, density_of
from flybench.sinking.weight.parts import times

SMALLEST, LARGEST = 0.5e-3, 20e-3
"""Diameters of beads [m]; wider than what is sold, narrow enough to catch a wrong unit."""


class Bore(Enum):
    """How a bead is bored."""

    STRAIGHT = "straight"
    """One cylindrical hole through the middle."""
    COUNTERSUNK = "countersunk"
    """The hole opens to a wide mouth at the end that faces the body of the fly."""
    SLOTTED = "slotted"
    """The hole, and a slot from it through one side over the whole length; where a slot stops short, the
    true volume lies between this and the straight bore's."""
    REVERSED = "reversed"
    """The countersunk bead turned round, mouth towards the eye: the same solid, the same volume."""


class Mouth(Enum):
    """The shape of a wide mouth."""

    CONE = "cone"
    CYLINDER = "cylinder"


def bead_volume(
    diameter: float,
    bore: Bore,
    bore_diameter: float,
    mouth_diameter: float | None = None,
    mouth_depth: float | None = None,
    slot_width: float | None = None,
    mouth: Mouth = Mouth.CONE,
) -> float:
    """Return the solid volume of a bead, exact for its shape.

    Straight: pi h^3 / 6, h = sqrt(d^2 - b^2) the height that is left (the spherical ring).
    Countersunk and reversed: the sphere's zone between its far bore edge and the rim of its mouth, less the
    bore, less the mouth: a cone frustum from the mouth's diameter at the rim to the bore's, or a cylinder.
    Slotted: the spherical ring less the slot beyond the bore, in closed form.

    Parameters: diameter, bore_diameter [m]; mouth_diameter, of the wide end's rim, and mouth_depth, from the
    rim's plane inwards [m], for countersunk and reversed; slot_width [m], for slotted, from the axis outwards.
    Returns: volume [m3].
    Range: diameter 0.5 to 20 mm; bore from 0 to less than the diameter; mouth from the bore to less than the
    diameter and no deeper than the bead is there; slot from 0 to less than the diameter. BadValueError else,
    also where a size the shape needs is missing or one it does not have is given.
    Reference: spherical ring, Weisstein, MathWorld, "Spherical Ring", eq. 12; frustum and zone, any handbook.

    >>> round(bead_volume(10e-3, Bore.STRAIGHT, 8e-3) * 1e9, 4)
    113.0973
    """
    _check_sphere(diameter, bore_diameter)
    given = {
        "bead.mouth_diameter": mouth_diameter,
        "bead.mouth_depth": mouth_depth,
        "bead.slot_width": slot_width,
    }
    sizes = _sizes(bore, given)
    if bore is Bore.STRAIGHT:
        return _ring(diameter, bore_diameter)
    if bore is Bore.SLOTTED:
        return _slotted(diameter, bore_diameter, sizes[0])
    return _countersunk(diameter, bore_diameter, sizes[0], sizes[1], mouth)


def bead_mass(volume: Measured, metal: Metal) -> Measured:
    """Return the mass of a bead [kg] from its solid volume [m3] and its metal: m = rho V.

    >>> round(bead_mass(Measured(13e-9, 0.0), Metal.BRASS).value * 1e6, 1)
    110.5
    """
    return times(volume, density_of(metal))


def frontal_area(diameter: float) -> float:
    """Return the area a bead shows along any line of sight [m2]: pi d^2 / 4, the bore not taken off.

    The reference area of drag coefficients here; the hook or the knot fills the bore.
    """
    _check_sphere(diameter, 0.0)
    return math.pi / 4 * diameter**2


def _check_sphere(diameter: float, bore_diameter: float) -> None:
    """Refuse a diameter out of range and a bore that is none."""
    inside("bead.diameter", diameter, SMALLEST, LARGEST, "m", "Give the diameter of a bead, 0.5 to 20 mm.")
    if not 0 <= bore_diameter < diameter:
        problem = f"a bore of {_mm(bore_diameter)} does not fit in a bead of {_mm(diameter)}"
        raise BadValueError(
            "bead.bore_diameter", problem, "Give zero or more, less than the bead's diameter."
        )


_NEEDED = {
    Bore.STRAIGHT: (),
    Bore.COUNTERSUNK: ("bead.mouth_diameter", "bead.mouth_depth"),
    Bore.REVERSED: ("bead.mouth_diameter", "bead.mouth_depth"),
    Bore.SLOTTED: ("bead.slot_width",),
}


def _sizes(bore: Bore, given: dict[str, float | None]) -> list[float]:
    """Return the sizes a shape needs; refuse missing ones and those it does not have."""
    needed = _NEEDED[bore]
    for key, value in given.items():
        if value is not None and key not in needed:
            raise BadValueError(key, f"a {bore.value} bead has none", "Leave it out or name another bore.")
    sizes = [given[key] for key in needed]
    for key, size in zip(needed, sizes, strict=True):
        if size is None:
            raise BadValueError(key, f"a {bore.value} bead needs it", "Measure it, or use the usual sizes.")
    return [size for size in sizes if size is not None]


def _ring(diameter: float, bore_diameter: float) -> float:
    """Return the volume of the spherical ring [m3]."""
    square = (diameter - bore_diameter) * (diameter + bore_diameter)
    return math.pi / 6 * square * math.sqrt(square)


def _countersunk(
    diameter: float, bore_diameter: float, mouth_diameter: float, mouth_depth: float, mouth: Mouth
) -> float:
    """Return the volume of a bead with a wide mouth [m3]."""
    if not bore_diameter <= mouth_diameter < diameter:
        problem = f"a mouth of {_mm(mouth_diameter)} is not between the bore and the bead"
        cure = f"Give at least the bore, {_mm(bore_diameter)}, and less than the bead, {_mm(diameter)}."
        raise BadValueError("bead.mouth_diameter", problem, cure)
    radius, hole, wide = diameter / 2, bore_diameter / 2, mouth_diameter / 2
    rim = math.sqrt(radius**2 - wide**2)
    far = math.sqrt(radius**2 - hole**2)
    deepest = rim + (far if mouth is Mouth.CONE else rim)
    if not 0 <= mouth_depth <= deepest:
        problem = f"a mouth {_mm(mouth_depth)} deep does not fit in the bead"
        raise BadValueError("bead.mouth_depth", problem, f"Give 0 to {_mm(deepest)}, from the rim inwards.")
    zone = radius**2 * (rim + far) - (rim**3 + far**3) / 3
    tip = hole if mouth is Mouth.CONE else wide
    hollow = mouth_depth * (wide**2 + wide * tip + tip**2) / 3
    return math.pi * (zone - hole**2 * (far + rim - mouth_depth) - hollow)


def _slotted(diameter: float, bore_diameter: float, slot_width: float) -> float:
    """Return the volume of a slotted bead [m3]."""
    if not 0 <= slot_width < diameter:
        problem = f"a slot of {_mm(slot_width)} does not fit in a bead of {_mm(diameter)}"
        raise BadValueError("bead.slot_width", problem, "Give zero or more, less than the bead's diameter.")
    radius, hole, half = diameter / 2, bore_diameter / 2, slot_width / 2
    start = max(hole, half)
    bored = _ring(diameter, bore_diameter)
    half_ring = (bored - _ring(diameter, 2 * start)) / 2
    return bored - half_ring - _slot_beyond(radius, half, start)


def _slot_beyond(radius: float, half: float, start: float) -> float:
    """Return the volume of a slot's part farther than ``start`` (at least its half width) from the axis.

    The integral of 4 t^2 asin(half / r) dt over the half chord t, r^2 = radius^2 - t^2, by parts.
    """
    if half == 0:
        return 0.0
    top = math.sqrt((radius - start) * (radius + start))
    side = math.sqrt(start - half) * math.sqrt(start + half)
    flat = (radius - half) * (radius + half)
    turn = math.atan2(top, side)
    lune = math.atan2(half * top, radius * side)
    chord = flat / 2 * turn - top * side / 2
    inner = half * (chord + radius**2 * turn) - radius**3 * lune
    return 4 / 3 * (top**3 * math.atan2(half, side) + inner)


def _mm(metres: float) -> str:
    """Return a length as the user reads it."""
    return f"{metres * 1e3:.4g} mm"
