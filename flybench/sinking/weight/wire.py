"""Ballast wire wound round the shank in touching or open turns."""

from __future__ import annotations

import math

from flybench.errors import BadValueError
from flybench.quantity import Floats, Measured, inside
from flybench.sinking.weight.metals import Metal
from flybench.sinking.weight.parts import Part, metal_part
from flybench.statistics.budget import propagate

_THINNEST, _THICKEST = 0.02e-3, 3e-3


def helix_length(turns: float, mean_diameter: float, pitch: float) -> float:
    """Return the length of a helix [m]: n sqrt((pi D)^2 + p^2).

    Parameters: turns; mean_diameter, from centre line to centre line, and pitch, the advance of one turn [m].
    Range: none negative; BadValueError else.
    Reference: unrolled cylinder and Pythagoras, as in Math Forum, Dr. Math 55156.

    >>> round(helix_length(10, 2e-3, 0.4e-3) * 1e3, 3)
    62.959
    """
    for key, value in (("turns", turns), ("mean diameter", mean_diameter), ("pitch", pitch)):
        inside(key, value, 0.0, math.inf, "", "Give zero or more.")
    return turns * math.hypot(math.pi * mean_diameter, pitch)


def wire_length(
    turns: float, core_diameter: float, wire_diameter: float, pitch: float | None = None
) -> float:
    """Return the length of wire in one layer of turns [m], along its centre line.

    The mean diameter is core + wire; the pitch is the wire's diameter where the turns touch (default).
    A second layer is another call, its core two wire diameters wider.

    Parameters: turns, part of one counts; core_diameter, of the shank or the body beneath, wire_diameter and
    pitch [m].
    Range: wire 0.02 to 3 mm, pitch at least the wire's diameter; BadValueError else.
    """
    cure = "Give the diameter of the wire, 0.02 to 3 mm."
    inside("wire.diameter", wire_diameter, _THINNEST, _THICKEST, "m", cure)
    inside("wire.core", core_diameter, 0.0, 20e-3, "m", "Give the diameter beneath the wire, 0 to 20 mm.")
    advance = wire_diameter if pitch is None else pitch
    if not advance >= wire_diameter:
        problem = (
            f"turns {advance * 1e3:.4g} mm apart overlap: the wire is {wire_diameter * 1e3:.4g} mm thick"
        )
        raise BadValueError("wire.pitch", problem, "Give at least the wire's diameter, or count two layers.")
    return helix_length(turns, core_diameter + wire_diameter, advance)


def wire_volume(
    turns: float, core_diameter: float, wire_diameter: float, pitch: float | None = None
) -> float:
    """Return the volume of one layer of turns [m3]: pi d^2 / 4 times the centre line's length.

    Exact for a round wire (Pappus) as long as it is not flattened. Parameters and range: ``wire_length``.
    """
    return math.pi / 4 * wire_diameter**2 * wire_length(turns, core_diameter, wire_diameter, pitch)


def ballast(turns: Measured, core_diameter: Measured, wire_diameter: Measured, metal: Metal) -> Part:
    """Return one layer of touching turns as a part; uncertainties to first order, inputs independent.

    Parameters: turns (half a turn is easily lost), core_diameter and wire_diameter [m]; metal.
    """
    inputs = (turns, core_diameter, wire_diameter)

    def volume(values: Floats) -> float:
        return wire_volume(float(values[0]), float(values[1]), float(values[2]))

    variances = [each.standard_uncertainty**2 for each in inputs]
    values, covariance = propagate(volume, [each.value for each in inputs], variances)
    return metal_part("ballast", Measured(float(values[0]), math.sqrt(covariance[0, 0])), metal)
