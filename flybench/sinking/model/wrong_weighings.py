"""Weighings that contradict the parts of their flies: slips and bubbles, or beads that are not what they are listed as.

A reading that is wrong altogether must teach nothing of beads; several flies that contradict their parts by as much must.
So what weighings teach is worked out for several guesses of which are wrong, and averaged, each weighted by its evidence.
A contradicted packet is in more doubt meanwhile: for flies weighed and not, in the same direction.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from flybench.quantity import Floats
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.weight.submerged import SubmergedWeight, Way
from flybench.statistics.mixture import mixed

WRONG, UNLISTED = "wrong", "unlisted"
"""Kinds of causes: a weighing that is wrong altogether, by fly; beads that are not what they are listed as, by packet."""
WRONG_SPREAD = 2.0
"""Standard deviation of the logarithm of a wrong reading over the right one [-]: a slip may show anything (judgement)."""
_WRONG_ODDS = math.log(0.05 / 0.95)
"""Logarithm of the odds that a weighing is wrong altogether: one in twenty (judgement)."""
_UNLISTED_SHARE, _UNLISTED_ODDS = 0.3, math.log(0.02)
"""What a packet may be off by, over what its worst weighing says [-]: its root is a chance of a tenth; and the logarithm of
the chance that beads are not what they are listed as: one packet in fifty (judgement)."""
_MOST_UNLISTED = 0.4
"""Most standard deviation of that [-]: brass sold as tungsten, or a size of bead for the next, are twice it (judgement)."""
_MOST = 12
"""Most guesses tried [-]: of more weighings several at once are taken for wrong (judgement)."""
_REGULAR = 1e-12
"""Added to the diagonal of a covariance before it is inverted [-]: against rounding."""


@dataclass(frozen=True)
class Teaching:
    """Weighings over parts in logarithms [-]: design (n, k), how each is made of causes; seen (n); names (k) of the causes;
    spreads, their standard deviations as stated, by name."""

    design: Floats
    seen: Floats
    names: tuple[str, ...]
    spreads: dict[str, float]

    def prior(self, wrong: frozenset[str]) -> Floats:
        """Return the stated variance of each cause (k) where these weighings, names of causes, are wrong [-]."""
        return np.array(
            [
                0.0 if name.startswith(f"{WRONG} ") and name not in wrong else self.spreads[name] ** 2
                for name in self.names
            ]
        )

    def evidence(self, prior: Floats) -> float:
        """Return the logarithm of the evidence for variances of the causes (k)."""
        covariance = covariance_of(self.design, prior)
        off = float(self.seen @ np.linalg.solve(covariance, self.seen))
        return -0.5 * (off + float(np.linalg.slogdet(covariance)[1]))

    @property
    def doubtful(self) -> dict[str, int]:
        """Return the row of each weighing that contradicts its parts, by the name of its cause."""
        found = [(name, place) for place, name in enumerate(self.names) if name.startswith(f"{WRONG} ")]
        rows = {name: np.flatnonzero(self.design[:, place]) for name, place in found}
        return {name: int(each[0]) for name, each in rows.items() if len(each)}

    def chances(self, wrong: frozenset[str]) -> dict[str, float]:
        """Return 1 for each fly whose weighing is wrong by a guess, and 0 for the other doubtful ones."""
        return {name.removeprefix(f"{WRONG} "): float(name in wrong) for name in self.doubtful}

    def odds(self, wrong: frozenset[str]) -> float:
        """Return the logarithm of how likely a guess is before the readings are looked at."""
        right = [row for name, row in self.doubtful.items() if name not in wrong]
        beads = [place for place, name in enumerate(self.names) if name.startswith(f"{UNLISTED} ")]
        packets = int(np.any(self.design[np.ix_(right, beads)] != 0, axis=0).sum()) if right and beads else 0
        return _WRONG_ODDS * len(wrong) + _UNLISTED_ODDS * packets


@dataclass(frozen=True)
class Taught:
    """What weighings teach of the causes for one guess: logarithm of its evidence, mean (k) and covariance (k, k), and by how
    much larger than stated doubts are, by kind [-]; wrong, how likely a doubtful weighing is wrong, by fly [-]."""

    evidence: float
    mean: Floats
    covariance: Floats
    factors: dict[str, float]
    wrong: dict[str, float]


def contradicts(weight: SubmergedWeight) -> bool:
    """Tell whether a weight comes from readings that do not go with the parts."""
    return weight.way is not Way.FROM_PARTS and "unlike-parts" in weight.flags


def unlisted(told: Sequence[tuple[MeasuredFly, float]]) -> dict[str, float]:
    """Return the standard deviation of what contradicted packets may be off by [-], by the name of the cause.

    Parameters: told, weighed flies and the logarithm of their weight over that of their parts [-].
    """
    found: dict[str, float] = {}
    for one, value in told:
        assert one.weight is not None and one.weight.by_parts is not None
        if contradicts(one.weight) and one.weight.by_parts.lot:
            name = f"{UNLISTED} {one.weight.by_parts.lot}"
            found[name] = max(found.get(name, 0.0), min(_UNLISTED_SHARE * abs(value), _MOST_UNLISTED))
    return found


def wrong_ones(teaching: Teaching) -> Iterator[frozenset[str]]:
    """Return guesses of which weighings are wrong, names of causes: none, then the worst besides, up to all doubtful ones."""
    wrong: frozenset[str] = frozenset()
    doubtful = teaching.doubtful
    yield wrong
    step = max(1, math.ceil(len(doubtful) / _MOST))
    while len(wrong) < len(doubtful):
        off = _off(teaching, wrong)
        left = sorted((name for name in doubtful if name not in wrong), key=lambda name: -off[doubtful[name]])
        wrong = wrong | frozenset(left[:step])
        yield wrong


def _off(teaching: Teaching, wrong: frozenset[str]) -> Floats:
    """Return by how many standard deviations each reading is off what the others say.

    Reference: Rasmussen & Williams (2006), eq. 5.12.
    """
    inverse = np.linalg.inv(covariance_of(teaching.design, teaching.prior(wrong)))
    off: Floats = np.abs(inverse @ teaching.seen) / np.sqrt(np.diag(inverse))
    return off


def covariance_of(design: Floats, prior: Floats) -> Floats:
    """Return the covariance of readings (n, n) for variances of their causes (k) [-]."""
    found: Floats = design * prior @ design.T + _REGULAR * np.eye(len(design))
    return found


def mean_over(guesses: Sequence[Taught]) -> Taught:
    """Return mean and covariance over guesses, each weighted by its evidence [-]."""
    if len(guesses) == 1:
        return guesses[0]
    evidence = [one.evidence for one in guesses]
    weights, mean, covariance = mixed(
        evidence, [one.mean for one in guesses], [one.covariance for one in guesses]
    )
    factors = {
        kind: float(np.sqrt(weights @ np.square([one.factors[kind] for one in guesses])))
        for kind in guesses[0].factors
    }
    wrong = {fly: float(weights @ [one.wrong[fly] for one in guesses]) for fly in guesses[0].wrong}
    return Taught(max(evidence), mean, covariance, factors, wrong)
