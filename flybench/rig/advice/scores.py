"""How well rigs do what is wanted of them, as one number each, over the same draws."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flybench.quantity import Floats
from flybench.rig.odds.goal import Goal, Outcomes

LACKING = 2.0
"""How much each share of drifts that is not down as often as wanted counts beside time with the fish [-] (judgement: what is
not down fishes nothing, while a touch too many costs a fly only now and then)."""


@dataclass(frozen=True)
class Scores:
    """How well sets do, one a set; shares of the useful drift, or of drifts [-].

    worth w_p (E[S_p] - c E[G_p]) + w_d (E[S_d] - c E[G_d]) - 2 max(0, d - P) - |T - t|: S at the level and G on the bed, of
    point and droppers; P down in time, d wanted; T touched, t wanted. doubt, standard uncertainty of the worth from
    the number of draws; in_time P, touched T, at_level E[S_p], on_bed E[G_p], dropper E[S_d], dropper_on_bed E[G_d];
    each, the draws' parts (sets, draws), whose differences between two sets tell whether they are alike.
    """

    worth: Floats
    doubt: Floats
    in_time: Floats
    touched: Floats
    at_level: Floats
    on_bed: Floats
    dropper: Floats
    dropper_on_bed: Floats
    each: Floats


def scores(outcomes: Outcomes, goal: Goal) -> Scores:
    """Return how well the sets do."""
    good = goal.point_worth * (outcomes.at_level - goal.bed_cost * outcomes.on_bed)
    good = good + goal.dropper_worth * (outcomes.dropper - goal.bed_cost * outcomes.dropper_on_bed)
    in_time, touched = outcomes.down.mean(axis=1), outcomes.touched.mean(axis=1)
    short = np.maximum(goal.down - in_time, 0.0)
    off = touched - goal.touches
    each = good + LACKING * outcomes.down * (short > 0)[:, None] - outcomes.touched * np.sign(off)[:, None]
    count = each.shape[1]
    return Scores(
        worth=good.mean(axis=1) - LACKING * short - np.abs(off),
        doubt=each.std(axis=1, ddof=1) / np.sqrt(count) if count > 1 else np.zeros(len(each)),
        in_time=in_time,
        touched=touched,
        at_level=outcomes.at_level.mean(axis=1),
        on_bed=outcomes.on_bed.mean(axis=1),
        dropper=outcomes.dropper.mean(axis=1),
        dropper_on_bed=outcomes.dropper_on_bed.mean(axis=1),
        each=each,
    )


def order(scored: Scores) -> NDArray[np.intp]:
    """Return the sets, the best first."""
    return np.argsort(-scored.worth, kind="stable")


def difference(scored: Scores, better: int, other: int) -> tuple[float, float]:
    """Return by how much one set's worth exceeds another's, and the standard uncertainty of that over the same draws."""
    apart = scored.each[better] - scored.each[other]
    gap = float(scored.worth[better] - scored.worth[other])
    return gap, float(apart.std(ddof=1) / np.sqrt(len(apart))) if len(apart) > 1 else 0.0
