"""Which predicted flies are of a variant that was measured, and the speed that it has on the ladder for the same water."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.search.select import Row
from flybench.catalog.tables.flies import VariantSpeed
from flybench.catalog.tables.patterns import Variant
from flybench.hydraulics.water import Water
from flybench.jobs.shelf.one_water import in_shown_water
from flybench.jobs.sink.ladder import flies_of, rungs_of
from flybench.shop.next_fly.predicting import MeasuredSpeed


def measured_among(session: Session, variants: Sequence[Variant], water: Water) -> list[MeasuredSpeed | None]:
    """Return for each variant, of the catalog or made up for a question, what was measured of it, None where nothing was.

    Of one that was made up that is what was measured of the variant with its pattern, hook and bead, where neither changes
    anything. Speeds are those of the ladder for this water.
    """
    found = [_of_catalog(session, variant) for variant in variants]
    numbers = {one.code: one.id for one in found if one is not None}
    speeds = {
        code: speed
        for code, number in numbers.items()
        if (speed := session.get(VariantSpeed, number)) is not None
    }
    if not speeds:
        return [None] * len(variants)
    rows: list[Row] = [
        {"code": code, "name": code, "sink": speed.free_speed_m_s, "sink-u": speed.free_uncertainty_m_s}
        for code, speed in speeds.items()
    ]
    flies = flies_of(session, list(speeds), True)
    shop, _ = in_shown_water(session, water.temperature, water.salinity, flies)
    told = {
        rung.code: MeasuredSpeed(rung.code, rung.speed, rung.uncertainty, speeds[rung.code].flies)
        for rung in rungs_of(session, rows, True, shop)
    }
    return [None if one is None else told.get(one.code) for one in found]


def _of_catalog(session: Session, variant: Variant) -> Variant | None:
    """Return the variant of the catalog that this one is, None where it is none of them."""
    if variant.id is not None:
        return variant
    base = variant.based_on
    if variant.changes:
        return None
    if base is not None and (base.hook, base.bead) == (variant.hook, variant.bead):
        return base
    if base is not None and (base.changes or base.based_on is not None):
        return None
    bead = None if variant.bead is None else variant.bead.material_id
    alike = select(Variant).where(
        Variant.pattern_id == variant.pattern.id,
        Variant.hook_id == variant.hook.material_id,
        Variant.bead_id.is_(None) if bead is None else Variant.bead_id == bead,
        Variant.based_on_id.is_(None),
        ~Variant.changes.any(),
    )
    return session.scalars(alike.order_by(Variant.id)).first()
