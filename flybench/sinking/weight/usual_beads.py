"""Usual sizes of a bead known only by its trade diameter: common practice, no source."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flybench.errors import BadValueError
from flybench.quantity import Floats, Measured
from flybench.sinking.weight.bead import Bore, Mouth, bead_volume
from flybench.sinking.weight.metals import Metal
from flybench.sinking.weight.parts import Part, metal_part
from flybench.statistics.budget import propagate

_TRADE_DOUBT = 0.05e-3
_NARROWEST, _WIDEST = 1.5e-3, 8.0e-3
_SHAPE_DOUBT = {Bore.STRAIGHT: 0.01, Bore.COUNTERSUNK: 0.02, Bore.REVERSED: 0.02, Bore.SLOTTED: 0.06}


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
    """Return a diameter as printed on the packet [m] with the doubt it deserves: 0.05 mm, no source."""
    return Measured(diameter, _TRADE_DOUBT)


def default_bores(diameter: Measured, bore: Bore) -> BeadSizes:
    """Return the usual sizes of a bead of this diameter [m]: common practice, no source.

    Bore b = 0.35 mm + 0.22 d (0.1 mm); mouth b + 0.32 (d - b), (0.1 (d - b)), 0.4 d deep (0.1 d); slot as
    wide as the bore (0.15 mm); standard uncertainties in brackets.
    Range: 1.5 to 8 mm; BadValueError outside.
    """
    d = diameter.value
    if not _NARROWEST <= d <= _WIDEST:
        problem = f"there are no usual bores for a bead of {d * 1e3:.4g} mm"
        raise BadValueError("bead.diameter", problem, "Give 1.5 to 8 mm, or measure the bore.")
    hole = 0.35e-3 + 0.22 * d
    wide = bore in (Bore.COUNTERSUNK, Bore.REVERSED)
    return BeadSizes(
        bore,
        diameter,
        Measured(hole, 0.1e-3),
        Measured(hole + 0.32 * (d - hole), 0.1 * (d - hole)) if wide else None,
        Measured(0.4 * d, 0.1 * d) if wide else None,
        Measured(hole, 0.15e-3) if bore is Bore.SLOTTED else None,
        shape_doubt=_SHAPE_DOUBT[bore],
    )


def volume_of(sizes: BeadSizes) -> Measured:
    """Return the solid volume of a bead [m3] with its standard uncertainty.

    Sizes count as independent; first order (JCGM 100:2008, 5.1.2), with the doubt of the shape.
    Raises BadValueError as ``bead_volume`` does.
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


def usual_bead(diameter: Measured, metal: Metal, bore: Bore) -> Part:
    """Return the bead known only by its diameter [m], metal and bore, with an honest uncertainty."""
    return metal_part("bead", volume_of(default_bores(diameter, bore)), metal)
