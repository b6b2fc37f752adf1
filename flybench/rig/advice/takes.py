"""Dropper or point: what a handful of takes can tell about which fly is taken more."""

from __future__ import annotations

from dataclasses import dataclass

from scipy.special import betainc, betaincinv

from flybench.errors import BadValueError
from flybench.rig.advice.belief import Interval

FEW = 10
"""Takes below which next to nothing is known (judgement: of 9 takes, 2 to 7 on one fly are mere chance)."""
SURE = 0.9
"""Probability from which one fly is said to be taken more [-] (judgement: wrong once in ten)."""


@dataclass(frozen=True)
class Takes:
    """Takes on dropper and point, over the same drifts.

    share, of the takes that come on the dropper [-], with its 80 % interval; dropper_more, the probability that the
    dropper is taken more [-].
    Reference: binomial takes with an even prior, Bayes (1763): the share is Beta(1 + dropper, 1 + point).
    """

    dropper: int
    point: int

    def __post_init__(self) -> None:
        """Refuse counts that cannot be."""
        if self.dropper < 0 or self.point < 0:
            raise BadValueError(
                "takes", f"{min(self.dropper, self.point)} is no number of fish", "Give 0 or more."
            )

    @property
    def share(self) -> Interval:
        """Share of the takes that come on the dropper, with its 80 % interval [-]."""
        return Interval(*(float(betaincinv(1 + self.dropper, 1 + self.point, p)) for p in (0.1, 0.5, 0.9)))

    @property
    def dropper_more(self) -> float:
        """Probability that the dropper is taken more than the point [-].

        >>> round(Takes(3, 0).dropper_more, 4)
        0.9375
        """
        return float(1 - betainc(1 + self.dropper, 1 + self.point, 0.5))
