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
from flybench.sinking.drag.published_bodies import STEEPEST, mean_logarithm, prior_exponent
from flybench.sinking.drag.shape import (
    GLOBALS,
    ParameterLayout,
    Shapes,
    reference_length,
    shapes_of,
    sphere_share,
)
from flybench.sinking.drag.steady_fall import drag_area_of
from flybench.sinking.drag.tied_fly import STYLES, Build, MeasuredFly
from flybench.sinking.model.discrepancy import likeness
from flybench.sinking.model.known_weights import KnownWeights, known_weights
from flybench.sinking.model.viscosity import ViscosityLaw, learn_viscosity

USUAL_TEMPERATURE = 288.15
"""Temperature of the water where none is given and no fly was measured [K]: 15 degC (judgement)."""

_TURNS = 40
"""Most Gauss-Newton steps [-]; a fit takes some twenty (judgement)."""
_SMALL = 1e-6
"""Largest change of a parameter at which the fit ends [-]: far below any parameter's doubt (judgement)."""
_LONGEST = 1.5
"""Longest step of a parameter, a logarithm [-]: a factor of 4.5, so that no first step runs away (judgement)."""
_BEAD, _BEAD_SPREAD = 0.05, 0.1
"""ln of a bead's drag in a fly over a smooth ball's [-], and its standard deviation: slot, bore and paint (judgement)."""
_COAT, _COAT_SPREAD = -0.15, 0.2
"""ln of what a coat of resin leaves of the dressing's drag [-], and its standard deviation (judgement)."""
_DRESSING_OWN, _DRESSING_SHARED = 0.4, 0.4
"""Standard deviations of ln of each dressing coefficient [-]: of its own, and shared by the three; together a half up
or down (judgement)."""


@dataclass(frozen=True)
class Spreads:
    """Standard deviations of ln(drag area) [-]: between styles, patterns of a style, variants, flies of a variant, and
    of what the law gets wrong from build to build; and usual, by how much more than usual the global parameters and the
    exponents may be off [-]."""

    style: float
    pattern: float
    variant: float
    fly: float
    law: float
    usual: float = 1.0


@dataclass(frozen=True)
class Priors:
    """Prior of the global parameters, in the order of ``GLOBALS``, and spreads of exponents (judgement).

    mean (p) and covariance (p, p) of logarithms [-]; style_exponent and pattern_exponent, standard deviations of what a
    style and a pattern add to the exponent's logit [-]: half a published body and a third of one (judgement). The
    three dressing coefficients are unknown by half each, half of which they share; the coat of resin takes away some
    14 % and may do nothing; the bead in a fly drags 5 % more than a smooth ball.
    """

    mean: Floats
    covariance: Floats
    style_exponent: float = 0.4
    pattern_exponent: float = 0.3


def usual_priors() -> Priors:
    """Return the priors that the commands use [-]."""
    s_mean, s_sd = prior_exponent()
    p = s_mean / STEEPEST
    mean = np.array([0.0, _BEAD, 0.0, 0.0, 0.0, _COAT, np.log(p / (1 - p))])
    sd = np.array([1.0, _BEAD_SPREAD, *[_DRESSING_OWN] * 3, _COAT_SPREAD, s_sd / (STEEPEST * p * (1 - p))])
    covariance = np.diag(sd**2)
    covariance[2:5, 2:5] += _DRESSING_SHARED**2
    return Priors(mean, covariance)


@dataclass(frozen=True)
class FitData:
    """Measured flies with a known weight, as arrays sorted by variant, all brought to one viscosity at their speeds.

    y, ln of the drag area [m2] at that viscosity, with weights as the shop knows them; noise, its own standard deviation by
    the speed; shared, how far the error all share moves it; log_share, ln(C(Re) / C_0) at which it fell there; brought
    (n, n), the covariance of y that bringing it there added; reference, that kinematic viscosity [m2/s], the middle of
    those measured in; viscosity, how drag goes with it; weights, what is known of the errors of their weights.
    """

    measured: tuple[MeasuredFly, ...]
    layout: ParameterLayout
    shapes: Shapes
    y: Floats
    noise: Floats
    shared: Floats
    log_share: Floats
    brought: Floats
    reference: float
    viscosity: ViscosityLaw
    weights: KnownWeights

    @cached_property
    def alike(self) -> Floats:
        """Return how alike the law misses two rows."""
        builds, weights = [one.build for one in self.measured], self.assumed
        return likeness(builds, weights, builds, weights)

    @cached_property
    def assumed(self) -> Floats:
        """Return the weight of each row as the shop knows it [N]."""
        assumed = [one.weight.weight.value for one in self.measured if one.weight is not None]
        found: Floats = np.array(assumed) / np.exp(self.weights.shift)
        return found

    @cached_property
    def same_variant(self) -> Floats:
        """Return 1 where two rows are of one variant."""
        return _same([one.build.code for one in self.measured])

    @cached_property
    def same_fly(self) -> Floats:
        """Return 1 where two rows are of one fly."""
        return _same([one.fly for one in self.measured])


def data_of(measured: Sequence[MeasuredFly], more: Sequence[Build] = ()) -> FitData:
    """Return measured flies as arrays; those without a weight are left out. ``more`` builds join the layout."""
    known = sorted(
        (one for one in measured if one.weight is not None), key=lambda one: (one.build.code, one.fly)
    )
    builds = [one.build for one in known]
    layout = ParameterLayout(tuple(dict.fromkeys(build.pattern for build in [*builds, *more])))
    viscosity, weights = learn_viscosity(measured), known_weights(known)
    reference = _middle([one.water for one in known])
    rows = [_row(one, reference) for one in known]
    area, noise, shared, share, thinner = np.array(rows).reshape(-1, 5).T
    steeper, covariance = viscosity.steeper([(one.fly, one.build) for one in known])
    return FitData(
        tuple(known),
        layout,
        shapes_of(builds, layout),
        area + steeper * thinner - weights.shift,
        noise,
        shared,
        share,
        covariance * np.outer(thinner, thinner),
        reference,
        viscosity,
        weights,
    )


def _middle(waters: Sequence[Water]) -> float:
    """Return the geometric mean of their kinematic viscosities [m2/s], that of usual water where there are none."""
    found = [one.kinematic_viscosity for one in waters] or [Water(USUAL_TEMPERATURE).kinematic_viscosity]
    return float(np.exp(np.mean(np.log(found))))


def _row(one: MeasuredFly, reference: float) -> tuple[float, float, float, float, float]:
    """Return ln of the drag area at the reference viscosity by the mean body, its noise, the slope of the shared error,
    ln(C(Re) / C_0) there, and ln of the reference viscosity over the one fallen in."""
    assert one.weight is not None
    water, reach = one.water, one.speed * reference_length(one.build)
    area = float(drag_area_of(one.weight.weight.value, one.speed, water))
    noise = 2 * one.own / one.speed
    here, there = reach / water.kinematic_viscosity, reach / reference
    more = float(mean_logarithm(np.array(there)) - mean_logarithm(np.array(here)))
    share = float(sphere_share(np.array(there)))
    thinner = np.log(reference / water.kinematic_viscosity)
    return np.log(area) + more, noise, -2 * one.shared / one.speed, np.log(share), thinner


@dataclass(frozen=True)
class Fit:
    """Mode (p), covariance of the parameters (p, p), log evidence, and the covariance of residuals (n, n), for one set of
    spreads; all of logarithms [-]."""

    spreads: Spreads
    mode: Floats
    covariance: Floats
    evidence: float
    residual_covariance: Floats
    slopes: Floats


def fit(data: FitData, spreads: Spreads, priors: Priors) -> Fit:
    """Return the fit of the model to the data for these spreads, by Gauss-Newton steps from the prior's mean.

    Evidence by Laplace's approximation. Reference: MacKay (2003), Information Theory, Inference, and Learning
    Algorithms, ch. 27 (from memory).
    """
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


def predict(data: FitData, beta: Floats) -> tuple[Floats, Floats]:
    """Return what the model expects of ``data.y`` (n) and its slopes in the parameters (n, p), both of logarithms [-]."""
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


def residual_covariance(data: FitData, spreads: Spreads) -> Floats:
    """Return the covariance of what the parameters leave (n, n) [-]: variant, fly, law, weights, noise, water."""
    covariance: Floats = (
        spreads.variant**2 * data.same_variant
        + spreads.fly**2 * data.same_fly
        + spreads.law**2 * data.alike
        + data.weights.spread
        + np.diag(data.noise**2)
        + data.brought
    )
    return covariance


def prior(layout: ParameterLayout, spreads: Spreads, priors: Priors) -> tuple[Floats, Floats]:
    """Return the prior's mean (p) and the Cholesky root of its covariance (p, p)."""
    first, styles, patterns = len(GLOBALS), len(STYLES), len(layout.patterns)
    mean = np.zeros(layout.size)
    mean[:first] = priors.mean
    effects = [spreads.style] * styles + [spreads.pattern] * patterns
    exponents = [priors.style_exponent] * styles + [priors.pattern_exponent] * patterns
    root = np.diag(np.concatenate([np.ones(first), effects, spreads.usual * np.array(exponents)]))
    root[:first, :first] = np.linalg.cholesky(priors.covariance)
    # The first global parameter is the shared error of the readings, which no habit widens.
    root[1:first, 1:first] *= spreads.usual
    return mean, root


def _same(names: Sequence[str]) -> Floats:
    _, places = np.unique(np.array(names, dtype=str), return_inverse=True)
    same: Floats = (places[:, None] == places[None, :]).astype(float)
    return same
