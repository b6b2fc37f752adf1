"""The solid geometry of a bead: a sphere, its bore, its mouth or its slot, and usual sizes by trade diameter."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from typing import Final

from flybench.errors import BadValueError
from flybench.quantity import Floats, Measured, inside
from flybench.sinking.weight.parts import PartMetal, density_of, times
from flybench.statistics.budget import propagate

SMALLEST, LARGEST = 0.5e-3, 20e-3
"""Diameters of beads [m]: wider than what is sold, narrow enough to catch a wrong unit (judgement)."""
_SIZES_KEPT = 4096
"""Sizes of beads whose volume is remembered [-]: those of a shop (judgement)."""


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
    given = dict(zip(_SIZES, (mouth_diameter, mouth_depth, slot_width), strict=True))
    sizes = _sizes(bore, given)
    if bore is Bore.STRAIGHT:
        return _ring(diameter, bore_diameter)
    if bore is Bore.SLOTTED:
        return _slotted(diameter, bore_diameter, sizes[0])
    return _countersunk(diameter, bore_diameter, sizes[0], sizes[1], mouth)


def bead_mass(volume: Measured, metal: PartMetal) -> Measured:
    """Return the mass of a bead from its solid volume and its metal.

    m = rho V.

    Parameters: volume V [m3]; metal, of density rho. Returns: mass [kg]. Range: none is checked.
    Reference: densities, ``source_of``.

    >>> round(bead_mass(Measured(13e-9, 0.0), PartMetal.BRASS).value * 1e6, 1)
    110.5
    """
    return times(volume, density_of(metal))


def frontal_area(diameter: float) -> float:
    """Return the area a bead shows along any line of sight, the reference area of drag coefficients here.

    A = pi d^2 / 4: the bore is not taken off, as the hook or the knot fills it.

    Parameters: diameter d [m]. Returns: area [m2]. Range: 0.5 to 20 mm; BadValueError outside.

    >>> round(frontal_area(2e-3) * 1e6, 4)
    3.1416
    """
    _check_sphere(diameter, 0.0)
    return math.pi / 4 * diameter**2


def _check_sphere(diameter: float, bore_diameter: float) -> None:
    """Refuse a diameter out of range and a bore that is none."""
    cure = "Give the diameter of a bead."
    inside("bead.diameter", diameter * 1e3, SMALLEST * 1e3, LARGEST * 1e3, "mm", cure)
    if not 0 <= bore_diameter < diameter:
        problem = f"a bore of {_mm(bore_diameter)} does not fit in a bead of {_mm(diameter)}"
        cure = "Give zero or more, less than the bead's diameter."
        raise BadValueError("bead.bore_diameter", problem, cure)


_SIZES: Final = ("bead.mouth_diameter", "bead.mouth_depth", "bead.slot_width")
"""Sizes beyond diameter and bore, by the names that errors give them."""
_NEEDED: Final = {
    Bore.STRAIGHT: (),
    Bore.COUNTERSUNK: _SIZES[:2],
    Bore.REVERSED: _SIZES[:2],
    Bore.SLOTTED: _SIZES[2:],
}
"""Sizes that each bore needs beyond diameter and bore."""


def _sizes(bore: Bore, given: dict[str, float | None]) -> list[float]:
    """Return the sizes a shape needs; refuse missing ones and those it does not have."""
    needed = _NEEDED[bore]
    for key, value in given.items():
        if value is not None and key not in needed:
            raise BadValueError(
                key, f"a {bore.value} bead has no such size", "Leave it out, or name another bore."
            )
    sizes = [given[key] for key in needed]
    for key, size in zip(needed, sizes, strict=True):
        if size is None:
            raise BadValueError(
                key,
                f"a {bore.value} bead needs this size",
                "Measure it, or leave out all sizes but the diameter.",
            )
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


_TRADE_DOUBT = 0.05e-3
"""Standard uncertainty of a diameter as printed on the packet [m]: common practice, no source."""
_NARROWEST, _WIDEST = 1.5e-3, 8.0e-3
"""Diameters for which usual bores are known [m]: what is sold for flies (common practice, no source)."""
_BORE, _BORE_SHARE, _BORE_DOUBT = 0.35e-3, 0.22, 0.1e-3
"""Usual bore: what does not grow with the bead [m], share of the diameter [-], standard uncertainty [m]: common
practice, no source."""
_MOUTH_SHARE, _MOUTH_DOUBT = 0.32, 0.1
"""Usual mouth beyond the bore over what is left of the diameter [-], and its standard uncertainty: as the bore."""
_DEPTH_SHARE, _DEPTH_DOUBT = 0.4, 0.1
"""Usual depth of a mouth over the diameter [-], and its standard uncertainty: as the bore."""
_SLOT_DOUBT = 0.15e-3
"""Standard uncertainty of a slot that is taken for as wide as the bore [m]: as the bore."""
_SHAPE_DOUBT = {Bore.STRAIGHT: 0.01, Bore.COUNTERSUNK: 0.02, Bore.REVERSED: 0.02, Bore.SLOTTED: 0.06}
"""Relative standard uncertainty of the volume from what the ideal shape leaves out [-]: edges, paint, and a slot that stops
short of one end (judgement)."""


@dataclass(frozen=True)
class BeadSizes:
    """The sizes of a bead [m], each with its standard uncertainty.

    ``shape_doubt`` is the relative standard uncertainty of the volume from what the ideal shape leaves out:
    rounded edges, paint, a slot that stops short of one end (which leaves up to a tenth more).
    """

    bore: Bore
    diameter: Measured
    bore_diameter: Measured
    mouth_diameter: Measured | None = None
    mouth_depth: Measured | None = None
    slot_width: Measured | None = None
    mouth: Mouth = Mouth.CONE
    shape_doubt: float = 0.01


def trade_diameter(diameter: float) -> Measured:
    """Return a diameter as printed on the packet with the standard uncertainty it deserves [m]: 0.05 mm, no source."""
    return Measured(diameter, _TRADE_DOUBT)


def default_bores(diameter: Measured, bore: Bore) -> BeadSizes:
    """Return the usual sizes of a bead of this diameter [m]: common practice, no source.

    Bore b = 0.35 mm + 0.22 d (0.1 mm); mouth b + 0.32 (d - b), (0.1 (d - b)), 0.4 d deep (0.1 d); slot as
    wide as the bore (0.15 mm); standard uncertainties in brackets.
    Parameters: diameter [m]; bore, its kind. Returns: the sizes [m]. Range: 1.5 to 8 mm; BadValueError outside.

    >>> round(default_bores(Measured(3e-3, 0.0), Bore.STRAIGHT).bore_diameter.value * 1e3, 3)
    1.01
    """
    d = diameter.value
    if not _NARROWEST <= d <= _WIDEST:
        problem = f"the usual bore of a bead of {d * 1e3:.4g} mm is not known"
        raise BadValueError("bead.diameter", problem, "Give a bead of 1.5 to 8 mm, or measure its bore.")
    hole = _BORE + _BORE_SHARE * d
    wide = bore in (Bore.COUNTERSUNK, Bore.REVERSED)
    return BeadSizes(
        bore,
        diameter,
        Measured(hole, _BORE_DOUBT),
        Measured(hole + _MOUTH_SHARE * (d - hole), _MOUTH_DOUBT * (d - hole)) if wide else None,
        Measured(_DEPTH_SHARE * d, _DEPTH_DOUBT * d) if wide else None,
        Measured(hole, _SLOT_DOUBT) if bore is Bore.SLOTTED else None,
        shape_doubt=_SHAPE_DOUBT[bore],
    )


@lru_cache(maxsize=_SIZES_KEPT)
def volume_of(sizes: BeadSizes) -> Measured:
    """Return the solid volume of a bead [m3] with its standard uncertainty.

    Sizes count as independent; first order, with the doubt of the shape.
    Raises BadValueError, and has its range, as ``bead_volume``. Reference: JCGM 100:2008, 5.1.2.
    """
    names = ("diameter", "bore_diameter", "mouth_diameter", "mouth_depth", "slot_width")
    known = {name: size for name in names if (size := getattr(sizes, name)) is not None}

    def volume(values: Floats) -> float:
        given = dict(zip(known, map(float, values), strict=True))
        return bead_volume(bore=sizes.bore, mouth=sizes.mouth, **given)

    exact = volume([each.value for each in known.values()])  # type: ignore[arg-type]
    moving = [each.standard_uncertainty for each in known.values()]
    if not any(moving):
        return Measured(exact, sizes.shape_doubt * exact)
    _, covariance = propagate(volume, [each.value for each in known.values()], [doubt**2 for doubt in moving])
    return Measured(exact, math.hypot(math.sqrt(covariance[0, 0]), sizes.shape_doubt * exact))
