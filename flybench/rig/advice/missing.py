"""The fly that a box lacks: what a point would have to be like to do what is wanted in this water."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flybench.quantity import Measured
from flybench.rig.advice.choosing import Candidate, candidates
from flybench.rig.advice.outcomes import outcomes
from flybench.rig.chain.simulate import steps
from flybench.rig.odds.draws import drawn
from flybench.rig.odds.goal import Goal
from flybench.rig.tackle.flies import HEAVIEST, LIGHTEST, RigFly
from flybench.rig.water.current import Current

SPEEDS = (0.1, 0.125, 0.16, 0.2, 0.25, 0.315, 0.4, 0.5, 0.63, 0.8)
"""Sink speeds of points that are tried [m/s]: preferred numbers R10 (ISO 3), the steps in which boxes are sorted."""
DRAWS = 60
"""Draws of each (judgement: a share is then good to 0.06, and only a clear gain is told)."""
CLEAR = 0.15
"""How much more it must be worth than the best of the box to be told [-] (judgement: more than the draws leave open)."""
STEP = 1.12
"""Ratio of speeds within which a fly of the box is the one that was tried [-]: half a step of R10."""
DOUBT = 0.05
"""Standard uncertainty of speed and weight of a fly that is not there, over the value [-] (judgement, as of a typed one)."""


@dataclass(frozen=True)
class MissingFly:
    """A point that would do better: sink speed [m/s], weight in water [N], and what it comes to under the same droppers."""

    speed: float
    weight: float
    found: Candidate


def missing_fly(
    box: Sequence[RigFly], current: Current, best: Candidate, goal: Goal, seed: int = 1
) -> MissingFly | None:
    """Return the point that would do clearly better than the best rig of a box, under its droppers; None where none would.

    Its weight is that of a fly that is as dense and bulky as the fly of the box nearest in speed: W ~ v^2.
    """
    speeds = np.array([fly.speed.value for fly in box])
    tried = [speed for speed in SPEEDS if np.abs(np.log(speeds / speed)).min() > np.log(STEP)]
    if not tried:
        return None
    points = [_like(box, speed) for speed in tried]
    droppers = [box[place] for place in best.flies[:-1]]
    every, fixed = [*droppers, *points], tuple(range(len(droppers)))
    sets = [(*fixed, len(fixed) + number) for number in range(len(points))]
    draws = drawn(DRAWS, len(every), len(steps(goal.longest(current, best.tackle))), seed)
    came = outcomes(current, best.tackle, every, sets, draws, goal)
    first = candidates(every, sets, came, goal, [best.tackle] * len(sets))[0]
    point = every[first.flies[-1]]
    if first.worth - best.worth < CLEAR:
        return None
    return MissingFly(point.speed.value, point.weight.value, first)


def _like(box: Sequence[RigFly], speed: float) -> RigFly:
    """Return a fly of a speed [m/s] that is like the one of the box nearest to it."""
    near = min(box, key=lambda fly: abs(float(np.log(fly.speed.value / speed))))
    weight = near.weight.value * (speed / near.speed.value) ** 2
    weight = float(np.clip(weight, LIGHTEST, HEAVIEST))
    return RigFly(f"{100 * speed:g} cm/s", Measured(speed, DOUBT * speed), Measured(weight, DOUBT * weight))
