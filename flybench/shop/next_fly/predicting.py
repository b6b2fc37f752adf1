"""Sink speeds of flies not tied yet, from a drag model learned; pure: variants and a learned model in, speeds out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from flybench.catalog.tables.patterns import Variant
from flybench.errors import FlybenchError
from flybench.hydraulics.water import Water
from flybench.shop.fly.weights import Weighed, weight_of_variant
from flybench.shop.speeds.learning import Learned, water_asked
from flybench.sinking.drag.tied_fly import Build
from flybench.sinking.model.forecast import Forecast, forecast, outside_measured_range
from flybench.sinking.model.known_weights import corrected

HIT = 0.1
"""A fly within this share of the wanted speed is a hit (judgement: half a band of the R10 series)."""
SLOWEST, FASTEST = 0.01, 3.0
"""Speeds that can be wanted [m/s]: slower is adrift, faster is beyond any fly (judgement)."""


@dataclass(frozen=True)
class MeasuredSpeed:
    """What was measured of a variant: its code, speed and standard uncertainty in the water asked about [m/s], and of how
    many flies."""

    code: str
    speed: float
    uncertainty: float
    flies: int


@dataclass(frozen=True)
class Predicted:
    """One predicted fly: bead's code, speed, weight, where it leaves what was measured, in words; and what was measured of
    its variant, None where nothing was, or where nobody looked."""

    bead: str | None
    forecast: Forecast
    weight: Weighed
    outside: list[str]
    measured: MeasuredSpeed | None = None

    @property
    def build(self) -> Build:
        """Return what it is tied from."""
        return self.forecast.build


@dataclass(frozen=True)
class Prediction:
    """Predicted flies in one water, how that water was come by, and what was learned from."""

    flies: list[Predicted]
    water: Water
    water_from: str
    learned: Learned


@dataclass(frozen=True)
class BeadFor:
    """One bead tried for a wanted speed: the fly, how probably it sinks at least so fast, and the odds of a hit.

    hit, the probability of a speed within 10 % of the wanted one; on_hand None where no bead was tried.
    """

    fly: Predicted
    name: str
    faster: float
    hit: float
    on_hand: float | None


def predict_from(
    learned: Learned,
    variants: Sequence[Variant],
    builds: Sequence[Build],
    temperature: float | None = None,
    salinity: float | None = None,
) -> Prediction:
    """Predict variants, of the catalog or made up for a question, from a model fitted with these ``builds`` in mind.

    Parameters: builds, one a variant; temperature [K] and salinity [kg/kg] of the water; None: that in which the flies
    learned from were measured. Raises BadValueError for water that is none, FlybenchError for a fly that floats.
    """
    water, water_from = water_asked(learned.measured, temperature, salinity)
    weights = [weight_of_variant(variant, water) for variant in variants]
    found = forecast(learned.shop, builds, [one.weight for one in weights], water)
    known = learned.shop.data.weights
    weights = [replace(one, weight=corrected(known, one.weight)) for one in weights]
    flies = [
        Predicted(
            None if variant.bead is None else variant.bead.material.code,
            one,
            weight,
            outside_measured_range(one.build, weight.weight.weight.value, learned.measured),
        )
        for variant, one, weight in zip(variants, found, weights, strict=True)
    ]
    return Prediction(flies, water, water_from, learned)


def has_weight(variant: Variant, water: Water) -> bool:
    """Tell whether the weight of a variant follows from its parts: not where it would float."""
    try:
        weight_of_variant(variant, water)
    except FlybenchError:
        return False
    return True


def bead_for(fly: Predicted, name: str, speed: float, on_hand: float | None) -> BeadFor:
    """Return how a predicted fly does for a wanted speed [m/s]."""
    draws = fly.forecast
    return BeadFor(
        fly,
        name,
        float((draws.draws >= speed).mean()),
        draws.share_between((1 - HIT) * speed, (1 + HIT) * speed),
        on_hand,
    )
