"""Gaps in a box: speeds that no fly of it has, and the cheapest fly to tie from stock that fills each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from flybench.catalog.recipe.needed import Needed, needed_for
from flybench.catalog.search.language import narrowed
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import select_rows
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import VariantSpeed
from flybench.catalog.tables.materials import Bead, Material, MaterialMovement
from flybench.catalog.tables.patterns import Variant
from flybench.errors import BadValueError, FlybenchError
from flybench.hydraulics.water import Water
from flybench.jobs.sink.made_up_variants import variant_like
from flybench.jobs.sink.make_list import amount_in_stock_unit, fly_cost
from flybench.jobs.sink.predict import Predicted, Prediction, has_weight, predict_variants
from flybench.shop.learning import USUAL_TEMPERATURE
from flybench.sinking.model.forecast import Forecast

STEP = 1.25
"""Neighbours farther apart than this ratio leave a gap: one step of the R10 series (ISO 3:1973)."""
_LEAST_ODDS = 0.5
_MOST_TRIED = 300
_NEAR_BEAD = 1.3
_TOLD = 3


@dataclass(frozen=True)
class Rung:
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

    below: Rung
    above: Rung
    fillers: list[Filler]


@dataclass(frozen=True)
class Gaps:
    """The box from slowest to fastest, its gaps, how many flies were tried, whether stock of materials is kept."""

    box: list[Rung]
    gaps: list[Gap]
    tried: int
    stock_kept: bool
    prediction: Prediction


def find_gaps(catalog: Catalog, box: Sequence[str], step: float = STEP) -> Gaps:
    """Return the gaps of a box, the variants that a query finds, and what to tie to fill them.

    Tried are the catalog's other variants, and all variants on other beads of the same bore that are near in size
    and in stock. Parameters: step, the ratio of speeds above which a gap is one. Predictions are for the water of the
    measured flies.
    Raises BadValueError for a step of 1 or less, FlybenchError for a box of fewer than two flies.
    """
    if not 1.02 <= step <= 10:
        raise BadValueError(
            "step", f"{step:g} is outside 1.02 to 10", "Give a ratio of speeds, such as 1.25."
        )
    with catalog.reading() as session, session.no_autoflush:
        inside = _box(session, box)
        stock = _stock(session)
        water = Water(USUAL_TEMPERATURE)
        candidates = _candidates(session, [one.code for one in inside], stock)
        others = [(one, needs) for one, needs in candidates if has_weight(one, water)]
        found = predict_variants(session, [*inside, *(one for one, _ in others)])
        rungs = _rungs(session, inside, found)
        tried = [(flown, needs) for flown, (_, needs) in zip(found.flies[len(inside) :], others, strict=True)]
        gaps = [
            Gap(below, above, _fillers(below, above, tried, stock))
            for below, above in pairwise(rungs)
            if above.speed > step * below.speed
        ]
    return Gaps(rungs, gaps, len(tried), bool(stock), found)


def _box(session: Session, query: Sequence[str]) -> list[Variant]:
    rows = select_rows(session, NOUNS["variant"], narrowed(query, ""), "code", 0, ("code",))
    if len(rows) < 2:
        held = "one variant" if rows else "no variant"
        raise FlybenchError(f"The box holds {held}; a gap needs two. Widen --box, as in --box style:slick")
    codes = [row["code"] for row in rows]
    return list(session.scalars(select(Variant).where(Variant.code.in_(codes)).order_by(Variant.code)))


def _rungs(session: Session, inside: Sequence[Variant], found: Prediction) -> list[Rung]:
    """Return the box by speed: as measured where it was, else as predicted."""
    rungs = []
    for variant, flown in zip(inside, found.flies, strict=False):
        speed = session.get(VariantSpeed, variant.id)
        if speed is not None:
            rungs.append(Rung(variant.code, speed.free_speed_m_s, speed.free_uncertainty_m_s, False))
        else:
            rungs.append(Rung(variant.code, flown.forecast.speed, flown.forecast.uncertainty, True))
    return sorted(rungs, key=lambda rung: rung.speed)


def _stock(session: Session) -> dict[int, float]:
    """Return what is on hand of each material that ever moved, by its number."""
    total = func.sum(MaterialMovement.amount)
    rows = session.execute(select(MaterialMovement.material_id, total).group_by(MaterialMovement.material_id))
    return {int(number): float(amount) for number, amount in rows}


def _candidates(
    session: Session, inside: Sequence[str], stock: dict[int, float]
) -> list[tuple[Variant, list[Needed]]]:
    """Return flies that might be tied, with what each takes: other variants, then variants on other beads."""
    every = list(session.scalars(select(Variant).order_by(Variant.code)))
    beads = list(session.scalars(select(Material).join(Bead).order_by(Material.code)))
    found = [variant for variant in every if variant.code not in set(inside)]
    taken = {(one.pattern_id, one.hook_id, one.bead_id) for one in every}
    for variant in every:
        for bead in beads:
            key = (variant.pattern_id, variant.hook_id, bead.id)
            if len(found) < _MOST_TRIED and key not in taken and _fits(variant, bead, stock):
                taken.add(key)
                found.append(variant_like(session, variant=variant.code, bead=bead.code))
    return [(one, needed_for(one)) for one in found[:_MOST_TRIED]]


def _fits(variant: Variant, bead: Material, stock: dict[int, float]) -> bool:
    """Tell whether a bead could take the place of a variant's: same bore, near in size, in stock where kept."""
    old, new = variant.bead, bead.bead
    if old is None or new is None or old.bore is not new.bore:
        return False
    ratio = new.diameter_m / old.diameter_m
    return 1 / _NEAR_BEAD <= ratio <= _NEAR_BEAD and (not stock or stock.get(bead.id, 0.0) >= 1)


def _fillers(
    below: Rung, above: Rung, tried: Sequence[tuple[Predicted, list[Needed]]], stock: dict[int, float]
) -> list[Filler]:
    found = []
    for flown, needs in tried:
        odds = flown.forecast.share_between(below.speed, above.speed)
        if odds >= _LEAST_ODDS:
            cost = fly_cost(flown.build.code, 1, needs)
            lacking = _lacking(needs, stock) if stock else []
            told = (cost.cost, cost.unknown, lacking, flown.outside)
            found.append(Filler(flown.build.code, flown.bead, flown.forecast, odds, *told))
    found.sort(key=_rank)
    return found[:_TOLD]


def _rank(one: Filler) -> tuple[bool, bool, float, float]:
    """Return what puts the cheapest from stock first; what has parts without a price comes after."""
    cost = math.inf if one.cost is None else one.cost
    return bool(one.lacking), bool(one.unpriced), cost, -one.odds


def _lacking(needs: Sequence[Needed], stock: dict[int, float]) -> list[str]:
    """Return the materials of which there is not enough for one fly; any of it will do where no amount is known."""
    short = []
    for need in needs:
        amount = amount_in_stock_unit(need, [])
        least = 1e-9 if amount is None else amount
        if stock.get(need.material.id, 0.0) < least:
            short.append(need.material.code)
    return list(dict.fromkeys(short))
