"""Sink speeds of flies not tied yet, and the bead that gives a wanted speed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import get
from flybench.catalog.shelf.stock import on_hand
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.materials import Bead, Material
from flybench.catalog.tables.patterns import Variant
from flybench.errors import BadValueError, FlybenchError
from flybench.hydraulics.water import Water
from flybench.jobs.sink.learn import learn
from flybench.jobs.sink.made_up_variants import variant_like
from flybench.shop.builds import build_of
from flybench.shop.learning import USUAL_TEMPERATURE, Learned, water_asked
from flybench.shop.weights import Weighed, weight_of_variant
from flybench.sinking.drag.measured_range import outside
from flybench.sinking.drag.tied_fly import Build
from flybench.sinking.model.forecast import Forecast, forecast

SLOWEST, FASTEST = 0.01, 3.0
"""Speeds that can be wanted [m/s]."""


@dataclass(frozen=True)
class Wish:
    """What to predict: variants by code, or a pattern (or a variant) with another hook, other beads, other steps.

    beads, codes of materials, tried one after the other; steps, amount by step number.
    """

    variants: tuple[str, ...] = ()
    pattern: str | None = None
    hook: str | None = None
    beads: tuple[str, ...] = ()
    steps: Mapping[int, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Predicted:
    """One predicted fly: bead's code, speed, weight, where it leaves what was measured, what was assumed."""

    bead: str | None
    forecast: Forecast
    weight: Weighed
    outside: list[str]

    @property
    def build(self) -> Build:
        """Return what it is tied from."""
        return self.forecast.build


@dataclass(frozen=True)
class Prediction:
    """Predicted flies in one water, and what they stand on."""

    flies: list[Predicted]
    water: Water
    water_from: str
    learned: Learned


def predict(
    catalog: Catalog,
    wish: Wish,
    *,
    learn_from: Sequence[str] = (),
    temperature: float | None = None,
    salinity: float = 0.0,
) -> Prediction:
    """Predict the sink speed of one fly tied to each wish, learned from the flies that ``learn_from`` finds.

    Parameters: temperature [K] and salinity [kg/kg] of the water; None: the mean of the measured flies'.
    Raises BadValueError for unknown codes, steps that are not there, or a fly that floats.
    """
    with catalog.reading() as session, session.no_autoflush:
        return predict_variants(session, _wanted(session, wish), learn_from, temperature, salinity)


def predict_variants(
    session: Session,
    variants: Sequence[Variant],
    learn_from: Sequence[str] = (),
    temperature: float | None = None,
    salinity: float = 0.0,
) -> Prediction:
    """Predict variants, of the catalog or made for the occasion; see ``predict``."""
    builds = [build_of(variant) for variant in variants]
    learned = learn(session, learn_from, builds)
    water, water_from = water_asked(learned.sunk, temperature, salinity)
    weights = [weight_of_variant(variant, water) for variant in variants]
    found = forecast(learned.shop, builds, [one.weight for one in weights], water)
    flies = [
        Predicted(
            None if variant.bead is None else variant.bead.material.code,
            one,
            weight,
            outside(one.build, weight.weight.weight.value, learned.sunk),
        )
        for variant, one, weight in zip(variants, found, weights, strict=True)
    ]
    return Prediction(flies, water, water_from, learned)


def predict_known(session: Session, codes: Sequence[str]) -> list[Predicted]:
    """Predict variants of the catalog, leaving out those whose weight cannot be told from their parts."""
    found = [get(session, NOUNS["variant"], code) for code in codes]
    known = [variant for variant in found if has_weight(variant, Water(USUAL_TEMPERATURE))]
    return predict_variants(session, known).flies if known else []


def has_weight(variant: Variant, water: Water) -> bool:
    """Tell whether the weight of a variant can be told from its parts: not where it would float."""
    try:
        weight_of_variant(variant, water)
    except FlybenchError:
        return False
    return True


def _wanted(session: Session, wish: Wish) -> list[Variant]:
    if wish.variants and wish.pattern:
        raise BadValueError(
            "pattern", "a variant is named already", "Name variants, or one pattern with a hook."
        )
    if not wish.variants and not wish.pattern:
        raise BadValueError(
            "variant", "none was named", "Name variants, or --pattern with --hook and --bead."
        )
    changed = bool(wish.hook or wish.beads or wish.steps)
    if not changed and wish.variants:
        return [get(session, NOUNS["variant"], code) for code in wish.variants]
    bases: Sequence[str | None] = wish.variants or (None,)
    return [
        variant_like(
            session, pattern=wish.pattern, variant=code, hook=wish.hook, bead=bead, changes=wish.steps
        )
        for code in bases
        for bead in wish.beads or (None,)
    ]


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


def beads_for(
    catalog: Catalog,
    wish: Wish,
    speed: float,
    *,
    learn_from: Sequence[str] = (),
    temperature: float | None = None,
    salinity: float = 0.0,
) -> tuple[list[BeadFor], Prediction]:
    """Return the catalog's beads by how probably each makes one pattern sink within 10 % of a wanted speed [m/s].

    The wish names one variant, or a pattern and a hook; its own beads, where named, are the only ones tried.
    Raises BadValueError where the speed is no sink speed, FlybenchError where there is no bead.
    """
    if not SLOWEST <= speed <= FASTEST:
        problem = f"{speed * 100:g} cm/s is outside {SLOWEST * 100:g} to {FASTEST * 100:g} cm/s"
        raise BadValueError("speed", problem, "Give a sink speed.")
    if len(wish.variants) > 1:
        raise BadValueError("variant", f"{len(wish.variants)} were named", "Name one for a wanted speed.")
    with catalog.reading() as session, session.no_autoflush:
        beads = wish.beads or tuple(session.scalars(_bead_codes()))
        if not beads:
            raise FlybenchError("No beads in the catalog. Add some: flybench material add CODE --kind bead")
        wanted = Wish(wish.variants, wish.pattern, wish.hook, beads, wish.steps)
        found = predict_variants(session, _wanted(session, wanted), learn_from, temperature, salinity)
        tried = [_tried(session, one, speed) for one in found.flies]
    return sorted(tried, key=lambda one: -one.hit), found


def _bead_codes() -> Select[Any]:
    return select(Material.code).join(Bead, Bead.material_id == Material.id).order_by(Material.code)


def _tried(session: Session, fly: Predicted, speed: float) -> BeadFor:
    material = None if fly.bead is None else get(session, NOUNS["material"], fly.bead)
    draws = fly.forecast
    return BeadFor(
        fly,
        "no bead" if material is None else material.name,
        float((draws.draws >= speed).mean()),
        draws.share_between(0.9 * speed, 1.1 * speed),
        None if material is None else on_hand(session, material),
    )
