"""Time goes on: the steps of a drift, the water's up and down, and whoever watches."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol

from flybench.quantity import Floats
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.state import ChainState, landed
from flybench.rig.chain.step import take_step
from flybench.rig.chain.turbulence import blow

FIRST_STEP, STEP, GROWTH = 0.005, 0.08, 1.3
"""The first step and the usual one [s], and how quickly steps grow [-]: a depth is then within 0.5 % of steps of 5 ms
(judgement, by tests/rig/test_rig_chain.py)."""
BLOCK = 3840
"""Rigs worked out together: enough that calls cost little, few enough that those which come down as soon go together and need
not wait for others (judgement): the last try of a choice, 24 sets over 160 draws, is just one block."""

HURRIED = 2
"""Parts of a step for a line that comes down through the air, where nothing slows it [-]: in steps of 0.08 s, flies on one
that is a tenth loose were up to 4 cm off those of 0.01 s, in halves of them up to 2.5 cm, a light fly most (judgement)."""
_ROUNDING = 1e-12
"""Share of the time that sums of steps may miss by rounding [-]."""


class Watcher(Protocol):
    """Looks on after every step."""

    def __call__(self, time: float, dt: float, state: ChainState) -> bool:
        """Look at the state after ``dt`` more seconds; return True when the drift is over for all rigs."""


def steps(seconds: float, usual: float = STEP, first: float = FIRST_STEP) -> tuple[float, ...]:
    """Return the lengths of the steps of a drift [s]: short ones first, while the flies break through.

    >>> len(steps(5.0)), round(sum(steps(5.0)), 9)
    (70, 5.0)
    """
    return tuple(_steps(seconds, usual, first))


def _steps(seconds: float, usual: float, first: float) -> Iterator[float]:
    gone, wanted = 0.0, first
    while gone < seconds * (1 - _ROUNDING):
        step = min(wanted, usual, seconds - gone)
        yield step
        gone += step
        wanted *= GROWTH


def simulate(
    rigs: Batch, times: tuple[float, ...], watch: Watcher, noise: Floats | None = None
) -> ChainState:
    """Let the rigs drift, and return how they end.

    Parameters: times, the steps' lengths [s]; watch, called after each; noise, standard normal numbers
    (2 x steps, rigs) for the water's gusts, as ``turbulence.blow`` wants them, None for water that runs level.
    """
    state = landed(rigs)
    noise = None if noise is None else noise.astype(rigs.kind, copy=False)
    time = 0.0
    for number, dt in enumerate(times):
        if noise is not None:
            blow(rigs, state, dt, noise, number)
        parts = HURRIED if rigs.tip else 1
        for _ in range(parts):
            take_step(rigs, state, dt / parts)
        time += dt
        if watch(time, dt, state):
            break
    return state
