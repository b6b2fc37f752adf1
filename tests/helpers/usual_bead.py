"""A bead known only by its diameter, metal and bore, as a part of a fly."""

from __future__ import annotations

from flybench.quantity import Measured
from flybench.sinking.weight.bead import Bore, default_bores, volume_of
from flybench.sinking.weight.parts import PartMetal, SolidPart, metal_part


def usual_bead(diameter: Measured, metal: PartMetal, bore: Bore) -> SolidPart:
    """Return a bead of this diameter [m] with the usual bore of the trade."""
    return metal_part("bead", volume_of(default_bores(diameter, bore)), metal)
