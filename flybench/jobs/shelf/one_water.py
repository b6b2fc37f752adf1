"""The one water that a catalog's speeds are shown for: chosen, kept as a setting, and every run brought to it."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.search.select import loaded
from flybench.catalog.shelf.counting import counting_runs, keep_pooled
from flybench.catalog.shelf.run_records import Pool, PooledShop, RunSpeed
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.materials import Setting
from flybench.catalog.tables.patterns import Variant
from flybench.hydraulics.water import Water
from flybench.shop.speeds.learning import believable
from flybench.shop.speeds.measured_flies import Remarks, records_of
from flybench.shop.speeds.one_water import OneWater, brought_to, is_away, usual_water
from flybench.shop.speeds.pooling import pool_shop
from flybench.shop.speeds.run_parts import RunParts, by_water, parts_of_run
from flybench.shop.speeds.shop_runs import shop_runs
from flybench.sinking.model.viscosity import learn_viscosity

_KEY = "water"
"""Key of the setting: the water that speeds are shown for, its temperature [K] as text, and behind it its salinity [kg/kg]
where there is salt."""


def in_one_water(session: Session) -> Pool:
    """Return the way in which runs of a catalog are pooled: brought to one water first."""

    def pooled(runs: Sequence[RunSpeed]) -> PooledShop:
        return pool_shop(runs_in_one_water(session, runs)[0])

    return pooled


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
    flies = loaded(session, select(Fly).order_by(Fly.code), Fly.code, sorted(teaching.union(codes)))
    known = records_of(flies, Remarks(), shop)
    found = brought_to(parts, known, learn_viscosity(believable(known)), water)
    moved = {run.fly for run in found if run.brought_to is not None}
    floating = {run.fly for run in found if run.brought_to is None and is_away(run, water)}
    return found, OneWater(water, why, tuple(sorted(moved)), tuple(sorted(floating)))


def bring_again(session: Session) -> None:
    """Bring all speeds to the one water again after masses or parts of flies changed, which alter the step; nothing is done
    where all runs were made in it."""
    session.flush()
    session.expire_all()
    runs, found = runs_in_one_water(session, counting_runs(session))
    if found.brought or found.floating:
        keep_pooled(session, pool_shop(runs))


def pool_everything_again(session: Session) -> None:
    """Work out all pooled speeds again, after runs, flies or variants came back or went away."""
    session.flush()
    session.expire_all()
    runs = runs_in_one_water(session, counting_runs(session))[0]
    keep_pooled(session, pool_shop(runs), set(session.scalars(select(Variant.id))))


def _water(session: Session, temperature: float | None, salinity: float) -> tuple[Water, str] | None:
    if temperature is not None:
        return Water(temperature, salinity), "given"
    found = session.get(Setting, _KEY)
    return None if found is None else (Water(*map(float, found.value.split())), "set")


def shown_water(catalog: Catalog) -> OneWater:
    """Return the water that the speeds of a catalog are shown for."""
    with catalog.reading() as session:
        return runs_in_one_water(session, counting_runs(session))[1]


def brought_codes(catalog: Catalog, noun: str, codes: Sequence[str]) -> tuple[OneWater, list[str]]:
    """Return the water that speeds are shown for, and which of these flies, or variants, have runs brought to it."""
    with catalog.reading() as session:
        runs, water = runs_in_one_water(session, counting_runs(session))
    moved = {run.fly if noun == "fly" else run.variant for run in runs if run.brought_to is not None}
    return water, [code for code in codes if code in moved]


def set_water(catalog: Catalog, temperature: float | None, salinity: float = 0.0) -> OneWater:
    """Keep the water that speeds are shown for, temperature [K] and salinity [kg/kg], and bring all speeds to it; without a
    temperature, that of most runs."""
    with catalog.writing() as session:
        found = session.get(Setting, _KEY)
        if found is not None:
            session.delete(found)
            session.flush()
        if temperature is not None:
            salt = f" {salinity!r}" if salinity else ""
            session.add(Setting(key=_KEY, value=f"{temperature!r}{salt}"))
        session.flush()
        runs, shown = runs_in_one_water(session, counting_runs(session))
        keep_pooled(session, pool_shop(runs))
        return shown
