"""What is a build's own beside its law: how its variant drags, what the law misses there, how far its weight is off.

All three leave the law in the same place: a fly that drags more than its law, and one that is lighter than its parts
say, sink slower alike. Measured flies tell of each as far as they share it: variant, likeness of build, packet of bead.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flybench.quantity import Floats
from flybench.sinking.drag.tied_fly import Build
from flybench.sinking.model.discrepancy import likeness
from flybench.sinking.model.fit import Fit, predict
from flybench.sinking.model.shop_fit import ShopFit
from flybench.sinking.weight.submerged import SubmergedWeight

_USUAL_WEIGHT = 2e-3
"""Weight of a fly of which none is known, where none was measured either [N]: that of a middling nymph (judgement)."""


@dataclass(frozen=True)
class Links:
    """What builds (m) share with the measured rows (n), in logarithms [-]: variant (n, m) and likeness (n, m) as shares
    of their spreads; weight, mean and variance of the error of each weight (m), and its covariance with rows (n, m)."""

    same: Floats
    alike: Floats
    weight_mean: Floats
    weight_variance: Floats
    weight: Floats

    def covariance(self, one: Fit) -> Floats:
        """Return the covariance of builds with rows (n, m) for one set of spreads."""
        found: Floats = one.spreads.variant**2 * self.same + one.spreads.law**2 * self.alike + self.weight
        return found

    def variance(self, one: Fit) -> Floats:
        """Return the variance of each build before any row was seen (m)."""
        found: Floats = one.spreads.variant**2 + one.spreads.law**2 + self.weight_variance
        return found


def own_effects(
    shop: ShopFit, builds: Sequence[Build], weights: Sequence[SubmergedWeight]
) -> tuple[Floats, Floats]:
    """Return mean and deviation of ln(drag area) beside the law for each draw and build (draws, m) [-].

    Weights are those of the parts; their errors count as drag. Reference: conditional of a Gaussian (any textbook).
    """
    return _conditioned(shop, _links(shop, builds, weights))


def variant_effect(shop: ShopFit, build: Build) -> tuple[Floats, Floats]:
    """Return mean and deviation of ln(drag area) beside the law for each draw [-]: of one build, its weight apart."""
    data = shop.data
    codes = np.array([one.build.code for one in data.measured], dtype=str)
    mine = data.assumed[codes == build.code] if build.code in codes else data.assumed
    weight = float(np.exp(np.mean(np.log(mine)))) if len(mine) else _USUAL_WEIGHT
    nothing, none = np.zeros((len(data.y), 1)), np.zeros(1)
    links = Links(_same(shop, [build]), _alike(shop, [build], np.array([weight])), none, none, nothing)
    mean, deviation = _conditioned(shop, links)
    return mean[:, 0], deviation[:, 0]


def _links(shop: ShopFit, builds: Sequence[Build], weights: Sequence[SubmergedWeight]) -> Links:
    known = [shop.data.weights.beside(one) for one in weights]
    shift = np.array([mean for mean, _, _ in known])
    assumed = np.array([one.weight.value for one in weights]) / np.exp(shift)
    shared = np.array([rows for _, _, rows in known]).reshape(len(builds), -1).T
    variances = np.array([variance for _, variance, _ in known])
    return Links(_same(shop, builds), _alike(shop, builds, assumed), shift, variances, shared)


def _same(shop: ShopFit, builds: Sequence[Build]) -> Floats:
    rows = [[float(one.build.code == build.code) for build in builds] for one in shop.data.measured]
    return np.array(rows).reshape(len(rows), len(builds))


def _alike(shop: ShopFit, builds: Sequence[Build], weights: Floats) -> Floats:
    data = shop.data
    return likeness([one.build for one in data.measured], data.assumed, builds, weights)


def _conditioned(shop: ShopFit, links: Links) -> tuple[Floats, Floats]:
    size = len(shop.beta), len(links.weight_mean)
    mean, deviation = np.empty(size), np.empty(size)
    for k, one in enumerate(shop.fits):
        mine = shop.of == k
        if not mine.any():
            continue
        across = links.covariance(one)
        gain = np.linalg.solve(one.residual_covariance, across)
        expected, _ = predict(shop.data, one.mode)
        left = shop.data.y - expected - (shop.beta[mine] - one.mode) @ one.slopes.T
        mean[mine] = links.weight_mean + left @ gain
        deviation[mine] = np.sqrt(np.maximum(links.variance(one) - (across * gain).sum(0), 0.0))
    return mean, deviation
