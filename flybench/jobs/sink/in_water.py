"""Measured flies in one water that is asked about: the speed of all their runs, as the ladder has it for that water."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from sqlalchemy.orm import Session

from flybench.hydraulics.water import Water
from flybench.jobs.shelf.one_water import in_shown_water
from flybench.shop.speeds.one_water import is_away
from flybench.shop.speeds.sides import FlyRuns, fly_side
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.model.other_water import SpeedInOtherWater, speed_in_other_water
from flybench.sinking.model.viscosity import ViscosityLaw
from flybench.statistics.comparing import Side


def sides_in(session: Session, water: Water, codes: Sequence[str]) -> Mapping[str, Side]:
    """Return flies by code as the ladder has them for this water, pooled over all their runs, where they have some."""
    shop, _ = in_shown_water(session, water.temperature, water.salinity, codes)
    wanted = [code for code in codes if code in shop.by_fly]
    return {code: fly_side(FlyRuns(code, shop.by_fly[code]), shop.spreads) for code in wanted}


def speed_there(
    law: ViscosityLaw, one: MeasuredFly, water: Water, sides: Mapping[str, Side]
) -> SpeedInOtherWater:
    """Return a measured fly in this water: its speed and doubt those of its side, where it has one, else by the drag law.

    In water no farther than 1 K and 1 g/kg from its own it stays as it is. Raises BadValueError for water that is no
    river's, and where the fly would float in it.
    """
    found = speed_in_other_water(law, one, water)
    side = sides.get(one.fly)
    if side is None:
        return found
    if not is_away(one, water):
        found = replace(found, change=1.0, change_uncertainty=0.0)
    return replace(found, speed=side.speed, uncertainty=side.uncertainty)
