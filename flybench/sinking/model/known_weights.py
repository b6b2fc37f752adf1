"""What the flies of a shop weigh, all together: beads of one packet err alike, weighed flies tell how far.

With P what a fly's parts say and W its weight, ln W = ln P + b (m + l) + e: b is the bead's share of the weight, m what
beads of its metal are off by, l what those of its packet are off by beyond that, e the rest of the one fly. A scale shows
ln W + c + r, c its gain, one for all flies, r the noise of the one weighing, one for every water the fly was dropped in.
All are Gaussian, so that what weighings teach follows in closed form, for flies that were not weighed and not tied too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from flybench.quantity import COVERAGE_FACTOR, Floats, Measured
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.weight.by_parts import ByParts, own_share
from flybench.sinking.weight.submerged import SubmergedWeight, Way

_METAL = 0.05
"""Standard deviation of m [-]: what is sold under one size and metal may weigh 5 % more or less than both say, by bore,
plating and alloy (judgement)."""
_PIECE = 0.015
"""How much beads of one packet differ in weight [-] (judgement)."""
_LARGER, _LARGER_SPREAD = (0.2, 0.35, 0.6, 1.0, 1.6), 0.5
"""Factors tried on the stated doubts of packets and of the rest of flies [-], and the standard deviation of their
logarithm before anything was weighed [-] (judgement)."""
_REGULAR = 1e-12
"""Added to the diagonal of a covariance before it is inverted [-]: against rounding."""


@dataclass(frozen=True)
class Packet:
    """How much more beads of a packet weigh in water than their size and metal say: logarithm and its standard
    uncertainty [-], by weighed flies."""

    code: str
    heavier: float
    uncertainty: float

    @property
    def clear(self) -> bool:
        """Tell whether they are off beyond doubt (k = 2)."""
        return abs(self.heavier) > COVERAGE_FACTOR * self.uncertainty


@dataclass(frozen=True)
class KnownWeights:
    """What is known of the errors that weights may have: assumed weight over true weight, in logarithms [-].

    names, of the causes of error; mean (k) and covariance (k, k) of the causes, after the weighings; rows (n, k), how
    each measured fly's assumed weight is made of them; factors, by how much larger than stated doubts are, by kind.
    """

    names: tuple[str, ...]
    mean: Floats
    covariance: Floats
    rows: Floats
    factors: dict[str, float]

    @property
    def shift(self) -> Floats:
        """Return the mean error of each row (n) [-]."""
        return self.rows @ self.mean

    @property
    def spread(self) -> Floats:
        """Return the covariance of the rows' errors (n, n) [-]."""
        found: Floats = self.rows @ self.covariance @ self.rows.T
        return found

    def packets(self, measured: Sequence[MeasuredFly]) -> list[Packet]:
        """Return what the weighings tell of the packets of beads that measured flies were tied on, by code."""
        parts = [one.weight.by_parts for one in measured if one.weight is not None]
        beads = sorted({(one.lot, one.metal) for one in parts if one is not None and one.lot})
        return [self._packet(lot, metal) for lot, metal in beads]

    def _packet(self, lot: str, metal: str) -> Packet:
        parts = np.array([float(name in (f"packet {lot}", f"metal {metal}")) for name in self.names])
        return Packet(lot, float(parts @ self.mean), float(np.sqrt(parts @ self.covariance @ parts)))

    def beside(self, weight: SubmergedWeight) -> tuple[float, float, Floats]:
        """Return mean and variance of the error of another fly's weight by its parts, and its covariance with rows (n).

        Parameters: weight, of a fly that is not one of the rows. All in logarithms [-].
        """
        causes = _causes("", weight)
        known = np.array([causes.get(name, (0.0, 0.0))[0] for name in self.names])
        new = sum(
            (self.factors.get(_kind(name), 1.0) * slope * spread) ** 2
            for name, (slope, spread) in causes.items()
            if name not in self.names
        )
        variance = float(known @ self.covariance @ known) + new
        return float(known @ self.mean), variance, self.rows @ self.covariance @ known


def corrected(known: KnownWeights, weight: SubmergedWeight) -> SubmergedWeight:
    """Return the weight of an untied fly with what weighed flies teach of its bead, and the doubt that is left [N]."""
    mean, variance, _ = known.beside(weight)
    value = weight.weight.value * float(np.exp(-mean))
    return replace(weight, weight=Measured(value, value * float(np.sqrt(variance))))


def known_weights(
    measured: Sequence[MeasuredFly], without: str = "", factors: dict[str, float] | None = None
) -> KnownWeights:
    """Return what is known of the weights of measured flies, in their order; all have a weight.

    Parameters: without, the code of a variant whose weighings count as not made: its weights are those of the parts; factors,
    by how much larger than stated doubts are, where that is known already.
    Reference: conditional of a Gaussian (any textbook).
    """
    rows = [_row(one, without) for one in measured]
    weighed = dict(_told(one) for one in measured if one.build.code != without)
    told = [one for one in weighed.values() if one is not None]
    causes = [*rows, *(slopes for slopes, _ in told)]
    spreads = {name: spread for one in causes for name, (_, spread) in one.items()}
    names = tuple(sorted(spreads))
    design, seen = _matrix([slopes for slopes, _ in told], names), np.array([value for _, value in told])
    factors = _factors(design, seen, names, spreads) if factors is None else factors
    prior = np.array([(factors.get(_kind(name), 1.0) * spreads[name]) ** 2 for name in names])
    gain = np.linalg.solve(_covariance(design, prior), design * prior).T
    covariance = np.diag(prior) - gain @ (design * prior)
    return KnownWeights(names, gain @ seen, covariance, _matrix(rows, names), factors)


def _covariance(design: Floats, prior: Floats) -> Floats:
    found: Floats = design * prior @ design.T + _REGULAR * np.eye(len(design))
    return found


def _factors(
    design: Floats, seen: Floats, names: Sequence[str], spreads: dict[str, float]
) -> dict[str, float]:
    """Return by how much larger than stated the doubts of packets and of the rest are, as weighings show.

    Root mean square over a grid, each pair weighted by its evidence and by a prior about 1 (log-normal, a factor of 1.6).
    """
    found = []
    for packets, rest in product(_LARGER, _LARGER):
        one = {"packet": packets, "rest": rest}
        prior = np.array([(one.get(_kind(name), 1.0) * spreads[name]) ** 2 for name in names])
        covariance = _covariance(design, prior)
        evidence = -0.5 * float(seen @ np.linalg.solve(covariance, seen) + np.linalg.slogdet(covariance)[1])
        evidence -= (np.log(packets) ** 2 + np.log(rest) ** 2) / (2 * _LARGER_SPREAD**2)
        found.append((evidence, packets, rest))
    table = np.array(found)
    weights = np.exp(table[:, 0] - table[:, 0].max())
    squares = weights @ table[:, 1:] ** 2 / weights.sum()
    return dict(zip(("packet", "rest"), map(float, np.sqrt(squares)), strict=True))


def _kind(name: str) -> str:
    return name.split(" ", 1)[0]


Causes = dict[str, tuple[float, float]]
"""Causes of an error: slope and standard deviation of each [-], by name."""


def _row(one: MeasuredFly, without: str) -> Causes:
    """Return what the error of a row's assumed weight is made of."""
    assert one.weight is not None
    if one.build.code == without and one.weight.by_parts is not None:
        return _off_by_parts(one.fly, one.weight.by_parts)
    return _causes(one.fly, one.weight)


def _causes(fly: str, weight: SubmergedWeight) -> Causes:
    if weight.way is Way.FROM_PARTS and weight.by_parts is not None:
        return _off_by_parts(fly, weight.by_parts)
    return _off_by_scale(fly, weight)


def _off_by_scale(fly: str, weight: SubmergedWeight) -> Causes:
    return {
        "gain": (weight.gain / _UNIT_GAIN, _UNIT_GAIN),
        f"reading {fly}": (1.0, own_share(weight.weight, weight.gain)),
    }


_UNIT_GAIN = 0.005
"""Scale of the gain's error [-], any number: each weighing has its own slope on it."""


def _off_by_parts(fly: str, parts: ByParts) -> Causes:
    """Return the causes of ln P - ln W."""
    own = float(np.hypot(parts.rest_doubt, _PIECE * parts.share))
    found = {f"rest {fly}": (-1.0, own)}
    if parts.lot:
        found[f"packet {parts.lot}"] = (-parts.share, parts.bead_doubt)
    if parts.metal:
        found[f"metal {parts.metal}"] = (-parts.share, _METAL)
    return found


def _told(one: MeasuredFly) -> tuple[str, tuple[Causes, float] | None]:
    """Return what a weighing tells: scale over parts, ln W' - ln P, and what that is made of; None without one."""
    weight = one.weight
    assert weight is not None
    if weight.way is Way.FROM_PARTS or weight.by_parts is None:
        return one.fly, None
    parts = {
        name: (-slope, spread) for name, (slope, spread) in _off_by_parts(one.fly, weight.by_parts).items()
    }
    return one.fly, ({**_off_by_scale(one.fly, weight), **parts}, weight.over_parts)


def _matrix(causes: Sequence[Causes], names: Sequence[str]) -> Floats:
    places = {name: place for place, name in enumerate(names)}
    found: Floats = np.zeros((len(causes), len(names)))
    for row, one in zip(found, causes, strict=True):
        for name, (slope, _) in one.items():
            row[places[name]] = slope
    return found
