"""What a fly weighs by its parts, kept apart by bead and the rest, so that weighed flies can teach what beads weigh."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from flybench.hydraulics.sphere import GRAVITY
from flybench.quantity import Measured
from flybench.sinking.weight.parts import SolidPart, total


@dataclass(frozen=True)
class ByParts:
    """The weight in water of a fly by its parts alone [N], and what of its doubt other flies share.

    lot, the packet that its bead came from (empty without a bead); metal, of a bead of which only size and metal are
    known (empty where the packet was weighed, and without a bead); share, of the weight that is the bead's [-];
    bead_doubt, relative standard uncertainty of the weight of beads of that packet [-]; rest_doubt, that of all else over
    the whole weight [-].
    """

    weight: float
    lot: str
    metal: str
    share: float
    bead_doubt: float
    rest_doubt: float


def by_parts(parts: Sequence[SolidPart], density: float, lot: str = "", metal: str = "") -> ByParts | None:
    """Return what a fly weighs by its parts in water of a density [kg/m3]; None where they would float.

    Parameters: parts, of which the bead is named "bead"; lot and metal as in ``ByParts``.
    Reference: Archimedes' principle; JCGM 100:2008, 5.1.2.
    """
    each = [(part.name == "bead", part.apparent_mass(density)) for part in parts]
    whole = total([one for _, one in each])
    if not whole.value > 0:
        return None
    beads, rest = (total([one for is_bead, one in each if is_bead is kind]) for kind in (True, False))
    if not beads.value > 0:
        return ByParts(GRAVITY * whole.value, "", "", 0.0, 0.0, whole.standard_uncertainty / whole.value)
    return ByParts(
        GRAVITY * whole.value,
        lot,
        metal,
        beads.value / whole.value,
        beads.standard_uncertainty / beads.value,
        rest.standard_uncertainty / whole.value,
    )


def own_share(weight: Measured, shared: float) -> float:
    """Return the relative standard uncertainty of a weight [N] without a part of it that others share [-]."""
    own = (weight.standard_uncertainty / weight.value) ** 2 - shared**2
    return math.sqrt(max(own, 0.0))
