"""The wire of a fly: the hook bent of it, usual hooks by trade size, and the ballast wound round the shank."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from flybench.errors import BadValueError
from flybench.quantity import Floats, Measured, inside
from flybench.sinking.weight.parts import PartMetal, SolidPart, density_of, metal_part, times
from flybench.statistics.budget import propagate

_WIRE_DOUBT, _LENGTH_DOUBT = 0.10, 0.12
"""Relative standard uncertainties of a usual hook's wire and of its lengths [-]: makers differ that much (judgement)."""
_EYE = 1.5
"""Inner diameter of an eye over the wire's [-]: common practice, no source."""
_SHORTEST, _LONGEST = 0.01e-3, 0.2
"""Lengths of a hook's pieces [m]: narrow enough to catch a wrong unit (judgement)."""
_THINNEST_HOOK, _THICKEST_HOOK = 0.1e-3, 3e-3
"""Wire of hooks [m]: as those lengths."""
_LONGEST_WIRE = 0.5
"""Wire in one hook [m]: as those lengths."""
_USUAL = {
    6: (0.85, 7.5, 14.0),
    8: (0.78, 6.5, 12.0),
    10: (0.70, 5.7, 10.2),
    12: (0.62, 4.9, 8.6),
    14: (0.55, 4.2, 7.2),
    16: (0.48, 3.6, 6.0),
    18: (0.42, 3.0, 5.0),
    20: (0.37, 2.5, 4.1),
    22: (0.33, 2.1, 3.4),
}
"""Trade size: wire, gape and shank [mm] of a nymph hook of stout wire: from memory."""


@dataclass(frozen=True)
class UsualHook:
    """A usual hook of a trade size: lengths [m] and mass [kg], each with its standard uncertainty."""

    size: int
    wire_diameter: Measured
    gape: Measured
    shank: Measured
    mass: Measured
    volume: Measured

    @property
    def part(self) -> SolidPart:
        """The hook as a part of a fly."""
        return metal_part("hook", self.volume, PartMetal.HOOK_STEEL)


def hook_wire_length(
    shank: float, gape: float, wire_diameter: float, point: float | None = None, eye: float | None = None
) -> float:
    """Return the length of wire in a hook: shank, half-round bend, leg to the point, eye.

    L = shank + pi (gape + d) / 2 + point + pi (eye + d): the bend is half a circle with the gape as inner
    diameter, the eye a closed ring.

    Parameters: shank, gape, wire_diameter d; point, length of the leg to the point (default: as long as the
    gape is wide); eye, its inner diameter (default: 1.5 d) [m]. The defaults are common practice, no source.
    Returns: length [m].
    Range: all from 0.01 to 200 mm; BadValueError else. The taper of the point is not taken off.
    Reference: geometry of the ideal shape.

    >>> round(hook_wire_length(7.2e-3, 4.2e-3, 0.55e-3) * 1e3, 2)
    23.18
    """
    lengths = {
        "hook.shank": shank,
        "hook.gape": gape,
        "hook.wire_diameter": wire_diameter,
        "hook.point": gape if point is None else point,
        "hook.eye": _EYE * wire_diameter if eye is None else eye,
    }
    for key, value in lengths.items():
        inside(key, value * 1e3, _SHORTEST * 1e3, _LONGEST * 1e3, "mm", "Measure the hook again.")
    bend = math.pi / 2 * (gape + wire_diameter)
    ring = math.pi * (lengths["hook.eye"] + wire_diameter)
    return shank + bend + lengths["hook.point"] + ring


def hook_volume(wire_diameter: Measured, wire_length: Measured) -> Measured:
    """Return the volume of a hook's wire.

    V = pi d^2 / 4 L.

    Parameters: wire_diameter d and wire_length L [m], independent. Returns: volume [m3].
    Range: wire 0.1 to 3 mm, length up to 500 mm; BadValueError else. Reference: cylinder; JCGM 100:2008, 5.1.2.

    >>> round(hook_volume(Measured(0.5e-3, 0.0), Measured(20e-3, 0.0)).value * 1e9, 3)
    3.927
    """
    d = wire_diameter.value
    thin, thick, longest = _THINNEST_HOOK * 1e3, _THICKEST_HOOK * 1e3, _LONGEST_WIRE * 1e3
    inside("hook.wire_diameter", d * 1e3, thin, thick, "mm", "Measure the hook's wire again.")
    inside("hook.wire_length", wire_length.value * 1e3, d * 1e3, longest, "mm", "Measure the hook again.")
    area = Measured(math.pi / 4 * d**2, math.pi / 2 * d * wire_diameter.standard_uncertainty)
    return times(area, wire_length)


def hook_mass(
    wire_diameter: Measured, wire_length: Measured, metal: PartMetal = PartMetal.HOOK_STEEL
) -> Measured:
    """Return the mass of a hook.

    m = rho pi d^2 / 4 L.

    Parameters: wire_diameter d and wire_length L [m] (see ``hook_wire_length``); metal, of density rho.
    Returns: mass [kg]. Range and reference: as ``hook_volume``; densities, ``source_of``.

    >>> round(hook_mass(Measured(0.5e-3, 0.0), Measured(20e-3, 0.0)).value * 1e6, 1)
    30.8
    """
    return times(hook_volume(wire_diameter, wire_length), density_of(metal))


@lru_cache
def usual_hook(size: int) -> UsualHook:
    """Return a usual nymph hook of a trade size: sizes from memory, hence good to a quarter in mass.

    Standard uncertainties: 10 % of the wire's diameter, 12 % of lengths. Weigh ten hooks for better.
    Range: even sizes 6 to 22; BadValueError else.
    """
    if size not in _USUAL:
        sizes = ", ".join(map(str, _USUAL))
        problem = f"the usual hook of size {size} is not known"
        raise BadValueError("hook.size", problem, f"Name one of {sizes}, or weigh the hook.")
    wire, gape, shank = (value * 1e-3 for value in _USUAL[size])
    length = hook_wire_length(shank, gape, wire)
    thick = Measured(wire, _WIRE_DOUBT * wire)
    long = Measured(length, _LENGTH_DOUBT * length)
    return UsualHook(
        size,
        thick,
        Measured(gape, _LENGTH_DOUBT * gape),
        Measured(shank, _LENGTH_DOUBT * shank),
        hook_mass(thick, long),
        hook_volume(thick, long),
    )


_THINNEST, _THICKEST = 0.02e-3, 3e-3
"""Ballast wire [m]: wider than what is sold, narrow enough to catch a wrong unit (judgement)."""
_WIDEST_CORE = 20e-3
"""Widest body beneath ballast [m]: as that wire."""


def helix_length(turns: float, mean_diameter: float, pitch: float) -> float:
    """Return the length of a helix.

    L = n sqrt((pi D)^2 + p^2).

    Parameters: turns n [-]; mean_diameter, from centre line to centre line, and pitch, the advance of one turn [m].
    Returns: length [m]. Range: none negative; BadValueError else.
    Reference: unrolled cylinder and Pythagoras, as in Math Forum, Dr. Math 55156.

    >>> round(helix_length(10, 2e-3, 0.4e-3) * 1e3, 3)
    62.959
    """
    sizes = (("turns", turns, ""), ("mean diameter", mean_diameter * 1e3, "mm"), ("pitch", pitch * 1e3, "mm"))
    for key, value, unit in sizes:
        inside(key, value, 0.0, math.inf, unit, "Give zero or more.")
    return turns * math.hypot(math.pi * mean_diameter, pitch)


def wire_length(
    turns: float, core_diameter: float, wire_diameter: float, pitch: float | None = None
) -> float:
    """Return the length of wire in one layer of turns, along its centre line.

    L = n sqrt((pi D)^2 + p^2). The mean diameter D is core + wire; the pitch p is the wire's diameter where the turns
    touch (default). A second layer is another call, its core two wire diameters wider.

    Parameters: turns, part of one counts; core_diameter, of the shank or the body beneath, wire_diameter and
    pitch [m].
    Returns: length [m].
    Range: wire 0.02 to 3 mm, core to 20 mm, pitch at least the wire's diameter; BadValueError else.
    Reference: as ``helix_length``.

    >>> round(wire_length(10, 0.6e-3, 0.3e-3) * 1e3, 2)
    28.43
    """
    inside(
        "wire.diameter",
        wire_diameter * 1e3,
        _THINNEST * 1e3,
        _THICKEST * 1e3,
        "mm",
        "Measure the wire again.",
    )
    inside(
        "wire.core", core_diameter * 1e3, 0.0, _WIDEST_CORE * 1e3, "mm", "Measure what lies beneath the wire."
    )
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
    """Return the volume of one layer of turns.

    V = pi d^2 / 4 L, L the length of the centre line: exact for a round wire as long as it is not flattened.

    Parameters and range: as ``wire_length``. Returns: volume [m3]. Reference: second theorem of Pappus.

    >>> round(wire_volume(10, 0.6e-3, 0.3e-3) * 1e9, 3)
    2.01
    """
    return math.pi / 4 * wire_diameter**2 * wire_length(turns, core_diameter, wire_diameter, pitch)


def ballast(turns: Measured, core_diameter: Measured, wire_diameter: Measured, metal: PartMetal) -> SolidPart:
    """Return one layer of touching turns as a part; uncertainties to first order, inputs independent.

    Parameters: turns [-] (half a turn is easily lost), core_diameter and wire_diameter [m]; metal.
    Returns: mass [kg] and volume [m3]. Range: as ``wire_length``. Reference: JCGM 100:2008, 5.1.2.
    """
    inputs = (turns, core_diameter, wire_diameter)

    def volume(values: Floats) -> float:
        return wire_volume(float(values[0]), float(values[1]), float(values[2]))

    variances = [each.standard_uncertainty**2 for each in inputs]
    values, covariance = propagate(volume, [each.value for each in inputs], variances)
    return metal_part("ballast", Measured(float(values[0]), math.sqrt(covariance[0, 0])), metal)
