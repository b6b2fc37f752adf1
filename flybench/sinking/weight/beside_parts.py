"""Readings beside what the parts of a fly weigh: whether the two go together."""

from __future__ import annotations

import math
from collections.abc import Sequence

from flybench.quantity import Measured
from flybench.sinking.weight.parts import DRESSING_DENSITY, SolidPart, total
from flybench.sinking.weight.submerged import SubmergedWeight, Way

_SURE = 3.0
"""Standard uncertainties beyond which readings and parts disagree [-]: k = 3, as flies are told so that are in order
otherwise (judgement)."""
_UNLISTED, _UNDRESSED = 0.05, 0.3
"""Share of a fly's mass that recipes leave out [-]: thread, wax, varnish; and all dressing, where none is listed
(judgement). Less than the first is never told."""


def unlike_parts(found: SubmergedWeight, parts: Sequence[SolidPart], dressed: bool = True) -> tuple[str, ...]:
    """Return the flag of a weighed fly that does not go with its parts, beyond k = 3 and what recipes leave out.

    Compared are the mass and, where it was weighed in water too, the volume that parts of that mass would have,
    V = sum V_i + (m - M) cov(M, V) / u(M)^2: a bead that is heavier than thought is larger, too.

    Parameters: found, from readings; parts, all that are known; dressed, whether dressing is among them.
    Reference: the normal law of two correlated values.
    """
    mass, volume = total([part.mass for part in parts]), total([part.volume for part in parts])
    left_out = (_UNLISTED if dressed else _UNDRESSED) * mass.value
    if found.way is Way.FROM_PARTS or not volume.value > 0:
        return ()
    if found.way is Way.WEIGHED_IN_WATER:
        apparent = total([part.apparent_mass(found.water_density) for part in parts])
        read = Measured(found.apparent_mass, found.apparent_mass * found.relative_uncertainty)
        return _flag(_apart(read, apparent, left_out, _UNLISTED * mass.value))
    beside = _apart(found.mass, mass, left_out, _UNLISTED * mass.value)
    if found.way is Way.WEIGHED_TWICE:
        likely = _volume_of_mass(found.mass.value, mass, volume, parts)
        beside = beside or _apart(found.displaced, likely, left_out / DRESSING_DENSITY.value, 0.0)
    return _flag(beside)


def _volume_of_mass(weighed: float, mass: Measured, volume: Measured, parts: Sequence[SolidPart]) -> Measured:
    """Return the volume [m3] of parts that together have the weighed mass [kg]."""
    shared = sum(
        part.correlation * part.mass.standard_uncertainty * part.volume.standard_uncertainty for part in parts
    )
    square = mass.standard_uncertainty**2
    slope = shared / square if square > 0 else 0.0
    left = math.sqrt(max(volume.standard_uncertainty**2 - slope * shared, 0.0))
    return Measured(volume.value + slope * (weighed - mass.value), left)


def _apart(one: Measured, other: Measured, more: float, least: float) -> bool:
    """Tell whether one is less than the other by more than ``least``, or greater by more than ``more``, beyond k = 3."""
    doubt = _SURE * math.hypot(one.standard_uncertainty, other.standard_uncertainty)
    return not -max(doubt, least) <= one.value - other.value <= more + doubt


def _flag(beside: bool) -> tuple[str, ...]:
    return ("unlike-parts",) if beside else ()
