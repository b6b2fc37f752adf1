"""How well the shop's flies are predicted when each variant is left out in turn, with what an untied fly has."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from flybench.quantity import Floats
from flybench.sinking.model.fit import FitData, Priors, predict, residual_covariance, usual_priors
from flybench.sinking.model.fit import prior as prior_of
from flybench.sinking.model.known_weights import KnownWeights, known_weights
from flybench.sinking.model.shop_fit import ShopFit

_FEWEST = 4
"""Fewest variants of which an error is stated [-]: fewer tell little about a spread (judgement)."""
_MOST = 60
"""Most variants left out [-], evenly chosen: more take long and tell the error no better (judgement)."""
_HELD = 0.975
"""Share of the normal distribution below the upper end of a 95 % interval [-]."""


@dataclass(frozen=True)
class LeftOut:
    """Errors of speeds predicted without the fly's own variant, as shares of the speed [-].

    variants, how many were left out; rms, root mean square of ln(predicted / measured) over their flies; bias, their
    mean; inside, share of measured speeds within the 95 % interval; None where there are fewer than four variants.
    """

    variants: int
    rms: float
    bias: float
    inside: float


def leave_one_out(shop: ShopFit, priors: Priors | None = None) -> LeftOut | None:
    """Return how the model predicts each measured fly from the other variants, as if it were not tied yet.

    The weight of a fly left out is that of its parts, corrected by what the other variants' weighings teach of beads:
    its own weighing counts as not made. Linear about the mode, for the set of spreads that counts most; a Gaussian's
    conditional. Speeds go with minus half of ln(drag area) where drag goes with the square of speed; the small change of
    drag with speed is left out here.
    """
    data, one = shop.data, shop.likely
    codes = np.array([row.build.code for row in data.measured], dtype=str)
    names = np.unique(codes)
    if len(names) < _FEWEST:
        return None
    mean, root = prior_of(data.layout, one.spreads, usual_priors() if priors is None else priors)
    expected, _ = predict(data, one.mode)
    tilted = one.slopes @ root
    law = tilted @ tilted.T + residual_covariance(data, one.spreads) - data.weights.spread
    misses: list[float] = []
    inside: list[bool] = []
    chosen = names[np.unique(np.linspace(0, len(names) - 1, _MOST).round().astype(int))]
    for name in chosen:
        weights = known_weights(data.measured, str(name), data.weights.factors)
        residual = _by_parts(data, weights, codes == name) - expected + one.slopes @ (one.mode - mean)
        miss, deviation = _missed(law + weights.spread, residual, codes == name)
        misses.extend(miss / 2)
        inside.extend(np.abs(miss) <= ndtri(_HELD) * deviation)
    found = np.array(misses)
    return LeftOut(
        len(chosen), float(np.sqrt(np.mean(found**2))), float(found.mean()), float(np.mean(inside))
    )


def _by_parts(data: FitData, weights: KnownWeights, left: NDArray[np.bool_]) -> Floats:
    """Return ln(drag area [m2]) of all rows, those left out with the weight of their parts."""
    parts = [0.0 if one.weight is None else one.weight.over_parts for one in data.measured]
    found: Floats = data.y + data.weights.shift - np.where(left, parts, 0.0) - weights.shift
    return found


def _missed(covariance: Floats, residual: Floats, left: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Return by how much rows left out miss what the others foretell, and the deviation of that."""
    across = covariance[np.ix_(~left, left)]
    gain = np.linalg.solve(covariance[np.ix_(~left, ~left)], across)
    variance = np.diag(covariance[np.ix_(left, left)]) - (across * gain).sum(0)
    return residual[left] - residual[~left] @ gain, np.sqrt(np.maximum(variance, 0.0))
