"""The two things that are free once the flies are tied on: how fast to lead, and how far upstream to land them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from flybench.rig.advice.aim import Aim, Outcomes, Scores, scores
from flybench.rig.advice.choosing import Candidate, Choice, candidates
from flybench.rig.advice.outcomes import outcomes
from flybench.rig.chain.simulate import steps
from flybench.rig.odds.draws import drawn
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Hold, Tackle
from flybench.rig.water.current import Current

LEADS = (0.6, 0.7, 0.8, 0.9, 1.0)
"""Lead speeds tried, over the surface speed [-] (judgement: flies run deepest at about 0.8)."""
FARTHER = (0.8, 1.0, 1.25, 1.5)
"""Ways to the target tried, over the aim's [-]: landing the flies nearer or farther upstream (judgement)."""
MOST = 6
"""Sets of flies tuned (judgement: those that are read)."""


def tune(
    box: Sequence[RigFly],
    current: Current,
    tackle: Tackle,
    aim: Aim,
    choice: Choice,
    seed: int = 1,
    leads: Sequence[float] = LEADS,
    farther: Sequence[float] = FARTHER,
) -> tuple[Candidate, ...]:
    """Return the best sets of a choice over lead speeds and distances of landing, the best first.

    Landing farther upstream lengthens the drift by as much: more often in time, a smaller share at the fish's level.
    Lead speeds are tried only where the line is led.
    Parameters: leads, over the surface speed [-]; farther, over the aim's target [-]; others as choose.
    """
    sets = [one.flies for one in choice.ranked[:MOST]]
    aims = [_landed(aim, share) for share in farther]
    taken = drawn(choice.draws, len(box), len(steps(max(one.seconds for one in aims))), seed)
    every: list[tuple[Outcomes, Aim, float | None]] = []
    for speed in _speeds(current, tackle, leads):
        led = tackle if speed is None else replace(tackle, lead_speed=speed)
        for found, one in zip(outcomes(current, led, box, sets, taken, aims), aims, strict=True):
            every.append((found, one, speed))
    ways = [(speed, one.target) for _, one, speed in every for _ in sets]
    return candidates(box, sets * len(every), _joined([scores(found, one) for found, one, _ in every]), ways)


def _landed(aim: Aim, share: float) -> Aim:
    """Return the aim for flies that land nearer or farther upstream of the same place."""
    target = aim.target * share
    return replace(aim, target=target, length=aim.length + target - aim.target)


def _speeds(current: Current, tackle: Tackle, leads: Sequence[float]) -> Sequence[float | None]:
    """Return lead speeds to try [m/s], None for a line that is not led."""
    if tackle.hold is not Hold.LED or tackle.lead_speed is None:
        return [None]
    return sorted({tackle.lead_speed, *(share * current.surface_speed.value for share in leads)})


def _joined(parts: Sequence[Scores]) -> Scores:
    """Return scores of several tries as one."""
    return Scores(
        *(np.concatenate([getattr(part, name) for part in parts]) for name in Scores.__annotations__)
    )
