"""Many rigs over the same draws: what each comes to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace

import numpy as np
from numpy.typing import NDArray

from flybench.rig.chain.simulate import BLOCK, STEP, simulate, steps
from flybench.rig.chain.state import ChainState
from flybench.rig.chain.watchers import BIN, Tally
from flybench.rig.odds.draws import Draws, best_estimate, rigs_of_draws
from flybench.rig.odds.goal import Goal, Outcomes, Window, outcomes_of
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Tackle
from flybench.rig.water.current import Current

Sets = Sequence[tuple[int, ...]]
ROUGH_PIECES, ROUGH_STEP = 8, 0.12
"""Pieces of the line and usual step [s] where sets are only sifted (judgement: all sets then come down some percent late, in
half the time of work, and rank alike)."""


def outcomes(
    current: Current,
    tackle: Tackle,
    box: Sequence[RigFly],
    sets: Sets,
    draws: Draws,
    goal: Goal,
    rough: bool = False,
) -> Outcomes:
    """Return what every set of flies comes to in every draw.

    Sets that come down as soon go through the water together, so that none waits long for another.

    Parameters: sets, places in the box of each rig's flies, the point last; rough, whether to save time by fewer pieces and
    longer steps, for which the draws are then made.
    """
    size = max(1, BLOCK // draws.count)
    if len(sets) <= size:
        return _block(current, tackle, box, sets, draws, goal, rough)
    ranks = np.arange(len(sets))
    if draws.count > 1:
        first = outcomes(current, tackle, box, sets, best_estimate(len(box)), goal, rough=True)
        ranks = np.lexsort((-first.deepest[:, 0], first.time[:, 0]))
    blocks = [ranks[start : start + size] for start in range(0, len(sets), size)]
    found = joined(
        [_block(current, tackle, box, [sets[one] for one in some], draws, goal, rough) for some in blocks]
    )
    return _in_order(found, np.argsort(ranks))


def joined(parts: Sequence[Outcomes]) -> Outcomes:
    """Return outcomes of several blocks of sets as one."""
    names = [one.name for one in fields(Outcomes)]
    return Outcomes(*(np.concatenate([getattr(part, name) for part in parts]) for name in names))


def _in_order(found: Outcomes, places: NDArray[np.intp]) -> Outcomes:
    return Outcomes(*(getattr(found, one.name)[places] for one in fields(Outcomes)))


def _block(
    current: Current,
    tackle: Tackle,
    box: Sequence[RigFly],
    sets: Sets,
    draws: Draws,
    goal: Goal,
    rough: bool,
) -> Outcomes:
    """Return the same for sets that go through the water together, until the last of them is past the fish."""
    seconds = goal.longest(current, tackle)
    rigs, noise = rigs_of_draws(current, tackle, box, sets, draws)
    rigs = (replace(rigs, layout=tackle.layout(ROUGH_PIECES)) if rough else rigs).single()
    tally = Tally(rigs, goal.level, seconds, goal.dropper_level)
    looked = [0.0]

    def watch(time: float, dt: float, state: ChainState) -> bool:
        over = tally(time, dt, state)
        if over or time - looked[0] < BIN:
            return over
        looked[0] = time
        window = Window.of(tally, rigs, goal, seconds, len(sets))
        return bool(np.isfinite(window.come).all() and time > window.end.max() + BIN)

    simulate(rigs, steps(seconds, ROUGH_STEP if rough else STEP), watch, noise)
    return outcomes_of(tally, rigs, goal, seconds, len(sets))
