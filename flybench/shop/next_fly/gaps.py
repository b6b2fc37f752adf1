"""Gaps in a box: speeds that no fly of it has, and the cheapest fly to tie from stock that fills each."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from flybench.catalog.shelf.needed import Needed
from flybench.catalog.tables.materials import Material
from flybench.catalog.tables.patterns import Variant
from flybench.errors import BadValueError
from flybench.shop.next_fly.make_list import amount_in_stock_unit, fly_cost
from flybench.shop.next_fly.predicting import Predicted, Prediction
from flybench.sinking.model.forecast import Forecast

WIDER_THAN = 1.25
"""Neighbours farther apart than this ratio leave a gap: one step of the R10 series (ISO 3:1973)."""
_NARROWEST, _WIDEST = 1.02, 10.0
"""Ratios that can be asked for: closer neighbours nobody tells apart, wider ones no box has (judgement)."""
_LEAST_ODDS = 0.5
"""A filler falls into the gap more often than not (judgement)."""
_NEAR_BEAD = 1.3
"""Another bead suits a dressing up to this ratio of diameters (judgement)."""
_SHOWN = 3
"""Fillers named for each gap (judgement)."""
_SOME = 1e-9
"""Where a recipe gives no amount, any of the material will do [in its own unit]."""


@dataclass(frozen=True)
class BoxFly:
    """A variant of the box: speed and its standard uncertainty [m/s], measured or predicted."""

    code: str
    speed: float
    uncertainty: float
    predicted: bool


@dataclass(frozen=True)
class Filler:
    """A fly that would fill a gap: odds of a speed inside it, cost of what has a price, what has none or is lacking.

    The cost is None where nothing has a price.
    """

    code: str
    bead: str | None
    forecast: Forecast
    odds: float
    cost: float | None
    unpriced: list[str]
    lacking: list[str]
    outside: list[str]


@dataclass(frozen=True)
class Gap:
    """Two neighbours of the box with nothing between, and what would fill it, the cheapest from stock first."""

    below: BoxFly
    above: BoxFly
    fillers: list[Filler]


@dataclass(frozen=True)
class Gaps:
    """The box from slowest to fastest, its gaps, how many flies were tried, whether stock of materials is kept.

    wider_than, the ratio of speeds above which neighbours leave a gap.
    """

    box: list[BoxFly]
    gaps: list[Gap]
    tried: int
    stock_kept: bool
    prediction: Prediction
    wider_than: float


def check_ratio(wider_than: float) -> None:
    """Refuse a ratio of speeds that is 1 or less, or that no box has; raises BadValueError."""
    if not _NARROWEST <= wider_than <= _WIDEST:
        raise BadValueError(
            "--wider-than",
            f"{wider_than:g} is outside {_NARROWEST:g} to {_WIDEST:g}",
            f"Give how many times faster the next fly may be, such as {WIDER_THAN:g}.",
        )


def gaps_in(
    box: Sequence[BoxFly],
    wider_than: float,
    tried: Sequence[tuple[Predicted, list[Needed]]],
    stock: Mapping[int, float],
) -> list[Gap]:
    """Return the gaps between neighbours of a box, from slowest to fastest, each with what would fill it.

    Parameters: tried, flies that might be tied, with what each takes; stock, what is on hand of each material that is
    counted, by its number, empty where none is.
    """
    return [
        Gap(below, above, _fillers(below, above, tried, stock))
        for below, above in pairwise(box)
        if above.speed > wider_than * below.speed
    ]


def on_other_beads(
    every: Sequence[Variant], beads: Sequence[Material], stock: Mapping[int, float]
) -> list[tuple[Variant, Material]]:
    """Return each variant with each other bead that suits it, where no variant is tied so already."""
    taken = {(one.pattern_id, one.hook_id, one.bead_id) for one in every}
    found = []
    for variant in every:
        for bead in beads:
            key = (variant.pattern_id, variant.hook_id, bead.id)
            if key not in taken and _suits(variant, bead, stock):
                taken.add(key)
                found.append((variant, bead))
    return found


def _suits(variant: Variant, bead: Material, stock: Mapping[int, float]) -> bool:
    """Tell whether a bead could take the place of a variant's: same bore, near in size, in stock where kept."""
    old, new = variant.bead, bead.bead
    if old is None or new is None or old.bore is not new.bore:
        return False
    ratio = new.diameter_m / old.diameter_m
    return 1 / _NEAR_BEAD <= ratio <= _NEAR_BEAD and (not stock or stock.get(bead.id, 0.0) >= 1)


def _fillers(
    below: BoxFly,
    above: BoxFly,
    tried: Sequence[tuple[Predicted, list[Needed]]],
    stock: Mapping[int, float],
) -> list[Filler]:
    found = []
    for fly, needs in tried:
        odds = fly.forecast.share_between(below.speed, above.speed)
        if odds >= _LEAST_ODDS:
            cost = fly_cost(fly.build.code, 1, needs)
            short = lacking(needs, stock) if stock else []
            rest = (cost.cost, cost.unknown, short, fly.outside)
            found.append(Filler(fly.build.code, fly.bead, fly.forecast, odds, *rest))
    found.sort(key=rank)
    return found[:_SHOWN]


def rank(one: Filler) -> tuple[bool, bool, float, float]:
    """Return what puts the cheapest from stock first; what has parts without a price comes after."""
    cost = math.inf if one.cost is None else one.cost
    return bool(one.lacking), bool(one.unpriced), cost, -one.odds


def lacking(needs: Sequence[Needed], stock: Mapping[int, float]) -> list[str]:
    """Return the materials of which there is not enough for one fly; any of it will do where no amount is known."""
    short = []
    for need in needs:
        amount = amount_in_stock_unit(need, [])
        least = _SOME if amount is None else amount
        if stock.get(need.material.id, 0.0) < least:
            short.append(need.material.code)
    return list(dict.fromkeys(short))
