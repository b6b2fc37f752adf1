"""The gain of a scale: how far all that it shows is off by one factor, the same for every fly weighed on it."""

from __future__ import annotations

import math
from dataclasses import replace

from flybench.hydraulics.sphere import GRAVITY
from flybench.quantity import Measured
from flybench.sinking.weight.flags import doubtful
from flybench.sinking.weight.submerged import SubmergedWeight, Way

GAIN = 0.005
"""Standard uncertainty of a scale's gain [-]: pocket scales are adjusted with one weight of class M or worse and used
far below it (judgement; a scale tried with a weight of its own range is better)."""


def on_scale(found: SubmergedWeight, gain: float = GAIN) -> SubmergedWeight:
    """Return a weight from readings with the doubt of the scale's gain in it; from parts alone it has none.

    A gain of 1 + c makes both readings greater by c: u(W) grows by c W where the fly was weighed in water, by c m g
    where dry only, m the dry mass.

    Parameters: found, without the gain; gain c [-], its standard uncertainty.
    Returns: the record; its ``gain`` is what of its relative doubt every fly weighed on that scale shares.
    Reference: JCGM 100:2008, 5.1.2.
    """
    if found.way is Way.FROM_PARTS:
        return found
    dry_only = found.way is Way.WEIGHED_AND_VOLUME
    pull = GRAVITY * found.mass.value if dry_only else found.weight.value
    read = found.apparent_mass if found.way is Way.WEIGHED_IN_WATER else found.mass.value
    weight = _wider(found.weight, gain * pull)
    flags = (*doubtful(weight), *(flag for flag in found.flags if flag != "weight-uncertain"))
    twice = found.way is Way.WEIGHED_TWICE
    return replace(
        found,
        weight=weight,
        displaced=_wider(found.displaced, gain * found.displaced.value) if twice else found.displaced,
        mass=_wider(found.mass, gain * read),
        moving_mass=_wider(found.moving_mass, gain * read),
        flags=flags,
        gain=gain * pull / found.weight.value,
    )


def _wider(one: Measured, more: float) -> Measured:
    return Measured(one.value, math.hypot(one.standard_uncertainty, more))
