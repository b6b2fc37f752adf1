"""What is free once the flies are tied on: how fast to lead the line, and how much slack to land the flies with."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from flybench.rig.advice.choosing import Candidate, Choice, candidates
from flybench.rig.advice.outcomes import joined, outcomes
from flybench.rig.chain.simulate import steps
from flybench.rig.odds.goal import Goal
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import BY_HAND, Hold, Tackle
from flybench.rig.water.current import Current

LEADS = (0.6, 0.7, 0.8, 0.9, 1.0)
"""Lead speeds tried, over the surface speed [-] (judgement: flies run deepest at about 0.8)."""
SLACKS = (0.3, 0.6, 0.85)
"""Shares of loose leader tried where the flies go in steeply [-] (judgement: from little to nearly all of it)."""
MOST = 6
"""Sets of flies tuned (judgement: those that are read)."""


def tune(
    box: Sequence[RigFly],
    current: Current,
    tackle: Tackle,
    goal: Goal,
    choice: Choice,
    seed: int = 1,
    leads: Sequence[float] = LEADS,
    slacks: Sequence[float] = SLACKS,
) -> tuple[Candidate, ...]:
    """Return the best sets of a choice over lead speeds of a line that is led by hand, and slack of a steep entry where the
    line is not held tight, the best first.

    All go through the draws of the choice, so that a rig as it was chosen comes to what it did there.

    Parameters: leads, over the surface speed [-]; slacks, shares of the leader [-]; others as choose.
    """
    sets = [one.flies for one in choice.ranked[:MOST]]
    ways = _ways(current, tackle, leads, slacks)
    number = len(steps(max(goal.longest(current, one) for one in ways)))
    taken = choice.draws.lasting(number, seed)
    every = joined([outcomes(current, one, box, sets, taken, goal) for one in ways])
    return candidates(box, sets * len(ways), every, goal, [one for one in ways for _ in sets])


def _ways(current: Current, tackle: Tackle, leads: Sequence[float], slacks: Sequence[float]) -> list[Tackle]:
    """Return the tackle as it is handled now, and with other lead speeds and slack."""
    speeds: list[float | None] = [tackle.lead_speed]
    if tackle.hold in BY_HAND:
        tried = [share * current.surface_speed.value for share in leads]
        speeds += [speed for speed in tried if not math.isclose(speed, tackle.lead_speed or 0.0)]
    loose: list[float | None] = [tackle.slack]
    if tackle.angle > 0 and tackle.hold is not Hold.TIGHT:
        loose += [share for share in slacks if share != tackle.usual_slack]
    return [replace(tackle, lead_speed=speed, slack=slack) for speed in speeds for slack in loose]
