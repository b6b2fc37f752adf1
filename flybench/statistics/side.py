"""One side of a comparison: a measured fly's speed, what its doubt is made of, and what more of the same would make of it.

Each side's uncertainty is made of parts of its own, of which some fall with more drops, some only with more runs
(soaked anew) or more flies; and of errors that other runs share: those before one card, those of one evening in one set-up.
Such an error goes into both speeds in proportion, so it cancels in their difference as far as both have it from one thing:

    u^2(difference) = sum of own parts squared + sum over things of (share of one - share of the other)^2

Few runs tell little about their own spread: each own part is widened by Student's factor for its degrees of freedom
before it is added, so that k = 2 holds 95.4 % (``statistics.student``).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import IntEnum
from typing import Any

from flybench.statistics.student import widened


class Repeat(IntEnum):
    """What can be repeated to lessen a part of the uncertainty; repeating a higher one lessens the lower ones too."""

    DROPS = 0
    RUNS = 1
    FLIES = 2
    NOTHING = 3


@dataclass(frozen=True)
class DoubtPart:
    """One part of a speed's own standard uncertainty [m/s]: its name, what lessens it, its degrees of freedom [-]."""

    source: str
    repeat: Repeat
    uncertainty: float
    freedom: float = math.inf


@dataclass(frozen=True)
class Side:
    """A measured fly or variant: speed [m/s], own parts, how many drops, runs and flies stand behind it.

    shared: standard uncertainty [m/s] that it has from each thing that other sides may have it from too (a card, a set-up on
    one evening), by what that is; speeds in other water than the rest are handed in corrected, with the correction's
    doubt among the parts.
    """

    code: str
    speed: float
    parts: tuple[DoubtPart, ...]
    counts: Mapping[Repeat, int]
    shared: Mapping[Any, float]

    @property
    def own(self) -> float:
        """Return the standard uncertainty that no other side has from the same thing [m/s], widened."""
        return widened([(part.uncertainty, part.freedom) for part in self.parts])

    @property
    def uncertainty(self) -> float:
        """Return the standard uncertainty of the speed alone [m/s], widened as that of a difference is."""
        return math.hypot(self.own, *self.shared.values())

    def with_more(self, repeat: Repeat, more: int) -> Side:
        """Return the side as it would be with ``more`` drops, runs or flies that scatter as these do."""
        gain = (self.counts[repeat] + more) / self.counts[repeat]
        parts = [self._lessened(part, gain) if part.repeat <= repeat else part for part in self.parts]
        return replace(self, parts=tuple(parts))

    def _lessened(self, part: DoubtPart, gain: float) -> DoubtPart:
        """Return a part with ``gain`` times as many values behind it; each new one is one more degree of freedom."""
        freedom = part.freedom + self.counts.get(part.repeat, 1) * (gain - 1.0)
        return replace(part, uncertainty=part.uncertainty / math.sqrt(gain), freedom=freedom)
