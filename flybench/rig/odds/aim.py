"""What a rig is to do, and how well outcomes do it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flybench.errors import BadValueError
from flybench.quantity import Floats, inside
from flybench.rig.chain.record import BAND, Band

LONGEST = 30.0
"""Longest drift that rigs are compared over [s]."""


@dataclass(frozen=True)
class Aim:
    """Where the point should be, by when, and what else counts.

    band, heights above the stones' tops [m]; target, way of the point from where it lands by which it should have
    come down to the band [m]; length of the drift, the way of the line's entry [m], and seconds it takes at the
    most; grounding, weight of the time on the bed (1 to 2) [-]; surely, wanted probability of coming down in time
    [-]; dropper_band and dropper_weight, for a dropper that counts too.

    Raises BadValueError where these do not fit together.
    """

    band: Band = BAND
    target: float = 2.5
    length: float = 4.0
    seconds: float = 15.0
    grounding: float = 1.0
    surely: float = 0.8
    dropper_band: Band | None = None
    dropper_weight: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what does not fit together."""
        inside("length", self.length, 0.5, 30.0, "m", "Give the way from landing to lifting off.")
        inside("target", self.target, 0.1, self.length, "m", "Give a way within the drift's length.")
        inside("seconds", self.seconds, 1.0, LONGEST, "s", "Give the longest drift.")
        inside("grounding", self.grounding, 0.0, 10.0, "", "1 to 2: how much worse lying on the bed is.")
        inside("surely", self.surely, 0.0, 1.0, "", "Give a probability, such as 0.8.")
        inside(
            "dropper weight", self.dropper_weight, 0.0, 10.0, "", "1 counts the dropper as much as the point."
        )
        if self.dropper_weight > 0 and self.dropper_band is None:
            raise BadValueError("dropper weight", "is given without a band", "Give the dropper's band too.")


@dataclass(frozen=True)
class Outcomes:
    """What drifts came to, (sets, draws): shares of the drift in the band, on the bed, droppers in theirs [-]; way [m]
    and time [s] to the band, infinite where never; deepest [m]."""

    in_band: Floats
    on_bed: Floats
    dropper: Floats
    way: Floats
    time: Floats
    deepest: Floats


@dataclass(frozen=True)
class Scores:
    """How well sets do, one a set.

    utility U = E[S] - lambda E[G] - max(0, p_min - P) + w E[S_dropper]; doubt, standard uncertainty of U from the
    number of draws; in_time P, in_band E[S], on_bed E[G], dropper E[S_dropper]; each, the draws' parts (sets,
    draws), whose differences between two sets tell whether they are ties.
    """

    utility: Floats
    doubt: Floats
    in_time: Floats
    in_band: Floats
    on_bed: Floats
    dropper: Floats
    each: Floats


def scores(outcomes: Outcomes, aim: Aim) -> Scores:
    """Return how well the sets do."""
    reached = (outcomes.way <= aim.target).astype(float)
    good = outcomes.in_band - aim.grounding * outcomes.on_bed + aim.dropper_weight * outcomes.dropper
    in_time = reached.mean(axis=1)
    short = np.maximum(aim.surely - in_time, 0.0)
    each = good + reached * (short > 0)[:, None]
    count = each.shape[1]
    doubt = each.std(axis=1, ddof=1) / np.sqrt(count) if count > 1 else np.zeros(len(each))
    return Scores(
        utility=good.mean(axis=1) - short,
        doubt=doubt,
        in_time=in_time,
        in_band=outcomes.in_band.mean(axis=1),
        on_bed=outcomes.on_bed.mean(axis=1),
        dropper=outcomes.dropper.mean(axis=1),
        each=each,
    )


def order(scored: Scores) -> NDArray[np.intp]:
    """Return the sets, the best first."""
    return np.argsort(-scored.utility, kind="stable")


def difference(scored: Scores, better: int, other: int) -> tuple[float, float]:
    """Return by how much one set's utility exceeds another's, and the standard uncertainty of that over the same
    draws."""
    apart = scored.each[better] - scored.each[other]
    gap = float(scored.utility[better] - scored.utility[other])
    return gap, float(apart.std(ddof=1) / np.sqrt(len(apart))) if len(apart) > 1 else 0.0
