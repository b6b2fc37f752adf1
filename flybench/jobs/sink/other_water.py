"""Sink speeds of measured flies in other water."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from flybench.catalog.store.open import Catalog
from flybench.errors import FlybenchError
from flybench.hydraulics.water import Water
from flybench.jobs.sink.drags import NONE_MEASURED
from flybench.jobs.sink.learn import learn, measured_codes
from flybench.shop.speeds.learning import Learned
from flybench.sinking.model.other_water import SpeedInOtherWater, speed_in_other_water
from flybench.sinking.model.viscosity import sinks_in


@dataclass(frozen=True)
class OtherWater:
    """Measured flies taken to one water, what the change stands on, and the codes of those that would float there."""

    flies: list[SpeedInOtherWater]
    water: Water
    learned: Learned
    floating: tuple[str, ...] = ()


def in_other_water(
    catalog: Catalog, query: Sequence[str], temperature: float, salinity: float = 0.0
) -> OtherWater:
    """Return the speed in other water of the measured flies that a query finds, from slowest to fastest.

    The drag law is learned from all measured flies of the catalog. Parameters: temperature [K], salinity [kg/kg].
    Raises FlybenchError where nothing measured is found, BadValueError for water that is no river's.
    """
    water = Water(temperature, salinity)
    with catalog.reading() as session:
        learned = learn(session)
        codes = set(measured_codes(session, query))
        wanted = [one for one in learned.every if one.fly in codes]
        if not wanted:
            raise FlybenchError(NONE_MEASURED)
        sinking = [one for one in wanted if sinks_in(one, water)]
        # Where none sinks, the first is asked for all the same: its error says why.
        found = [speed_in_other_water(learned.shop, one, water) for one in sinking or wanted]
    floating = sorted({one.fly for one in wanted if one not in sinking})
    return OtherWater(sorted(found, key=lambda one: one.speed), water, learned, tuple(floating))
