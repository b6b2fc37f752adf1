"""How a fly truly drags: bead, hook, body and every fibre that stands off, each by the law of its own shape.

The drag of flybench's model is the bead's and a dressing's to one power of the bead's Reynolds number. Here a bead follows
one law, wire and fibres another by their own Reynolds numbers, and fibres that stand close shade one another. What
is invented stands in for what nobody measured: these are no real flies.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, pi, sqrt

from flyshop.recipes import Tying, Used

_TOGETHER = 1.75
"""How much more the parts drag together than apart [-]: wakes of a slanting fly that sways (invented)."""
_LOOSE = {"slick": 0.0, "ribbed": 0.004, "dubbed": 0.016, "hackled": 0.006, "soft": 0.006, "bulky": 0.075}
"""Share of the dubbing that stands off the body, by style [-] (invented)."""
_PACKED = 330.0
"""Mass of dubbing in the room that it takes on the hook [kg/m3] (invented)."""
_FUR = 22e-6
"""Thickness of a fibre of wool or fur [m] (from memory: sheep's wool is 15 to 40 micrometres)."""
_FUR_REACH = 2.0e-3
"""How far dubbing stands off [m] (invented)."""
_BARBS, _BARB = 14.0, 45e-6
"""Barbs in a turn of hackle [-], and their thickness [m] (invented)."""
_STIFF, _HEN = 0.50, 0.30
"""Share of its length by which a barb stands across the flow, of stiff hackle and of hen [-] (invented)."""
_HOOK = 2.4
"""Length of wire that stands across the flow, over the gape [-]: bend and point of a fly that slants (invented)."""
_TAIL, _TAIL_LONG, _TAIL_ACROSS = 90e-6, 9e-3, 0.15
"""Tail fibres: thickness and length [m], and the share that stands across the flow [-] (invented)."""
_WING_AREA = 9e-6
"""Area across the flow of a wing laid flat [m2] (invented)."""
_YARN, _YARN_FUR = 1.9e-3, 2.0
"""Thickness of thick yarn [m], and length of the fibres that stand off it, over its own [-] (invented)."""


@dataclass(frozen=True)
class Stream:
    """Water that flows past: density [kg/m3] and kinematic viscosity [m2/s]."""

    density: float
    viscosity: float


@dataclass(frozen=True)
class _Fibres:
    """Fibres alike: their length across the flow, all together, and thickness and reach of each [m]."""

    length: float
    thick: float
    reach: float


def drag(of: Tying, speed: float, stream: Stream, hand: float = 1.0) -> float:
    """Return the drag [N] of a fly at a speed [m/s]; ``hand`` is how much more this one has of dressing [-]."""
    across, body = _bead_across(of), _body_across(of)
    area = _sphere(speed * across / stream.viscosity) * pi / 4 * across**2 if across else 0.0
    area += (
        0.9 * pi / 4 * max(body**2 - across**2, 0.0)
        + _skin(of, body, speed, stream)
        + _hook(of, speed, stream)
    )
    fibres = _fibres(of)
    standing = hand * sum(
        one.length * one.thick * _wire(speed * one.thick / stream.viscosity) for one in fibres
    )
    room = 1.2 * pi / 4 * (body + 2 * max((one.reach for one in fibres), default=0.0)) ** 2
    area += room * (1 - exp(-standing / room)) + hand * _wings(of)
    return 0.5 * stream.density * speed**2 * _TOGETHER * area


def widths(of: Tying) -> tuple[float, float]:
    """Return how thick bead or body is, and how far fibres stand off it [m]."""
    return max(_bead_across(of), _body_across(of)), max((one.reach for one in _fibres(of)), default=0.0)


def _sphere(reynolds: float) -> float:
    """Return the drag coefficient of a sphere, (0.63 + 4.8 / sqrt(Re))^2: Dallavalle 1948, from memory."""
    return (0.63 + 4.8 / sqrt(reynolds)) ** 2


def _wire(reynolds: float) -> float:
    """Return the drag coefficient of a cylinder across the flow, 1 + 10 Re^(-2/3): White 1974, from memory."""
    return 1.0 + 10.0 * reynolds ** (-2.0 / 3.0)


def _hook(of: Tying, speed: float, stream: Stream) -> float:
    gape, wire = of.hook.size("gape") or 0.0, of.hook.size("wire") or 0.0
    return _HOOK * gape * wire * _wire(speed * wire / stream.viscosity)


def _skin(of: Tying, body: float, speed: float, stream: Stream) -> float:
    """Return the drag area of the skin [m2]: of a flat plate, 1.33 / sqrt(Re), on the body's side (Blasius 1908)."""
    long = of.hook.size("shank") or 0.0
    return 1.33 / sqrt(speed * long / stream.viscosity) * pi * body * long


def _bead_across(of: Tying) -> float:
    return 0.0 if of.bead is None else of.bead.size("diameter") or 0.0


def _body_across(of: Tying) -> float:
    """Return how thick the body is [m], from what is wound and dubbed on the shank."""
    shank, wire = of.hook.size("shank") or 1.0, of.hook.size("wire") or 0.0
    room = sum(_room(used) for used in of.dressing)
    return sqrt(wire**2 + 4 * room / (pi * shank))


def _room(used: Used) -> float:
    """Return the room that a material takes on the shank [m3]."""
    if used.unit == "mg" and used.part in ("body", "collar"):
        return used.amount * 1e-6 / _PACKED
    if used.unit == "mm" and used.part == "body":
        return pi / 4 * _YARN**2 * used.amount * 1e-3 * 0.35
    return {
        "thread": 1.4e-9 * used.amount / 600,
        "coating": 2.6e-9 * used.amount,
        "ballast": 0.4e-9 * used.amount,
    }.get(used.part, 0.0)


def _fibres(of: Tying) -> list[_Fibres]:
    gape = of.hook.size("gape") or 0.0
    return [fibres for used in of.dressing for fibres in _of_one(used, of.style, gape)]


def _of_one(used: Used, style: str, gape: float) -> list[_Fibres]:
    if used.part == "hackle":
        stiff = _STIFF if "Stiff" in used.material["name"] else _HEN
        return [_Fibres(used.amount * _BARBS * 1.3 * gape * stiff, _BARB, 1.3 * gape * stiff)]
    if used.part == "tail" and used.unit == "piece":
        return [_Fibres(used.amount * _TAIL_LONG * _TAIL_ACROSS, _TAIL, _TAIL_LONG * _TAIL_ACROSS)]
    if used.unit == "mg" and used.part in ("body", "collar", "tail"):
        long = used.amount * 1e-6 * _LOOSE[style] / (1_300.0 * pi / 4 * _FUR**2)
        return [_Fibres(0.7 * long, _FUR, _FUR_REACH)] if long else []
    if used.unit == "mm" and used.part == "body":
        return [_Fibres(used.amount * 1e-3 * _YARN_FUR, _FUR, 1e-3)]
    return []


def _wings(of: Tying) -> float:
    return sum(_WING_AREA * used.amount for used in of.dressing if used.part == "wing")
