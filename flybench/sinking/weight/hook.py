"""The mass of a hook from its wire, and usual hooks by trade size."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flybench.errors import BadValueError
from flybench.quantity import Measured, inside
from flybench.sinking.weight.metals import Metal, density_of
from flybench.sinking.weight.parts import Part, metal_part, times

_WIRE_DOUBT, _LENGTH_DOUBT = 0.10, 0.12
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
"""Trade size: wire, gape, shank [mm], of a nymph hook of stout wire: from memory."""


@dataclass(frozen=True)
class Hook:
    """A usual hook of a trade size: lengths [m] and mass [kg], each with its standard uncertainty."""

    size: int
    wire_diameter: Measured
    gape: Measured
    shank: Measured
    mass: Measured
    volume: Measured

    @property
    def part(self) -> Part:
        """The hook as a part of a fly."""
        return metal_part("hook", self.volume, Metal.HOOK_STEEL)


def hook_wire_length(
    shank: float, gape: float, wire_diameter: float, point: float | None = None, eye: float | None = None
) -> float:
    """Return the length of wire in a hook [m]: shank, half-round bend, leg to the point, eye.

    L = shank + pi (gape + d) / 2 + point + pi (eye + d): the bend is half a circle with the gape as inner
    diameter, the eye a closed ring.

    Parameters: shank, gape, wire_diameter d; point, length of the leg to the point (default: as long as the
    gape is wide); eye, its inner diameter (default: 1.5 d) [m]. The defaults are common practice, no source.
    Range: all above zero and below 0.2 m; BadValueError else. The taper of the point is not taken off.
    """
    lengths = {
        "hook.shank": shank,
        "hook.gape": gape,
        "hook.wire_diameter": wire_diameter,
        "hook.point": gape if point is None else point,
        "hook.eye": 1.5 * wire_diameter if eye is None else eye,
    }
    for key, value in lengths.items():
        inside(key, value, 0.01e-3, 0.2, "m", "Give a length above zero, below 200 mm.")
    bend = math.pi / 2 * (gape + wire_diameter)
    ring = math.pi * (lengths["hook.eye"] + wire_diameter)
    return shank + bend + lengths["hook.point"] + ring


def hook_volume(wire_diameter: Measured, wire_length: Measured) -> Measured:
    """Return the volume of a hook's wire [m3]: pi d^2 / 4 L, the two [m] independent.

    Range: wire 0.1 to 3 mm, length up to 0.5 m; BadValueError else.
    """
    d = wire_diameter.value
    inside("hook.wire_diameter", d, 0.1e-3, 3e-3, "m", "Give the hook's wire, 0.1 to 3 mm.")
    inside("hook.wire_length", wire_length.value, d, 0.5, "m", "Give the length of the hook's wire.")
    area = Measured(math.pi / 4 * d**2, math.pi / 2 * d * wire_diameter.standard_uncertainty)
    return times(area, wire_length)


def hook_mass(wire_diameter: Measured, wire_length: Measured, metal: Metal = Metal.HOOK_STEEL) -> Measured:
    """Return the mass of a hook [kg]: rho pi d^2 / 4 L.

    Parameters: wire_diameter d and wire_length L [m] (see ``hook_wire_length``); metal.

    >>> round(hook_mass(Measured(0.5e-3, 0.0), Measured(20e-3, 0.0)).value * 1e6, 1)
    30.8
    """
    return times(hook_volume(wire_diameter, wire_length), density_of(metal))


def typical_hook(size: int) -> Hook:
    """Return a usual nymph hook of a trade size: sizes from memory, hence good to a quarter in mass.

    Standard uncertainties: 10 % of the wire's diameter, 12 % of lengths. Weigh ten hooks for better.
    Range: even sizes 6 to 22; BadValueError else.
    """
    if size not in _USUAL:
        sizes = ", ".join(map(str, _USUAL))
        problem = f"there is no usual hook of size {size}"
        raise BadValueError("hook.size", problem, f"Name one of {sizes}, or weigh the hook.")
    wire, gape, shank = (value * 1e-3 for value in _USUAL[size])
    length = hook_wire_length(shank, gape, wire)
    thick = Measured(wire, _WIRE_DOUBT * wire)
    long = Measured(length, _LENGTH_DOUBT * length)
    return Hook(
        size,
        thick,
        Measured(gape, _LENGTH_DOUBT * gape),
        Measured(shank, _LENGTH_DOUBT * shank),
        hook_mass(thick, long),
        hook_volume(thick, long),
    )
