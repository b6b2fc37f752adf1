"""Kinds of scatter that are tried: a wander, rough or smooth, a push, a rocking, each of several sizes and memories.

A fly is pushed about by its own wake, so successive residuals are alike and a fit that takes them as independent states far
too small an uncertainty. The scatter is white noise of the readings, alone or with one of these:

- a wander of the place about the fall, rough (first order Markov) or smooth (Matern 3/2: its speed is continuous, as that of
  a body pushed about in water is);
- a push: the speed itself wanders about the fall's (first order Markov), so that the place is carried off and never called
  back, as where the drag fluctuates;
- a rocking: a swing to and fro that is kept up at random (an oscillator of little damping), as of a fly that swings about
  its path.

A rough wander alone would take a slow, smooth one for far less than it does to the speed, and both of them a push; and a
rocking, which hardly touches the speed, would be taken for a wander that does.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flybench.quantity import Floats

SHARES = np.array([0.0, 0.05, 0.15, 0.3, 0.5, 0.7, 0.85, 0.95, 0.99, 0.998])
"""Tried shares of the wander in the total variance."""
MEMORIES = 10
"""Number of tried memories, from one frame to LONGEST falls."""
LONGEST = 2.0
"""Longest tried memory over the length of the fall [-]: a wander that keeps longer is as good as a straight drift, which
the fit takes for speed whatever it is called (judgement)."""
PUSHES = np.array([0.5, 0.9, 0.97, 0.99, 0.997, 0.999, 0.9997, 0.9999, 0.99997])
"""Tried shares of a push in the total variance at the end of the fall: the last is 4 mm beside readings to 0.02 mm. They
have to go as far as any push: beyond, the readings' own scatter would settle how large it may be."""
PUSH_MEMORIES = 5
"""Number of tried memories of a push."""
SHORTEST_PUSH, LONGEST_PUSH = 0.025, 0.4
"""Least and most memory of a push over the length of the fall [-]: six diameters of a fly are some 0.06 of a column of
300 mm; a shorter one is as good as a rough wander of long memory, a longer one as good as another fall (judgement)."""
ROCKINGS = np.array([0.5, 0.9, 0.98, 0.997])
"""Tried shares of a rocking in the total variance: the last is half a millimetre either way beside readings to 0.02 mm."""
BEATS = 12
"""Number of tried beats of a rocking."""
FEWEST_BEATS, MOST_BEATS = 2.0, 12.0
"""Fewest and most beats of a rocking in a fall [-]: fewer are as well a push that comes and goes, more hardly touch
the speed (judgement)."""
ROCKING_DAMPING = 0.03
"""Damping of a rocking over the critical one [-]: it keeps its beat for some five periods, as long as most falls show it
(judgement)."""
WHITE_WEIGHT = 0.9
"""Prior weight of plain white noise against all else together (judgement): what truly wanders shows it by far more than this,
and what does not is then stated to within a tenth of the bound."""
PUSH_WEIGHT, ROCKING_WEIGHT = 0.5, 0.05
"""Shares of all pushes and of all rockings in the rest, however many are tried; wanders have what is left (judgement:
every body that sinks is pushed about by its wake, and of all kinds that moves the speed most)."""


@dataclass(frozen=True)
class NoiseGrid:
    """The tried noises as flat arrays (g,); the first is plain white noise."""

    share: Floats
    """Share of the wander in the total variance."""
    memory: Floats
    """Memory of the wander [s]."""
    smooth: NDArray[np.bool_]
    """True where its speed is continuous."""
    pushed: NDArray[np.bool_]
    """True where its speed wanders and its place is the integral of that, from nought at the first frame; the share is
    that at the last frame, the memory that of the speed."""
    rocking: NDArray[np.bool_]
    """True where it swings to and fro, kept up at random (a damped oscillator); the memory is that of its size."""


def grid(times: Floats, shares: Floats = SHARES[1:], memories: int = MEMORIES) -> NoiseGrid:
    """Return white noise and the wanders to try for these times [s]: all, or fewer shares and memories of them."""
    gap = float(np.median(np.diff(times)))
    longest = max(LONGEST * float(times[-1] - times[0]), 3 * gap)
    memory = np.geomspace(gap, longest, memories)
    share, length, smooth = (a.ravel() for a in np.meshgrid(shares, memory, [False, True], indexing="ij"))
    pushed = np.zeros(len(share) + 1, dtype=bool)
    return NoiseGrid(np.append(0.0, share), np.append(gap, length), np.append(False, smooth), pushed, pushed)


def pushes(times: Floats) -> NoiseGrid:
    """Return the pushes to try for these times."""
    length = float(times[-1] - times[0])
    memory = length * np.geomspace(SHORTEST_PUSH, LONGEST_PUSH, PUSH_MEMORIES)
    share, kept = (a.ravel() for a in np.meshgrid(PUSHES, memory, indexing="ij"))
    no = np.zeros(len(share), dtype=bool)
    return NoiseGrid(share, kept, no, ~no, no)


def rockings(times: Floats) -> NoiseGrid:
    """Return the rockings to try for these times."""
    gap, length = float(np.median(np.diff(times))), float(times[-1] - times[0])
    shortest = max(length / MOST_BEATS, 4.0 * gap)
    period = np.geomspace(shortest, max(length / FEWEST_BEATS, 2.0 * shortest), BEATS)
    share, kept = (
        a.ravel() for a in np.meshgrid(ROCKINGS, period / (2.0 * np.pi * ROCKING_DAMPING), indexing="ij")
    )
    no = np.zeros(len(share), dtype=bool)
    return NoiseGrid(share, kept, no, no, ~no)


def joined(*grids: NoiseGrid) -> NoiseGrid:
    """Return the noises of several grids as one."""
    parts = zip(*(vars(one).values() for one in grids), strict=True)
    return NoiseGrid(*(np.concatenate(part) for part in parts))


def tried(times: Floats) -> NoiseGrid:
    """Return all noises to try for these times [s], ascending; the first is plain white noise."""
    return joined(grid(times), pushes(times), rockings(times))


def prior_weights(noises: NoiseGrid) -> Floats:
    """Return how likely each noise is before a reading is seen, (g,): white noise first, and of one kind all alike, and one
    together; a kind that is not tried leaves its share to the others."""
    wander = ~noises.pushed & ~noises.rocking
    wander[0] = False
    kinds = (
        (noises.pushed, PUSH_WEIGHT),
        (noises.rocking, ROCKING_WEIGHT),
        (wander, 1 - PUSH_WEIGHT - ROCKING_WEIGHT),
    )
    tried_kinds = [(kind, share) for kind, share in kinds if kind.any()]
    whole = sum(share for _, share in tried_kinds)
    weights = np.full(len(wander), WHITE_WEIGHT)
    for kind, share in tried_kinds:
        weights[kind] = (1.0 - WHITE_WEIGHT) * (share / whole) / np.sum(kind)
    return weights
