"""What the flies of a shop weigh, all together: beads of one packet err alike, weighed flies tell how far.

With P what a fly's parts say and W its weight, ln W = ln P + b (m + l) + e: b is the bead's share of the weight, m what
beads of its metal are off by, l what those of its packet are off by beyond that, e the rest of the one fly. A scale shows
ln W + c + r, c its gain, one for all flies, r the noise of the one weighing, one for every water the fly was dropped in.
All are Gaussian, so that what weighings teach follows in closed form, for flies that were not weighed and not tied too.
A weighing that contradicts the parts may be wrong altogether, as ``wrong_weighings`` has it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np

from flybench.quantity import COVERAGE_FACTOR, Floats, Measured
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.model.wrong_weighings import (
    UNLISTED,
    WRONG,
    WRONG_SPREAD,
    Taught,
    Teaching,
    contradicts,
    covariance_of,
    mean_over,
    unlisted,
    wrong_ones,
)
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
    wrong: dict[str, float] = field(default_factory=dict)
    """How likely the weighing of a fly is wrong altogether [-], by fly, of those that contradict the parts."""

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
        mine = f"packet {lot}", f"metal {metal}", f"{UNLISTED} {lot}"
        parts = np.array([float(name in mine) for name in self.names])
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
    weighed = {one.fly: one for one in measured if one.build.code != without}
    found = {fly: one for fly, each in weighed.items() if (one := _told(each)) is not None}
    told = list(found.values())
    causes = [*rows, *(slopes for slopes, _ in told)]
    spreads = {name: spread for one in causes for name, (_, spread) in one.items()}
    spreads |= unlisted([(weighed[fly], value) for fly, (_, value) in found.items()])
    names = tuple(sorted(name for name, spread in spreads.items() if spread > 0))
    teaching = Teaching(
        _matrix([one for one, _ in told], names), np.array([one for _, one in told]), names, spreads
    )
    mixed = mean_over([_taught(teaching, factors, wrong) for wrong in wrong_ones(teaching)])
    return KnownWeights(names, mixed.mean, mixed.covariance, _matrix(rows, names), mixed.factors, mixed.wrong)


def _taught(teaching: Teaching, factors: dict[str, float] | None, wrong: frozenset[str]) -> Taught:
    """Return what weighings teach where these of them are wrong: the weights of factors are worked out where not given."""
    design, seen = teaching.design, teaching.seen
    chosen, evidence = _factors(teaching, wrong) if factors is None else (factors, 0.0)
    prior = _prior(teaching, chosen, wrong)
    if factors is not None:
        evidence = teaching.evidence(prior)
    gain = np.linalg.solve(covariance_of(design, prior), design * prior).T
    covariance = np.diag(prior) - gain @ (design * prior)
    return Taught(evidence + teaching.odds(wrong), gain @ seen, covariance, chosen, teaching.chances(wrong))


def _prior(teaching: Teaching, factors: dict[str, float], wrong: frozenset[str]) -> Floats:
    """Return the variance of each cause before anything was weighed [-]."""
    sizes = [factors.get(_kind(name), 1.0) for name in teaching.names]
    return np.square(sizes) * teaching.prior(wrong)


def _factors(teaching: Teaching, wrong: frozenset[str]) -> tuple[dict[str, float], float]:
    """Return by how much larger than stated the doubts of packets and of the rest are, as weighings show, and the evidence.

    Root mean square over a grid, each pair weighted by its evidence and by a prior about 1 (log-normal, a factor of 1.6).
    """
    found = []
    for packets, rest in product(_LARGER, _LARGER):
        evidence = teaching.evidence(_prior(teaching, {"packet": packets, "rest": rest}, wrong))
        evidence -= (np.log(packets) ** 2 + np.log(rest) ** 2) / (2 * _LARGER_SPREAD**2)
        found.append((evidence, packets, rest))
    table = np.array(found)
    weights = np.exp(table[:, 0] - table[:, 0].max())
    squares = weights @ table[:, 1:] ** 2 / weights.sum()
    factors = dict(zip(("packet", "rest"), map(float, np.sqrt(squares)), strict=True))
    return factors, float(table[:, 0].max() + np.log(weights.sum()))


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
    """Return the causes of ln W' - ln W; of a weighing that contradicts the parts, that it is wrong altogether too."""
    found = {
        "gain": (weight.gain / _UNIT_GAIN, _UNIT_GAIN),
        f"reading {fly}": (1.0, own_share(weight.weight, weight.gain)),
    }
    if contradicts(weight):
        found[f"{WRONG} {fly}"] = (1.0, WRONG_SPREAD)
    return found


_UNIT_GAIN = 0.005
"""Scale of the gain's error [-], any number: each weighing has its own slope on it."""


def _off_by_parts(fly: str, parts: ByParts) -> Causes:
    """Return the causes of ln P - ln W."""
    own = float(np.hypot(parts.rest_doubt, _PIECE * parts.share))
    found = {f"rest {fly}": (-1.0, own)}
    if parts.lot:
        found[f"packet {parts.lot}"] = (-parts.share, parts.bead_doubt)
        found[f"{UNLISTED} {parts.lot}"] = (-parts.share, 0.0)
    if parts.metal:
        found[f"metal {parts.metal}"] = (-parts.share, _METAL)
    return found


def _told(one: MeasuredFly) -> tuple[Causes, float] | None:
    """Return what a weighing tells: scale over parts, ln W' - ln P, and what that is made of; None without one."""
    weight = one.weight
    assert weight is not None
    if weight.way is Way.FROM_PARTS or weight.by_parts is None:
        return None
    parts = {
        name: (-slope, spread) for name, (slope, spread) in _off_by_parts(one.fly, weight.by_parts).items()
    }
    return {**_off_by_scale(one.fly, weight), **parts}, weight.over_parts


def _matrix(causes: Sequence[Causes], names: Sequence[str]) -> Floats:
    places = {name: place for place, name in enumerate(names)}
    found: Floats = np.zeros((len(causes), len(names)))
    for row, one in zip(found, causes, strict=True):
        for name, (slope, _) in one.items():
            if name in places:
                row[places[name]] = slope
    return found
