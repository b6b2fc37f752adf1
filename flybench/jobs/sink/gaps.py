"""Gaps in a box of the catalog, and what to tie to fill them."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from flybench.catalog.search.language import narrowed
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import select_rows
from flybench.catalog.shelf.needed import Needed, needed_for
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import VariantSpeed
from flybench.catalog.tables.materials import Bead, Material, MaterialMovement
from flybench.catalog.tables.patterns import Variant
from flybench.errors import FlybenchError
from flybench.hydraulics.water import Water
from flybench.jobs.sink.made_up_variants import variant_like
from flybench.jobs.sink.predict import predict_variants
from flybench.shop.next_fly.gaps import WIDER_THAN, BoxFly, Gaps, check_ratio, gaps_in, on_other_beads
from flybench.shop.next_fly.predicting import Prediction, has_weight
from flybench.sinking.model.fit import USUAL_TEMPERATURE

_MOST_TRIED = 300
"""Flies tried at once: more take minutes and add none that a shop would tie (judgement)."""


def find_gaps(catalog: Catalog, box: Sequence[str], wider_than: float = WIDER_THAN) -> Gaps:
    """Return the gaps of a box, the variants that a query finds, and what to tie to fill them.

    Tried are the catalog's other variants, and all variants on other beads of the same bore that are near in size
    and in stock. Parameters: wider_than, the ratio of speeds above which two neighbours leave a gap, 1.02 to 10.
    Predictions are for the water in which the measured flies were measured.
    Raises BadValueError for another ratio, FlybenchError for a box of fewer than two flies.
    """
    check_ratio(wider_than)
    with catalog.reading() as session, session.no_autoflush:
        inside = _box(session, box)
        stock = _stock(session)
        candidates = _candidates(session, [one.code for one in inside], stock)
        water = Water(USUAL_TEMPERATURE)
        others = [(one, needs) for one, needs in candidates if has_weight(one, water)]
        found = predict_variants(session, [*inside, *(one for one, _ in others)])
        speeds = _by_speed(session, inside, found)
        tried = [(fly, needs) for fly, (_, needs) in zip(found.flies[len(inside) :], others, strict=True)]
        gaps = gaps_in(speeds, wider_than, tried, stock)
    return Gaps(speeds, gaps, len(tried), bool(stock), found, wider_than)


def _box(session: Session, query: Sequence[str]) -> list[Variant]:
    rows = select_rows(session, NOUNS["variant"], narrowed(query, ""), "code", 0, ("code",))
    if len(rows) < 2:
        held = "one variant" if rows else "no variant"
        raise FlybenchError(
            f"The box holds {held}, and a gap lies between two. Ask for more with --box, as in --box style:slick"
        )
    codes = [row["code"] for row in rows]
    return list(session.scalars(select(Variant).where(Variant.code.in_(codes)).order_by(Variant.code)))


def _by_speed(session: Session, inside: Sequence[Variant], found: Prediction) -> list[BoxFly]:
    """Return the box by speed: as measured where it was, else as predicted."""
    flies = []
    for variant, predicted in zip(inside, found.flies, strict=False):
        speed = session.get(VariantSpeed, variant.id)
        if speed is not None:
            flies.append(BoxFly(variant.code, speed.free_speed_m_s, speed.free_uncertainty_m_s, False))
        else:
            one = predicted.forecast
            flies.append(BoxFly(variant.code, one.speed, one.uncertainty, True))
    return sorted(flies, key=lambda fly: fly.speed)


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
    room = max(_MOST_TRIED - len(found), 0)
    for variant, bead in on_other_beads(every, beads, stock)[:room]:
        found.append(variant_like(session, variant=variant.code, bead=bead.code))
    return [(one, needed_for(one)) for one in found[:_MOST_TRIED]]
