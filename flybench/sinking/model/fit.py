"""One fit of the drag model to measured flies for one set of spreads: mode, covariance, evidence.

Gaussian priors, residuals that flies of one variant share, a Gauss-Newton mode and Laplace's approximation.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from flybench.hydraulics.water import Water
from flybench.quantity import Floats
from flybench.sinking.drag.published_bodies import STEEPEST, prior_exponent
from flybench.sinking.drag.shape import GLOBALS, Layout, Shapes, shapes_of, sphere_share
from flybench.sinking.drag.terminal import drag_area_of
from flybench.sinking.drag.tied_fly import STYLES, Build, Sunk

_TURNS = 40
_SMALL = 1e-6
_LONGEST = 1.5


@dataclass(frozen=True)
class Spreads:
    """Standard deviations of ln(drag area): between styles, patterns of a style, variants, flies of a variant."""

    style: float
    pattern: float
    variant: float
    fly: float


@dataclass(frozen=True)
class Priors:
    """Prior of the global parameters, in the order of ``GLOBALS``, and spreads of exponents (judgement).

    The three dressing coefficients are unknown by half each, half of which they share; the coat of resin takes
    away some 14 % and may do nothing; the bead in a fly drags 5 % more than a smooth ball.
    """

    mean: Floats
    covariance: Floats
    style_exponent: float = 0.4
    pattern_exponent: float = 0.3


def usual_priors() -> Priors:
    """Return the priors of the product."""
    s_mean, s_sd = prior_exponent()
    p = s_mean / STEEPEST
    mean = np.array([0.0, 0.05, 0.0, 0.0, 0.0, -0.15, np.log(p / (1 - p))])
    sd = np.array([1.0, 0.1, 0.4, 0.4, 0.4, 0.2, s_sd / (STEEPEST * p * (1 - p))])
    covariance = np.diag(sd**2)
    covariance[2:5, 2:5] += 0.4**2
    return Priors(mean, covariance)


@dataclass(frozen=True)
class Data:
    """Measured flies with a known weight, as arrays sorted by variant.

    y, ln of the drag area [m2] as measured; noise, its own standard deviation; shared, how far the error all
    share moves it; log_share, ln(C(Re) / C_0) at which it fell.
    """

    sunk: tuple[Sunk, ...]
    layout: Layout
    shapes: Shapes
    y: Floats
    noise: Floats
    shared: Floats
    log_share: Floats

    @cached_property
    def same_variant(self) -> Floats:
        """Return 1 where two rows are of one variant."""
        return _same([one.build.code for one in self.sunk])

    @cached_property
    def same_fly(self) -> Floats:
        """Return 1 where two rows are of one fly."""
        return _same([one.fly for one in self.sunk])


def data_of(sunk: Sequence[Sunk], more: Sequence[Build] = ()) -> Data:
    """Return measured flies as arrays; those without a weight are left out. ``more`` builds join the layout."""
    known = sorted((one for one in sunk if one.weight is not None), key=lambda one: (one.build.code, one.fly))
    builds = [one.build for one in known]
    layout = Layout(tuple(dict.fromkeys(build.pattern for build in [*builds, *more])))
    rows = [_row(one) for one in known]
    columns = np.array(rows).reshape(-1, 4).T
    return Data(tuple(known), layout, shapes_of(builds, layout), *columns)


def _row(one: Sunk) -> tuple[float, float, float, float]:
    assert one.weight is not None
    water = Water(one.temperature, one.salinity)
    length = one.build.bead_diameter or one.build.hook_gape
    area = float(drag_area_of(one.weight.weight.value, one.speed, water))
    noise = float(np.hypot(one.weight.relative_uncertainty, 2 * one.own / one.speed))
    share = float(sphere_share(np.array(one.speed * length / water.kinematic_viscosity)))
    return np.log(area), noise, -2 * one.shared / one.speed, np.log(share)


@dataclass(frozen=True)
class Fit:
    """Mode, covariance of the parameters, log evidence, and the covariance of residuals, for one set of spreads."""

    spreads: Spreads
    mode: Floats
    covariance: Floats
    evidence: float
    residual_covariance: Floats
    slopes: Floats


def fit(data: Data, spreads: Spreads, priors: Priors) -> Fit:
    """Return the fit of the model to the data for these spreads, by Gauss-Newton steps from the prior's mean."""
    mean, root = prior(data.layout, spreads, priors)
    noise = residual_covariance(data, spreads)
    lower = np.linalg.cholesky(noise)
    whiten = np.linalg.inv(lower)
    start = mean.copy()
    whitened_prior = np.linalg.inv(root)
    precision = whitened_prior.T @ whitened_prior
    for _ in range(_TURNS):
        expected, slopes = predict(data, start)
        tilt = whiten @ slopes
        misses = whiten @ (data.y - expected)
        normal = precision + tilt.T @ tilt
        step = np.linalg.solve(normal, tilt.T @ misses - precision @ (start - mean))
        start = start + step * min(1.0, _LONGEST / max(float(np.abs(step).max()), _SMALL))
        if np.abs(step).max() < _SMALL:
            break
    expected, slopes = predict(data, start)
    tilt = whiten @ slopes
    misses = whiten @ (data.y - expected)
    normal = precision + tilt.T @ tilt
    off = whitened_prior @ (start - mean)
    evidence = -0.5 * float(misses @ misses + off @ off) - float(np.log(np.diag(lower)).sum())
    evidence -= 0.5 * float(np.linalg.slogdet(normal)[1]) + float(np.log(np.diag(root)).sum())
    return Fit(spreads, start, np.asarray(np.linalg.inv(normal), dtype=float), evidence, noise, slopes)


def predict(data: Data, beta: Floats) -> tuple[Floats, Floats]:
    """Return what the model expects of ``data.y`` (n) and its slopes in the parameters (n, p)."""
    shapes = data.shapes
    pieces = shapes.pieces(beta)
    area, exponent = pieces.sum(0), shapes.exponent(beta)
    expected = np.log(area) + exponent * data.log_share + data.shared * beta[0]
    slopes = np.zeros((len(data.y), data.layout.size))
    rows = np.arange(len(data.y))
    share = pieces / area
    slopes[:, 0] = data.shared
    slopes[:, 1:5] = share.T
    dressing = share[1:].sum(0)
    slopes[:, 5] = dressing * shapes.coated
    bend = exponent * (1 - exponent / STEEPEST) * data.log_share
    slopes[:, 6] = bend
    for k in range(2):
        slopes[rows, shapes.effects[:, k]] = dressing
        slopes[rows, shapes.exponents[:, k]] = bend
    return expected, slopes


def residual_covariance(data: Data, spreads: Spreads) -> Floats:
    """Return the covariance of what the parameters leave: variant, fly, and each row's own noise (n, n)."""
    covariance: Floats = (
        spreads.variant**2 * data.same_variant + spreads.fly**2 * data.same_fly + np.diag(data.noise**2)
    )
    return covariance


def prior(layout: Layout, spreads: Spreads, priors: Priors) -> tuple[Floats, Floats]:
    """Return the prior's mean (p) and the Cholesky root of its covariance (p, p)."""
    first, styles, patterns = len(GLOBALS), len(STYLES), len(layout.patterns)
    mean = np.zeros(layout.size)
    mean[:first] = priors.mean
    effects = [spreads.style] * styles + [spreads.pattern] * patterns
    exponents = [priors.style_exponent] * styles + [priors.pattern_exponent] * patterns
    root = np.diag(np.concatenate([np.ones(first), effects, exponents]))
    root[:first, :first] = np.linalg.cholesky(priors.covariance)
    return mean, root


def _same(names: Sequence[str]) -> Floats:
    _, places = np.unique(np.array(names, dtype=str), return_inverse=True)
    same: Floats = (places[:, None] == places[None, :]).astype(float)
    return same
