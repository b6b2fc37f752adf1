"""Many rigs over the same draws: what each comes to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from flybench.quantity import Floats
from flybench.rig.advice.aim import Aim, Outcomes
from flybench.rig.chain.simulate import BLOCK, simulate, steps
from flybench.rig.chain.state import ChainState
from flybench.rig.chain.watchers import Tally, drift_ends
from flybench.rig.odds.draws import Draws, rigs_of_draws
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Tackle
from flybench.rig.water.current import Current

Sets = Sequence[tuple[int, ...]]
_PARTS = ("at_level", "on_bed", "dropper_at_level", "way", "reached", "deepest")


def outcomes(
    current: Current, tackle: Tackle, box: Sequence[RigFly], sets: Sets, draws: Draws, aims: Sequence[Aim]
) -> list[Outcomes]:
    """Return what every set of flies comes to in every draw, for several aims of one drift at once.

    Parameters: sets, places in the box of each rig's flies, the point last; aims differ in target and length.
    """
    found: list[list[Floats]] = [[] for _ in aims]
    for some in _blocks(sets, draws.count):
        rigs, noise = rigs_of_draws(current, tackle, box, some, draws)
        tallies = [
            Tally(rigs, aim.level, drift_ends(rigs, aim.seconds, aim.length), aim.dropper_level)
            for aim in aims
        ]
        simulate(rigs, steps(max(aim.seconds for aim in aims)), _Together(tallies), noise)
        for parts, tally in zip(found, tallies, strict=True):
            parts.append(np.stack([getattr(tally, part) for part in _PARTS]).reshape(6, len(some), -1))
    return [Outcomes(*np.concatenate(parts, axis=1)) for parts in found]


def _blocks(sets: Sets, draws: int) -> Iterator[Sets]:
    """Yield sets in blocks that suit the processor's memory."""
    size = max(1, BLOCK // draws)
    for start in range(0, len(sets), size):
        yield sets[start : start + size]


class _Together:
    """Lets several look on; over when it is over for all."""

    def __init__(self, watches: Sequence[Tally]) -> None:
        self._watches = watches

    def __call__(self, time: float, dt: float, state: ChainState) -> bool:
        over = [watch(time, dt, state) for watch in self._watches]
        return all(over)
