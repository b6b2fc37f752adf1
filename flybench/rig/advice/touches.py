"""Drifts that were made with a rig, how many of them touched the bottom, and how likely that was."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.special import betaln, xlogy

from flybench.errors import BadValueError
from flybench.quantity import Floats

_ALIKE = 1e-9
"""Relative difference of two probabilities that is rounding [-]."""


class HowOften(StrEnum):
    """How often a fly touched, where it was not counted."""

    NEVER = "never"
    SOMETIMES = "sometimes"
    ALWAYS = "every time"


@dataclass(frozen=True)
class Touches:
    """Drifts with one rig: their number, and in how many of them a fly touched the bottom, counted or in a word.

    Raises BadValueError for counts that cannot be, and for "sometimes" of a single drift.
    """

    drifts: int
    touched: int | HowOften

    def __post_init__(self) -> None:
        """Refuse counts that cannot be."""
        if self.drifts < 1:
            raise BadValueError("drifts", f"{self.drifts} drifts say nothing", "Give 1 or more.")
        if isinstance(self.touched, HowOften):
            if self.touched is HowOften.SOMETIMES and self.drifts < 2:
                raise BadValueError(
                    "drifts", "one drift alone cannot touch sometimes", "Give the number of drifts."
                )
        elif not 0 <= self.touched <= self.drifts:
            problem = f"{self.touched} of {self.drifts} drifts cannot have touched"
            raise BadValueError("touched", problem, "Count each drift once, however often it touched.")

    def log_likelihood(self, chance: Floats) -> Floats:
        """Return the logarithm of how likely this is for a chance of touching in each drift [-], but for a constant.

        Reference: the binomial distribution.
        """
        n = self.drifts
        if self.touched is HowOften.SOMETIMES:
            some: Floats = np.log1p(-(chance**n) - (1 - chance) ** n)
            return some
        touched = self._counts()[0]
        likely: Floats = touched * np.log(chance) + (n - touched) * np.log1p(-chance)
        return likely

    def as_unlikely(self, chance: Floats, share: Floats) -> float:
        """Return the probability of what happened together with all that was no more likely [-].

        Parameters: chances of touching in a drift [-], each as likely as its ``share`` [-].
        Reference: a sum over the predictive binomial probabilities (Box 1980, from memory).
        """
        chance, share = np.ravel(chance), np.ravel(share)
        counts = np.arange(self.drifts + 1)
        ways = -betaln(1 + self.drifts - counts, 1 + counts) - np.log(1 + self.drifts)
        logs = xlogy(counts, chance[:, None]) + xlogy(self.drifts - counts, 1 - chance[:, None])
        each = share @ np.exp(ways + logs) / share.sum()
        said = each[self._counts()].sum()
        if isinstance(self.touched, HowOften) and self.drifts > 1:
            each = np.array([each[0], each[1:-1].sum(), each[-1]])
        return float(min(each[each <= said * (1 + _ALIKE)].sum(), 1.0))

    def _counts(self) -> list[int]:
        """Return the counts that what was said may stand for."""
        if self.touched is HowOften.SOMETIMES:
            return list(range(1, self.drifts))
        if isinstance(self.touched, HowOften):
            return [0 if self.touched is HowOften.NEVER else self.drifts]
        return [self.touched]
