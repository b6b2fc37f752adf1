"""How well the shop's flies are predicted when each variant is left out in turn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from flybench.sinking.model.fit import Priors, predict, usual_priors
from flybench.sinking.model.fit import prior as prior_of
from flybench.sinking.model.shop_fit import ShopFit

_FEWEST = 4
"""Fewest variants of which an error is stated [-]: fewer tell little about a spread (judgement)."""
_HELD = 0.975
"""Share of the normal distribution below the upper end of a 95 % interval [-]."""


@dataclass(frozen=True)
class LeftOut:
    """Errors of speeds predicted without the fly's own variant, as shares of the speed [-].

    variants, how many; rms, root mean square of ln(predicted / measured); bias, their mean; inside, share of
    measured speeds within the 95 % interval; None where there are fewer than four variants.
    """

    variants: int
    rms: float
    bias: float
    inside: float


def leave_one_out(shop: ShopFit, priors: Priors | None = None) -> LeftOut | None:
    """Return how the model predicts each measured variant from the others, in closed form.

    With K the covariance of all measurements, linear about the mode: the residuals of a variant left out are
    [K^-1]_bb^-1 [K^-1 r]_b, their covariance [K^-1]_bb^-1 (Rasmussen & Williams 2006, eq. 5.12, for blocks).
    For the set of spreads that counts most. Speeds go with minus half of ln(drag area) where drag goes with the
    square of speed; the small change of drag with speed is left out here.
    """
    data, one = shop.data, shop.likely
    codes = np.array([row.build.code for row in data.measured], dtype=str)
    names = np.unique(codes)
    if len(names) < _FEWEST:
        return None
    mean, root = prior_of(data.layout, one.spreads, usual_priors() if priors is None else priors)
    expected, _ = predict(data, one.mode)
    residual = data.y - expected + one.slopes @ (one.mode - mean)
    tilted = one.slopes @ root
    inverse = np.linalg.inv(tilted @ tilted.T + one.residual_covariance)
    pulled = inverse @ residual
    misses, inside = [], []
    for name in names:
        rows = codes == name
        covariance = np.linalg.inv(inverse[np.ix_(rows, rows)])
        miss = covariance @ pulled[rows]
        misses.append(float(miss.mean()) / 2)
        inside.extend(np.abs(miss) <= ndtri(_HELD) * np.sqrt(np.diag(covariance)))
    found = np.array(misses)
    return LeftOut(len(names), float(np.sqrt(np.mean(found**2))), float(found.mean()), float(np.mean(inside)))
