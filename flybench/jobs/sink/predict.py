"""Sink speeds of flies not tied yet, and the bead that gives a wanted speed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
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
from flybench.jobs.sink.measured_variants import measured_among
from flybench.shop.fly.builds import build_of
from flybench.shop.next_fly.predicting import (
    FASTEST,
    SLOWEST,
    BeadFor,
    Predicted,
    Prediction,
    bead_for,
    has_weight,
    predict_from,
)
from flybench.sinking.model.fit import USUAL_TEMPERATURE


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


def predict(
    catalog: Catalog,
    wish: Wish,
    *,
    learn_from: Sequence[str] = (),
    temperature: float | None = None,
    salinity: float | None = None,
) -> Prediction:
    """Predict the sink speed of one fly tied to each wish, learned from the flies that ``learn_from`` finds.

    Parameters: temperature [K] and salinity [kg/kg] of the water; None: the mean of the measured flies', with a
    temperature no salt.
    Raises BadValueError for unknown codes or steps that are not there, FlybenchError for a fly that floats.
    """
    with catalog.reading() as session, session.no_autoflush:
        return _predicted(session, wish, learn_from, temperature, salinity)


def _predicted(
    session: Session, wish: Wish, learn_from: Sequence[str], temperature: float | None, salinity: float | None
) -> Prediction:
    """Return the prediction of one fly tied to each wish, which says too of which of them the variant was measured."""
    variants = _wanted(session, wish)
    found = predict_variants(session, variants, learn_from, temperature, salinity)
    measured = measured_among(session, variants, found.water)
    flies = [replace(fly, measured=one) for fly, one in zip(found.flies, measured, strict=True)]
    return replace(found, flies=flies)


def predict_variants(
    session: Session,
    variants: Sequence[Variant],
    learn_from: Sequence[str] = (),
    temperature: float | None = None,
    salinity: float | None = None,
) -> Prediction:
    """Predict variants, of the catalog or made for the occasion; see ``predict``."""
    builds = [build_of(variant) for variant in variants]
    return predict_from(learn(session, learn_from, builds), variants, builds, temperature, salinity)


def prediction_of_known(
    session: Session, codes: Sequence[str], water: Water | None = None
) -> Prediction | None:
    """Predict variants of the catalog in this water, leaving out those whose weight does not follow from their parts; None
    where none is left."""
    found = [get(session, NOUNS["variant"], code) for code in codes]
    known = [variant for variant in found if has_weight(variant, Water(USUAL_TEMPERATURE))]
    asked = (None, None) if water is None else (water.temperature, water.salinity)
    return predict_variants(session, known, (), *asked) if known else None


def _wanted(session: Session, wish: Wish) -> list[Variant]:
    if wish.variants and wish.pattern:
        problem = f"a variant is named already, {wish.variants[0]}"
        raise BadValueError("--pattern", problem, "Name variants, or one --pattern with --hook and --bead.")
    if not wish.variants and not wish.pattern:
        cure = "Name variants of flybench variant list, or a --pattern with --hook and --bead."
        raise BadValueError("VARIANT", "none was named", cure)
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


def beads_for(
    catalog: Catalog,
    wish: Wish,
    speed: float,
    *,
    learn_from: Sequence[str] = (),
    temperature: float | None = None,
    salinity: float | None = None,
) -> tuple[list[BeadFor], Prediction]:
    """Return the catalog's beads by how probably each makes one pattern sink within 10 % of a wanted speed [m/s].

    The wish names one variant, or a pattern and a hook; its own beads, where named, are the only ones tried.
    Raises BadValueError where the speed is no sink speed, FlybenchError where there is no bead.
    """
    if not SLOWEST <= speed <= FASTEST:
        problem = f"{speed * 100:g} cm/s is outside {SLOWEST * 100:g} to {FASTEST * 100:g} cm/s"
        raise BadValueError("--for-speed", problem, 'Give a sink speed, such as "30 cm/s".')
    if len(wish.variants) > 1:
        problem = f"{len(wish.variants)} were named, and beads are chosen for one"
        raise BadValueError("VARIANT", problem, "Name one variant with --for-speed.")
    with catalog.reading() as session, session.no_autoflush:
        beads = wish.beads or tuple(session.scalars(_bead_codes()))
        if not beads:
            raise FlybenchError(
                "There is no bead in the catalog to choose from. Add one: flybench material add CODE --kind bead"
            )
        found = _predicted(session, replace(wish, beads=beads), learn_from, temperature, salinity)
        tried = [_tried(session, one, speed) for one in found.flies]
    return sorted(tried, key=lambda one: -one.hit), found


def _bead_codes() -> Select[Any]:
    return select(Material.code).join(Bead, Bead.material_id == Material.id).order_by(Material.code)


def _tried(session: Session, fly: Predicted, speed: float) -> BeadFor:
    if fly.bead is None:
        return bead_for(fly, "no bead", speed, None)
    material = get(session, NOUNS["material"], fly.bead)
    return bead_for(fly, material.name, speed, on_hand(session, material))
