"""The drag model fitted to a shop's measured flies: fits for many sets of spreads, weighted by their evidence.

How much styles, patterns, variants and flies differ is not known beforehand. A few dozen sets of spreads are drawn
from their priors (half-normal, judgement), those of a shop's habits all larger or smaller by one factor: a shop whose flies
lie near what is usual in one thing mostly does in others. The model is fitted for each set, and what is asked is averaged
over them, each weighted by its evidence. With few flies all sets count much alike, and answers are wide.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from flybench.quantity import Floats
from flybench.sinking.drag.tied_fly import Build, MeasuredFly
from flybench.sinking.model.fit import Fit, FitData, Priors, Spreads, data_of, fit, usual_priors

DRAWS = 4000
"""Draws of the parameters that stand for the posterior [-]: they tell a 95 % end to some 2 % of its width (judgement)."""
SEED = 20_011
"""Seed of those draws [-], any number: the same flies give the same answer."""
_SCALES = np.array([0.35, 0.30, 0.12, 0.10, 0.15])
"""Scales of the half-normal priors of the spreads of ln(drag area) [-]: styles, patterns, variants, flies, the law's own
misses (judgement)."""
_LEAST_USUAL, _MOST_USUAL = 0.5, 1.25
"""Least and most of the factor on the spreads of a shop's habits, on global parameters and exponents [-], evenly likely in
its logarithm (judgement; chosen on invented shops and judged on others in benchmarks/README.md: with 1 for certain, nine in
ten of the intervals of 80 % held after three flies). What the law gets wrong is physics and not a habit."""
_LEAST = 0.01
"""Least spread [-]: no two flies are nearer in drag than 1 % (judgement), and covariances stay regular."""
_MANY, _FEW, _LARGE = 192, 24, 200
"""Sets of spreads tried with few flies and with many [-], and how many flies are many: the evidence of many points to a
few sets anyway, and a fit takes longer (judgement)."""
_JITTER = 1e-12
"""Added to the diagonal of a covariance before its root [-]: against rounding."""
_GOLDEN = 1.1127756842787055
"""Root of x^7 = x + 1 [-]: its powers make an even sequence in six dimensions (Roberts 2018, from memory)."""


@dataclass(frozen=True)
class ShopFit:
    """Fits for many sets of spreads with their weights (sum 1), and draws of parameters over all of them.

    beta (m, p); of (m,), the fit that each draw belongs to.
    """

    data: FitData
    fits: tuple[Fit, ...]
    weights: Floats
    beta: Floats
    of: NDArray[np.int64]

    @property
    def likely(self) -> Fit:
        """Return the fit that counts most."""
        return self.fits[int(np.argmax(self.weights))]

    def spread(self, name: str) -> Floats:
        """Return the spread of this name for each draw (m)."""
        return np.array([getattr(one.spreads, name) for one in self.fits])[self.of]


def fit_shop(
    measured: Sequence[MeasuredFly],
    more: Sequence[Build] = (),
    draws: int = DRAWS,
    priors: Priors | None = None,
) -> ShopFit:
    """Fit the drag model to measured flies; any number of them, none too.

    Parameters: measured; more, builds that will be asked about; draws; priors, of the product where None.
    Returns: the fit, the same for the same flies (seeded).
    """
    data = data_of(measured, more)
    count = _MANY if len(data.y) <= _LARGE else _FEW
    known = usual_priors() if priors is None else priors
    fits = tuple(fit(data, spreads, known) for spreads in _spreads(count))
    evidence = np.array([one.evidence for one in fits])
    weights = np.exp(evidence - evidence.max())
    weights /= weights.sum()
    random = np.random.default_rng(SEED)
    of = np.sort(random.choice(count, size=draws, p=weights))
    beta = np.concatenate([_drawn(one, int(np.sum(of == k)), random) for k, one in enumerate(fits)])
    return ShopFit(data, fits, weights, beta, of)


def _drawn(one: Fit, count: int, random: np.random.Generator) -> Floats:
    root = np.linalg.cholesky(one.covariance + _JITTER * np.eye(len(one.mode)))
    drawn: Floats = one.mode + random.standard_normal((count, len(one.mode))) @ root.T
    return drawn


def _spreads(count: int) -> list[Spreads]:
    """Return sets of spreads, even over the half-normal priors and that of the factor on habits."""
    steps = _GOLDEN ** -np.arange(1.0, 7.0)
    places = (0.5 + np.outer(np.arange(1, count + 1), steps)) % 1.0
    usual = _LEAST_USUAL * (_MOST_USUAL / _LEAST_USUAL) ** places[:, -1:]
    drawn = _SCALES * ndtri(0.5 + places[:, :-1] / 2)
    drawn[:, :-1] *= usual
    drawn = np.maximum(drawn, _LEAST)
    return [Spreads(*map(float, row)) for row in np.hstack([drawn, usual])]
