"""Flags of a submerged weight: what makes it doubtful, what each means, and what to do about it."""

from __future__ import annotations

from flybench.flag import Flag, Weight
from flybench.quantity import Measured

UNCERTAIN = 0.03
"""Relative standard uncertainty of a weight above which a record warns [-]: it makes 1.5 % of a predicted speed, as
much as drops usually differ (judgement)."""

FLAGS: dict[str, Flag] = {
    "weight-uncertain": Flag(
        Weight.DOUBT,
        "The standard uncertainty of the weight in water is above 3 %.",
        "Weigh on a finer scale, or weigh several like flies together.",
    ),
    "parts-missing": Flag(
        Weight.DOUBT,
        "The fly weighs more than its parts together, so a part was left out of the list: the volume is too small and "
        "the weight too great.",
        "Name the part that was left out.",
    ),
    "unlike-parts": Flag(
        Weight.DOUBT,
        "What the scale showed and what the fly's parts weigh differ by more than the doubts of both: a wrong reading, a "
        "bubble, or a bead that is not what it is listed as.",
        "Weigh the fly again, wetted through and without a bubble. If it stays so, weigh ten such beads together and "
        "give the material that weight.",
    ),
    "readings-differ": Flag(
        Weight.DOUBT,
        "The readings of one weighing differ by more than such a scale's readings usually do.",
        "Look for a bubble, keep the thread off the vessel, tare before each reading, and weigh it a third time.",
    ),
    "air-held": Flag(
        Weight.DOUBT,
        "Air held in the dressing takes weight away, and goes when the dressing is wetted through: the weight holds for "
        "this much air only.",
        "Soak the fly, squeeze it under water and weigh it again.",
    ),
    "water-soaked": Flag(
        Weight.NOTE,
        "Water soaked up by the dressing is counted in the moving mass only: it adds inertia, no weight.",
        "Nothing needed.",
    ),
}
"""What each flag of a record means, and what to do about it."""


def doubtful(weight: Measured) -> tuple[str, ...]:
    """Return the flag of a weight that is hardly known."""
    return ("weight-uncertain",) if weight.standard_uncertainty > UNCERTAIN * weight.value else ()
