"""Many rigs over the same draws: what each comes to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from flybench.quantity import Floats
from flybench.rig.chain.record import Tally, ends
from flybench.rig.chain.state import State
from flybench.rig.chain.time_steps import BLOCK, run, steps
from flybench.rig.odds.aim import Aim, Outcomes
from flybench.rig.odds.draws import Draws, batch
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Tackle
from flybench.rig.water.current import Current

Sets = Sequence[tuple[int, ...]]
_PARTS = ("in_band", "on_bed", "dropper_in_band", "way", "reached", "deepest")


def outcomes(
    current: Current, tackle: Tackle, box: Sequence[RigFly], sets: Sets, draws: Draws, aims: Sequence[Aim]
) -> list[Outcomes]:
    """Return what every set of flies comes to in every draw, for several aims of one drift at once.

    Parameters: sets, places in the box of each rig's flies, the point last; aims differ in target and length.
    """
    found: list[list[Floats]] = [[] for _ in aims]
    for some in _blocks(sets, draws.count):
        rigs, noise = batch(current, tackle, box, some, draws)
        tallies = [
            Tally(rigs, aim.band, ends(rigs, aim.seconds, aim.length), aim.dropper_band) for aim in aims
        ]
        run(rigs, steps(max(aim.seconds for aim in aims)), _Together(tallies), noise)
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

    def __call__(self, time: float, dt: float, state: State) -> bool:
        over = [watch(time, dt, state) for watch in self._watches]
        return all(over)
