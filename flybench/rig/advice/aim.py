"""What a rig is to do, and how well outcomes do it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flybench.errors import BadValueError
from flybench.quantity import Floats, inside
from flybench.rig.water.level import NEAR_BOTTOM, FishLevel

SHORTEST_TIME, LONGEST_TIME = 1.0, 30.0
"""Range of the time over which rigs are compared [s] (judgement: the longest drifts that are fished)."""
SHORTEST_DRIFT, LONGEST_DRIFT = 0.5, 30.0
"""Range of a drift's length [m] (judgement)."""
NEAREST_TARGET = 0.1
"""Least way within which the fly should be down [m] (judgement)."""
HIGHEST_COST = 10.0
"""Most weight of lying on the bed, and of the droppers, beside the point's time at the level [-] (judgement)."""


@dataclass(frozen=True)
class Aim:
    """Where the point should be, by when, and what else counts.

    level of the fish, heights above the stones' tops [m]; target, way of the point from where it lands by which it
    should have come down to the level [m]; length of the drift, the way of the line's entry [m], and seconds it takes
    at the most [s]; bed_cost, by how much lying on the bed counts against it [-]; wanted_in_time, share of drifts that
    should come down in time [-]; dropper_level and dropper_weight [-], for droppers that count too. All that is given
    already is judgement: 2.5 and 4 m are short drifts, 0.8 is four of five.

    Raises BadValueError where these do not fit together.
    """

    level: FishLevel = NEAR_BOTTOM
    target: float = 2.5
    length: float = 4.0
    seconds: float = 15.0
    bed_cost: float = 1.0
    wanted_in_time: float = 0.8
    dropper_level: FishLevel | None = None
    dropper_weight: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what does not fit together."""
        inside(
            "drift length",
            self.length,
            SHORTEST_DRIFT,
            LONGEST_DRIFT,
            "m",
            "Give the way from landing to lifting off.",
        )
        inside(
            "target",
            self.target,
            NEAREST_TARGET,
            self.length,
            "m",
            "Give a way no longer than the whole drift.",
        )
        inside("seconds", self.seconds, SHORTEST_TIME, LONGEST_TIME, "s", "Give the longest time of a drift.")
        inside(
            "bed cost", self.bed_cost, 0.0, HIGHEST_COST, "", "Give 1 to 2, more where the bed holds snags."
        )
        inside(
            "in time", self.wanted_in_time, 0.0, 1.0, "", "Give a share, such as 0.8 for four drifts of five."
        )
        cure = "Give 1 where the dropper counts as much as the point."
        inside("dropper weight", self.dropper_weight, 0.0, HIGHEST_COST, "", cure)
        if self.dropper_weight > 0 and self.dropper_level is None:
            raise BadValueError(
                "dropper weight", "is given without the dropper's level", "Give that level too."
            )


@dataclass(frozen=True)
class Outcomes:
    """What drifts came to, (sets, draws).

    at_level, on_bed and dropper, shares of the drift that the point is at the fish's level and not on the bed, that it
    lies on the bed, that the droppers are at their level [-]; way [m] and time [s] to the level, infinite where it
    never came there; deepest place of the point [m].
    """

    at_level: Floats
    on_bed: Floats
    dropper: Floats
    way: Floats
    time: Floats
    deepest: Floats


@dataclass(frozen=True)
class Scores:
    """How well sets do, one a set; all are shares of a drift or of drifts [-].

    utility U = E[S] - lambda E[G] - max(0, p_min - P) + w E[S_dropper]; doubt, standard uncertainty of U from the
    number of draws; in_time P, at_level E[S], on_bed E[G], dropper E[S_dropper]; each, the draws' parts (sets,
    draws), whose differences between two sets tell whether they are alike.
    """

    utility: Floats
    doubt: Floats
    in_time: Floats
    at_level: Floats
    on_bed: Floats
    dropper: Floats
    each: Floats


def scores(outcomes: Outcomes, aim: Aim) -> Scores:
    """Return how well the sets do."""
    reached = (outcomes.way <= aim.target).astype(float)
    good = outcomes.at_level - aim.bed_cost * outcomes.on_bed + aim.dropper_weight * outcomes.dropper
    in_time = reached.mean(axis=1)
    short = np.maximum(aim.wanted_in_time - in_time, 0.0)
    each = good + reached * (short > 0)[:, None]
    count = each.shape[1]
    doubt = each.std(axis=1, ddof=1) / np.sqrt(count) if count > 1 else np.zeros(len(each))
    return Scores(
        utility=good.mean(axis=1) - short,
        doubt=doubt,
        in_time=in_time,
        at_level=outcomes.at_level.mean(axis=1),
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
