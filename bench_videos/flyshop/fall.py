"""The true fall of a fly: where its weight and its drag are in balance, and how soon it gets there."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

from scipy.optimize import brentq

from flyshop.drag import Stream, drag
from flyshop.recipes import Tying
from flyshop.weight import mass, solids, weight_in_water

_SLOWEST, _FASTEST = 0.01, 3.0
_ADDED = 1.0
"""Water that is moved along, over the water that the fly displaces [-] (invented: half for a ball, more for fibres)."""


@dataclass(frozen=True)
class TrueFly:
    """What is true of one fly: its variant, how heavy its packet's beads are, and how full its dressing is [-]."""

    variant: Tying
    packet: float = 1.0
    hand: float = 1.0


@dataclass(frozen=True)
class Fall:
    """Sink speed in wide water [m/s], response time [s], the power to which drag grows [-], and weight in water [N]."""

    speed: float
    response_time: float
    exponent: float
    weight: float


def fall(fly: TrueFly, stream: Stream) -> Fall:
    """Return how a fly falls in wide, still water."""
    parts = solids(fly.variant, fly.packet)
    weight = weight_in_water(parts, stream.density)

    def pull(speed: float) -> float:
        return drag(fly.variant, speed, stream, fly.hand) - weight

    speed = float(brentq(pull, _SLOWEST, _FASTEST, xtol=1e-9))
    near = (drag(fly.variant, factor * speed, stream, fly.hand) for factor in (1.02, 0.98))
    upper, lower = near
    moved = mass(parts) + _ADDED * stream.density * sum(part.volume for part in parts)
    return Fall(speed, moved * speed / weight, log(upper / lower) / log(1.02 / 0.98), weight)
