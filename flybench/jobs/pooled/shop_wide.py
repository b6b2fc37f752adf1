"""What the numbers of all flies of a shop rest on: how much its runs differ, its water, and how drag goes with viscosity.

All of it is found from the newest runs that count and from few numbers kept of each fly, so that it costs the same in a shop
of a hundred thousand flies.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace

from sqlalchemy import ColumnElement
from sqlalchemy.orm import Session

from flybench.catalog.shelf.counted_runs import (
    counted_of,
    counted_twice,
    flies_in_two_waters,
    is_far,
    newest_counted,
    waters,
)
from flybench.catalog.shelf.needed import flies_with_recipes
from flybench.catalog.store.settings import setting
from flybench.hydraulics.water import Water
from flybench.shop.speeds.learning import believable
from flybench.shop.speeds.measured_flies import Remarks, records_of
from flybench.shop.speeds.one_water import water_of_most
from flybench.shop.speeds.run_parts import RunParts, counted_parts
from flybench.shop.speeds.set_ups import SAME_SALT, SAME_WATER
from flybench.shop.speeds.shop_runs import ShopRuns, runs_by_fly
from flybench.shop.speeds.shop_spreads import MOST_RUNS, ShopSpreads, spreads_of
from flybench.sinking.drag.tied_fly import Build, MeasuredFly
from flybench.sinking.model.viscosity import InTwoWaters, ViscosityLaw, learn_viscosity

WATER = "water"
"""Key of the setting: the water that speeds are shown for, its temperature [K] as text, and behind it its salinity [kg/kg]
where there is salt."""
_NEAR = SAME_WATER, SAME_SALT
_ENOUGH_FLIES = 20
"""Flies with several runs that are looked at first [-]: of so many, hardly all were dropped in unlike waters (judgement)."""
_MOST_TEACHING = 200
"""Newest flies dropped in two waters from which it is learned how drag goes with viscosity [-]: they tell what all have in
common to a third of its least doubt (judgement)."""


def kept_law(
    session: Session, spreads: ShopSpreads, is_stale: Callable[[str], bool] = lambda variant: False
) -> tuple[ViscosityLaw, dict[str, list[float]]]:
    """Return how drag goes with viscosity, from the newest flies dropped in two waters, and what was worked out for it, by
    fly: where nothing is kept of one, or its variant is stale."""
    rows = flies_in_two_waters(session, _NEAR, _MOST_TEACHING)
    fresh = [fly for fly, variant, _, _, steeper in rows if steeper is None or is_stale(variant)]
    told = {
        one.fly: one for one in learn_viscosity(believable(records_as_made(session, fresh, spreads))).seen
    }
    found = {
        fly: [told[fly].steeper, told[fly].variance, told[fly].shared] if fly in told else [] for fly in fresh
    }
    values = ((fly, pattern, style.value, found.get(fly, kept)) for fly, _, pattern, style, kept in rows)
    seen = [
        InTwoWaters(fly, a_build(pattern, style), *three) for fly, pattern, style, three in values if three
    ]
    return ViscosityLaw(tuple(seen)), found


def records_as_made(session: Session, flies: Collection[str], spreads: ShopSpreads) -> list[MeasuredFly]:
    """Return flies, by code, as records of how they were measured, before any step to other water."""
    codes = sorted(set(flies))
    runs = [as_made(counted_parts(one)) for one in counted_of(session, flies=codes)]
    return records_of(flies_with_recipes(session, codes), Remarks(), ShopRuns(runs_by_fly(runs), spreads))


def newest_runs(session: Session) -> list[RunParts]:
    """Return the newest runs of a shop that count, from which its spreads are learned."""
    return [counted_parts(one) for one in newest_counted(session, MOST_RUNS)]


def runs_were_compared(session: Session) -> bool:
    """Tell whether the runs of any fly show how much runs differ; else what is usual is assumed of them."""
    some = counted_twice(session, _ENOUGH_FLIES)
    runs = [counted_parts(one) for one in counted_of(session, flies=some)]
    if spreads_of(runs).run_groups:
        return True
    return len(some) == _ENOUGH_FLIES and bool(spreads_of(newest_runs(session)).run_groups)


def shown(session: Session) -> tuple[Water | None, str]:
    """Return the water that speeds are shown for, None where no run counts, and why: "set" or "usual"."""
    found = water_set(session)
    return (water_of_most(waters(session)), "usual") if found is None else (found, "set")


def water_set(session: Session) -> Water | None:
    """Return the water that was set for speeds to be shown in, None where none was."""
    found = setting(session, WATER)
    return None if found is None else Water(*map(float, found.split()))


def a_build(pattern: str, style: str) -> Build:
    """Return a build of which nothing but pattern and style is looked at."""
    return Build("", pattern, style, None, 0.0, 0.0, 0.0, 0.0, False)


def as_made(run: RunParts) -> RunParts:
    """Return a run as it was made, without the step to another water."""
    return (
        run if run.brought_to is None else replace(run, correction=1.0, correction_doubt=0.0, brought_to=None)
    )


def far_from(water: Water) -> ColumnElement[bool]:
    """Return where a run that counts was made in other water than this."""
    return is_far(water.temperature, water.salinity, _NEAR)
