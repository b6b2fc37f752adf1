"""The one water that a catalog's speeds are shown for: chosen, kept as a setting, and every run brought to it."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import and_, not_, select
from sqlalchemy.orm import Session

from flybench.catalog.search.select import loaded
from flybench.catalog.shelf.counted_runs import counted_of, is_brought, is_counted, variants_where
from flybench.catalog.shelf.counting import counting_runs
from flybench.catalog.shelf.needed import flies_with_recipes
from flybench.catalog.shelf.run_records import RunSpeed
from flybench.catalog.store.open import Catalog
from flybench.catalog.store.settings import keep_setting
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.patterns import Variant
from flybench.hydraulics.water import Water
from flybench.jobs.pooled.kept_speeds import keep_in_step
from flybench.jobs.pooled.rules import RULES
from flybench.jobs.pooled.shop_wide import (
    WATER,
    as_made,
    far_from,
    kept_law,
    newest_runs,
    records_as_made,
    shown,
    water_set,
)
from flybench.shop.speeds.learning import believable
from flybench.shop.speeds.measured_flies import Remarks, records_of
from flybench.shop.speeds.one_water import OneWater, brought_to, is_away, usual_water
from flybench.shop.speeds.run_parts import RunParts, by_water, counted_parts, parts_of_run
from flybench.shop.speeds.shop_runs import ShopRuns, runs_by_fly, shop_runs
from flybench.shop.speeds.shop_spreads import spreads_of
from flybench.sinking.model.viscosity import ViscosityLaw, learn_viscosity


def runs_in_one_water(
    session: Session, runs: Sequence[RunSpeed], temperature: float | None = None, salinity: float = 0.0
) -> tuple[list[RunParts], OneWater]:
    """Return runs brought to one water, and that water: as given, temperature [K] and salinity [kg/kg], else as set, else
    that of most runs.

    Runs no farther than 1 K and 1 g/kg from it stay as they are. The step is learned from all flies that were dropped in
    two waters, retired or not.
    """
    parts = [parts_of_run(run) for run in runs]
    water, why = _water(session, temperature, salinity) or (usual_water(parts), "usual")
    away = [] if water is None else [one for one in parts if is_away(one, water)]
    if water is None or not away:
        return parts, OneWater(water, why, ())
    codes = sorted({one.fly for one in away})
    shop = shop_runs(parts)
    teaching = {fly for fly, of in shop.by_fly.items() if len(by_water(of)) > 1}
    flies = flies_with_recipes(session, sorted(teaching.union(codes)))
    known = records_of(flies, Remarks(), shop)
    found = brought_to(parts, known, learn_viscosity(believable(known)), water)
    return found, _told(found, water, why)


def bring_again(session: Session) -> None:
    """Bring all speeds to the one water again after masses or parts of flies changed, which alter the step; nothing is done
    where all runs were made in it."""
    session.flush()
    session.expire_all()
    keep_in_step(session, all_steps=True)


def pool_everything_again(session: Session) -> None:
    """Work out all pooled speeds again, after runs, flies or variants came back or went away."""
    session.flush()
    session.expire_all()
    keep_in_step(session, set(session.scalars(select(Variant.id))))


def in_shown_water(
    session: Session,
    temperature: float | None = None,
    salinity: float = 0.0,
    flies: Sequence[str] | None = None,
) -> tuple[ShopRuns, OneWater]:
    """Return the runs of a shop, or of some of its flies, in one water, with what all its runs show of spreads, and that
    water: as ``runs_in_one_water`` has it."""
    if not is_counted(session, RULES):
        runs, found = runs_in_one_water(session, counting_runs(session), temperature, salinity)
        return shop_runs(runs), found
    newest = newest_runs(session)
    some = [counted_parts(one) for one in counted_of(session, flies=flies)]
    if temperature is None:
        return ShopRuns(runs_by_fly(some), spreads_of(newest)), kept_water(session)
    water, unmoved = Water(temperature, salinity), [as_made(run) for run in some]
    away = sorted({run.fly for run in unmoved if is_away(run, water)})
    spreads = spreads_of([as_made(run) for run in newest])
    law, _ = kept_law(session, spreads) if away else (ViscosityLaw(()), {})
    runs = brought_to(unmoved, records_as_made(session, away, spreads), law, water)
    return ShopRuns(runs_by_fly(runs), spreads_of(newest)), _told(runs, water, "given")


def _told(runs: Sequence[RunParts], water: Water, why: str) -> OneWater:
    """Return a water and why it is that, with the flies of which runs were brought to it, and those that float there."""
    moved = {run.fly for run in runs if run.brought_to is not None}
    floating = {run.fly for run in runs if run.brought_to is None and is_away(run, water)}
    return OneWater(water, why, tuple(sorted(moved)), tuple(sorted(floating)))


def kept_water(session: Session) -> OneWater:
    """Return the water that kept speeds are shown for, with the flies of which runs were brought to it."""
    if not is_counted(session, RULES):
        return runs_in_one_water(session, counting_runs(session))[1]
    water, why = shown(session)
    if water is None:
        return OneWater(None, why, ())
    moved, floating = (
        sorted(fly for flies in variants_where(session, condition).values() for fly in flies)
        for condition in (is_brought(), and_(far_from(water), not_(is_brought())))
    )
    return OneWater(water, why, tuple(moved), tuple(floating))


def _water(session: Session, temperature: float | None, salinity: float) -> tuple[Water, str] | None:
    if temperature is not None:
        return Water(temperature, salinity), "given"
    found = water_set(session)
    return None if found is None else (found, "set")


def shown_water(catalog: Catalog) -> OneWater:
    """Return the water that the speeds of a catalog are shown for."""
    with catalog.reading() as session:
        return kept_water(session)


def brought_codes(catalog: Catalog, noun: str, codes: Sequence[str]) -> tuple[OneWater, list[str]]:
    """Return the water that speeds are shown for, and which of these flies, or variants, have runs brought to it."""
    with catalog.reading() as session:
        water = kept_water(session)
        moved = set(water.brought) if noun == "fly" else _variants_of(session, water.brought)
    return water, [code for code in codes if code in moved]


def _variants_of(session: Session, flies: Sequence[str]) -> set[str]:
    """Return the codes of the variants of flies."""
    variants = select(Variant.code).join(Fly, Fly.variant_id == Variant.id)
    return set(loaded(session, variants, Fly.code, flies))


def set_water(catalog: Catalog, temperature: float | None, salinity: float = 0.0) -> OneWater:
    """Keep the water that speeds are shown for, temperature [K] and salinity [kg/kg], and bring all speeds to it; without a
    temperature, that of most runs."""
    with catalog.writing() as session:
        keep_setting(session, WATER, None)
        session.flush()
        if temperature is not None:
            salt = f" {salinity!r}" if salinity else ""
            keep_setting(session, WATER, f"{temperature!r}{salt}")
        session.flush()
        keep_in_step(session)
        return kept_water(session)
