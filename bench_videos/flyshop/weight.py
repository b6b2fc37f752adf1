"""What a fly truly weighs: solids of its recipe as volumes and densities, added up.

Every formula is plain geometry; what trade and memory supply is said beside each constant.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from flyshop.recipes import Tying, Used

G = 9.80665
"""Standard gravity [m/s2]: CGPM 1901."""
_METAL = {"tungsten": 17_700.0, "brass": 8_480.0}
"""Densities of beads [kg/m3]: sintered tungsten with its binder, and free-cutting brass (both from memory)."""
_BORE = {"slotted": 0.31, "countersunk": 0.22}
"""Share of a bead's sphere that bore, slot or funnel take away [-] (invented: no maker's)."""
_STEEL = 7_850.0
"""Density of hook steel [kg/m3] (from memory)."""
_EYE, _POINT = 3.0, 1.2
"""Across the ring of a hook's eye, over its wire, and length of the point, over the gape [-] (invented: no maker's)."""
_FIBRE = 1_300.0
"""Density of feather, wool, thread and fur [kg/m3]: keratin (from memory)."""
_RESIN = 1_150.0
"""Density of hardened resin [kg/m3] (invented: no maker's)."""
_EACH = {"turn": 0.28e-6, "piece": 0.45e-6, "drop": 2.8e-6, "mm": 0.045e-6}
"""Mass of a turn of feather or tinsel, of a piece, of a drop of resin, of a millimetre of yarn [kg] (invented)."""
_CORE = 1.2e-3
"""Thickness of a body that wire is wound over [m] (invented)."""
_THREAD = 0.06e-3
"""Thickness of tying thread [m] (invented), and the share of its round that is fibre [-]."""
_THREAD_FILL = 0.7


@dataclass(frozen=True)
class Solid:
    """A mass [kg] and its volume [m3]."""

    mass: float
    volume: float


def solids(of: Tying, packet: float = 1.0) -> list[Solid]:
    """Return hook, bead and dressing; ``packet`` is how much heavier the packet's beads are than they should be [-]."""
    beads = [] if of.bead is None else [_bead(of.bead, packet)]
    return [_hook(of.hook), *beads, *(_dressing(used, of.hook) for used in of.dressing)]


def mass(parts: list[Solid]) -> float:
    """Return the mass of the dry fly [kg]."""
    return sum(part.mass for part in parts)


def weight_in_water(parts: list[Solid], density: float) -> float:
    """Return what the wetted fly weighs in water of a density [kg/m3] [N]."""
    return G * sum(part.mass - density * part.volume for part in parts)


def _bead(bead: Used, packet: float) -> Solid:
    across = bead.size("diameter") or 0.0
    volume = pi / 6 * across**3 * (1 - _BORE[bead.material["bore"]])
    return Solid(packet * volume * _METAL[bead.material["metal"]], volume)


def _hook(hook: Used) -> Solid:
    """Return a hook of one wire: eye, shank, a half circle on the gape for the bend, and the point."""
    gape, shank, wire = (hook.size(key) or 0.0 for key in ("gape", "shank", "wire"))
    volume = pi / 4 * wire**2 * (_EYE * pi * wire + shank + (pi / 2 + _POINT) * gape)
    return Solid(volume * _STEEL, volume)


def _dressing(used: Used, hook: Used) -> Solid:
    density = used.density or (_RESIN if used.material["kind"] == "resin" else _FIBRE)
    thick = used.size("thickness")
    if used.unit == "mg":
        return _of_mass(used.amount * 1e-6, density)
    if used.material["kind"] == "thread":
        volume = _THREAD_FILL * pi / 4 * _THREAD**2 * used.amount * 1e-3
        return Solid(volume * density, volume)
    if thick is not None and used.unit == "turn":
        core = (hook.size("wire") or 0.0) if used.part == "ballast" else _CORE
        volume = pi / 4 * thick**2 * pi * (core + thick) * used.amount
        return Solid(volume * density, volume)
    return _of_mass(used.amount * _EACH[used.unit], density)


def _of_mass(whole: float, density: float) -> Solid:
    return Solid(whole, whole / density)
